/* photo_heic.c - HEIC (ISO/IEC 23008-12) in, by libheif. It applies the file's own turns itself; the
 * EXIF orientation repeats them and must not be applied again. */
#include "photo/photo_work.h"

#include <stdlib.h>
#include <string.h>

#include <libheif/heif.h>

#include "base/err.h"
#include "base/mem.h"

static bool heic_failed(const char *what, struct heif_error trouble, struct err *e)
{
    if (trouble.code == heif_error_Memory_allocation_error && trouble.subcode == heif_suberror_Security_limit_exceeded)
        return err_set(e, ERR_LIMIT, "The HEIC picture is larger than any photo, or damaged. Save it as JPEG, then add that.");
    return err_set(e, ERR_FORMAT, "%s (%s). Copy it from the phone again, or save it as JPEG.", what,
                   trouble.message ? trouble.message : "no reason given");
}

static bool open_picture(const uint8_t *data, size_t n_bytes, struct heif_context **context, struct heif_image_handle **handle,
                         struct err *e)
{
    struct heif_error trouble;

    *handle = NULL;
    *context = heif_context_alloc();
    if (!*context)
        return err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
    heif_context_set_maximum_image_size_limit(*context, PHOTO_MAX_SIDE_PX);
    heif_context_set_max_decoding_threads(*context, 0); /* there is one helper for each core already */
    trouble = heif_context_read_from_memory_without_copy(*context, data, n_bytes, NULL);
    if (trouble.code != heif_error_Ok)
        return heic_failed("The HEIC file is damaged or cut short", trouble, e);
    trouble = heif_context_get_primary_image_handle(*context, handle);
    if (trouble.code != heif_error_Ok)
        return heic_failed("The HEIC file holds no picture that can be read", trouble, e);
    return true;
}

static void close_picture(struct heif_context *context, struct heif_image_handle *handle)
{
    heif_image_handle_release(handle);
    heif_context_free(context);
}

static void read_metadata(struct heif_image_handle *handle, struct photo_info *out)
{
    heif_item_id id;
    size_t n;
    uint8_t *exif;
    uint32_t skip;

    if (heif_image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) < 1)
        return;
    n = heif_image_handle_get_metadata_size(handle, id);
    if (n < 12 || n > 16 * 1024 * 1024 || !(exif = mem_try(n, 1)))
        return;
    if (heif_image_handle_get_metadata(handle, id, exif).code == heif_error_Ok) {
        /* Four bytes say how far the TIFF header is from behind them. */
        skip = (uint32_t)exif[0] << 24 | (uint32_t)exif[1] << 16 | (uint32_t)exif[2] << 8 | exif[3];
        if (skip <= n - 4)
            photo_read_exif(exif + 4 + skip, n - 4 - skip, out);
    }
    free(exif);
    out->orientation = 1;
}

bool photo_heic_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e)
{
    struct heif_context *context;
    struct heif_image_handle *handle;
    bool ok = open_picture(data, n_bytes, &context, &handle, e);

    if (ok) {
        int w = heif_image_handle_get_width(handle), h = heif_image_handle_get_height(handle);

        ok = photo_check_size(w > 0 ? (uint64_t)w : 0, h > 0 ? (uint64_t)h : 0, e);
        out->stored_width = w;
        out->stored_height = h;
        if (ok)
            read_metadata(handle, out);
    }
    close_picture(context, handle);
    return ok;
}

static void apply_profile(struct heif_image_handle *handle, struct photo_sink *sink)
{
    enum heif_color_profile_type type = heif_image_handle_get_color_profile_type(handle);
    size_t n = heif_image_handle_get_raw_color_profile_size(handle);
    uint8_t *icc;

    if ((type != heif_color_profile_type_rICC && type != heif_color_profile_type_prof) || n == 0 || n > 16 * 1024 * 1024)
        return;
    icc = mem_try(n, 1);
    if (icc && heif_image_handle_get_raw_color_profile(handle, icc).code == heif_error_Ok)
        photo_sink_profile(sink, icc, n);
    free(icc);
}

bool photo_decode_heic(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink,
                       struct err *e)
{
    struct heif_context *context;
    struct heif_image_handle *handle;
    struct heif_image *image = NULL;
    struct heif_error trouble;
    const uint8_t *plane;
    int stride = 0;
    bool ok = false;

    if (!open_picture(data, n_bytes, &context, &handle, e))
        goto done;
    trouble = heif_decode_image(handle, &image, heif_colorspace_RGB, heif_chroma_interleaved_RGBA, NULL);
    if (trouble.code != heif_error_Ok) {
        heic_failed("The HEIC picture is damaged or cut short", trouble, e);
        goto done;
    }
    plane = heif_image_get_plane_readonly(image, heif_channel_interleaved, &stride);
    /* The coded picture decides how much there is, not what the headers promised. */
    if (!plane || heif_image_get_width(image, heif_channel_interleaved) != info->stored_width ||
        heif_image_get_height(image, heif_channel_interleaved) != info->stored_height) {
        err_set(e, ERR_FORMAT, "The HEIC picture is not as large as the file says. It is damaged; copy it from the phone again.");
        goto done;
    }
    if (!photo_sink_begin(sink, info->stored_width, info->stored_height, e))
        goto done;
    for (int y = 0; y < info->stored_height && !photo_sink_full(sink); y++)
        photo_sink_row(sink, plane + (size_t)y * (size_t)stride);
    apply_profile(handle, sink);
    ok = true;
done:
    heif_image_release(image);
    close_picture(context, handle);
    return ok;
}
