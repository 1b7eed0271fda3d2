/* photo_jpeg.c - JPEG in, by libjpeg-turbo.
 *
 * Smaller sizes come out of the inverse transform itself (scaled by eighths), so that a preview of a
 * large photo costs little more than reading its entropy-coded data. Damage is told apart from what is
 * harmless: libjpeg patches over nearly everything with a warning, which here would pass off grey areas
 * as a plug. */
#include "photo/photo_work.h"

#include <stdio.h> /* jpeglib.h wants FILE */
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>

#include <jpeglib.h>
#include <jerror.h>

#include "base/err.h"
#include "base/mem.h"

struct reader {
    struct jpeg_error_mgr errors;
    struct jpeg_source_mgr source;
    jmp_buf back;
    struct jpeg_decompress_struct c;
    size_t n_bytes;
    bool past_end; /* the decoder asked for more than there is */
    bool damaged;  /* a warning that means lost pixels */
    int across, down; /* pixels that share a colour difference, when planes are held; else 0 */
    uint8_t *row;  /* of CMYK; of differences that are averaged */
    uint8_t *rgba;
    JOCTET *icc;
};

static void failed(j_common_ptr c)
{
    struct reader *r = (struct reader *)c->err;

    longjmp(r->back, 1);
}

static void warned(j_common_ptr c, int level)
{
    struct reader *r = (struct reader *)c->err;

    if (level >= 0)
        return;
    switch (c->err->msg_code) {
    case JWRN_EXTRANEOUS_DATA: /* stray bytes between segments; some cameras pad */
    case JWRN_JFIF_MAJOR:
    case JWRN_ADOBE_XFORM:
    case JWRN_TOO_MUCH_DATA:
    case JWRN_BOGUS_ICC:
        break;
    default:
        r->damaged = true;
    }
}

static void no_output(j_common_ptr c)
{
    (void)c;
}

static void source_nothing(j_decompress_ptr c)
{
    (void)c;
}

/* Past the end an end-of-image marker is handed out. A picture that lacks only that marker never
 * notices; one that lacks data makes the decoder warn (JWRN_HIT_MARKER), which counts as damage. */
static boolean source_more(j_decompress_ptr c)
{
    static const JOCTET end[2] = {0xff, JPEG_EOI};
    struct reader *r = (struct reader *)c->err;

    r->past_end = true;
    c->src->next_input_byte = end;
    c->src->bytes_in_buffer = 2;
    return TRUE;
}

static void source_skip(j_decompress_ptr c, long n)
{
    if (n <= 0)
        return;
    if ((size_t)n > c->src->bytes_in_buffer) {
        source_more(c);
        return;
    }
    c->src->next_input_byte += n;
    c->src->bytes_in_buffer -= (size_t)n;
}

/* Smallest number of eighths that still gives max_px or more on the longer side. */
static unsigned eighths(unsigned longer, int max_px)
{
    for (unsigned n = 1; n < 8; n++)
        if ((uint64_t)longer * n >= (uint64_t)max_px * 8)
            return n;
    return 8;
}

/* CMYK as Adobe writes it (inverted) to RGB; a view of the picture, not a proof for print. */
static void from_cmyk(const uint8_t *cmyk, uint8_t *rgba, size_t n)
{
    for (size_t i = 0; i < n; i++, cmyk += 4, rgba += 4) {
        for (int k = 0; k < 3; k++)
            rgba[k] = (uint8_t)((cmyk[k] * cmyk[3] + 127) / 255);
        rgba[3] = 255;
    }
}

static bool too_damaged(const struct reader *r, int rows, int n_rows, struct err *e)
{
    if (r->past_end)
        return err_set(e, ERR_FORMAT, "The file ends in the middle of the picture (after about %d %% of it). Copy it from the "
                       "phone or camera again.", n_rows > 0 ? (int)((int64_t)rows * 100 / n_rows) : 0);
    return err_set(e, ERR_FORMAT, "The picture is damaged: part of its data makes no sense. Copy it from the phone or camera again.");
}

static void release(struct reader *r)
{
    jpeg_destroy_decompress(&r->c);
    free(r->row);
    free(r->rgba);
    free(r->icc);
}

/* A progressive picture cut off between two scans decodes without a warning, only coarser: every
 * coefficient must have been refined to its last bit. */
static bool all_bits_there(const struct jpeg_decompress_struct *c)
{
    for (int i = 0; c->coef_bits && i < c->num_components; i++)
        for (int k = 0; k < DCTSIZE2; k++)
            if (c->coef_bits[i][k] != 0)
                return false;
    return true;
}

/* ---- planes ---- */

/* How finely the colour differences are coded, in the ways that cameras and programs write; false otherwise. Pictures of
 * a few pixels, which libjpeg spreads another way, are no matter. */
static bool find_fineness(const struct jpeg_decompress_struct *c, int *across, int *down)
{
    const jpeg_component_info *k = c->comp_info;

    if (c->num_components != 3 || c->jpeg_color_space != JCS_YCbCr || c->image_width < 16 || c->image_height < 16)
        return false;
    for (int i = 1; i < 3; i++)
        if (k[i].h_samp_factor != 1 || k[i].v_samp_factor != 1)
            return false;
    if (k[0].h_samp_factor > 2 || k[0].v_samp_factor > k[0].h_samp_factor)
        return false;
    *across = k[0].h_samp_factor;
    *down = k[0].v_samp_factor;
    return true;
}

/* Makes two rows of differences, or one, into one of half the width. */
static void halve(const uint8_t *a, const uint8_t *b, int width, int across, uint8_t *to)
{
    for (int x = 0; x < (width + across - 1) / across; x++) {
        int left = across * x, right = left + across - 1 < width ? left + across - 1 : left;

        to[x] = (uint8_t)((a[left] + a[right] + b[left] + b[right] + 2) >> 2);
    }
}

/* The whole picture as it is coded. */
static bool hold_planes(struct reader *r, struct photo_sink *sink, struct err *e)
{
    struct photo_held *h = sink->held;
    const int across = r->across, down = r->down;
    const int rows = down * DCTSIZE, width = (int)r->c.image_width, height = (int)r->c.image_height;
    const int block = across * DCTSIZE, room_width = (width + 2 * block - 1) / (2 * block) * 2 * block, room_height = (height + 15) / 16 * 16;
    const size_t whole = (size_t)room_width * (size_t)room_height;
    const bool half = sink->most_bytes > 0 && whole + 2 * (whole / (size_t)(across * down)) > sink->most_bytes && across * down < 4;
    const int pitch = room_width / across; /* of the differences as they come */
    JSAMPROW at[3][2 * DCTSIZE];
    JSAMPARRAY planes[3] = {at[0], at[1], at[2]};
    uint8_t *strip = NULL;

    if (!photo_check_size((uint64_t)width, (uint64_t)height, e) || !photo_planes_begin(h, width, height, half ? 2 : across, half ? 2 : down, room_width, room_height, e))
        return false;
    if (half) {
        r->row = strip = mem_try((size_t)pitch * DCTSIZE * 2, 1); /* the reader frees it, also when libjpeg jumps */
        if (strip == NULL)
            return err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
    }
    while (r->c.output_scanline < r->c.output_height && !r->damaged) {
        const size_t y = r->c.output_scanline;

        for (int i = 0; i < 3; i++)
            for (int k = 0; k < (i == 0 ? rows : DCTSIZE); k++)
                at[i][k] = i > 0 && half ? strip + (size_t)((i - 1) * DCTSIZE + k) * (size_t)pitch
                                         : h->planes[i].at + (y / (size_t)(i == 0 ? 1 : down) + (size_t)k) * (size_t)h->planes[i].pitch;
        if (jpeg_read_raw_data(&r->c, planes, (JDIMENSION)rows) == 0)
            break;
        for (int i = 1; i < 3 && half; i++) /* what lies below the picture is coded too, and like its last row */
            for (int k = 0; k < DCTSIZE; k += 3 - down)
                halve(at[i][k], at[i][k + 2 - down], (width + across - 1) / across, 3 - across,
                      h->planes[i].at + (y / 2 + (size_t)(k / (3 - down))) * (size_t)h->planes[i].pitch);
    }
    return true;
}

/* ---- the whole ---- */

static bool start(struct reader *r, const uint8_t *data, size_t n_bytes, const struct photo_sink *sink, struct err *e)
{
    unsigned longer;

    r->source.next_input_byte = data;
    r->source.bytes_in_buffer = n_bytes;
    r->source.init_source = source_nothing;
    r->source.fill_input_buffer = source_more;
    r->source.skip_input_data = source_skip;
    r->source.resync_to_restart = jpeg_resync_to_restart;
    r->source.term_source = source_nothing;
    r->c.src = &r->source;
    jpeg_save_markers(&r->c, JPEG_APP0 + 2, 0xffff);
    jpeg_read_header(&r->c, TRUE);
    longer = r->c.image_width > r->c.image_height ? r->c.image_width : r->c.image_height;
    if (!sink->cut && sink->max_px > 0) {
        r->c.scale_num = eighths(longer, sink->max_px);
        r->c.scale_denom = 8;
    }
    if (r->c.arith_code) /* no camera writes it; a damaged marker more likely makes it look so */
        return err_set(e, ERR_FORMAT, "This JPEG is packed in a way hardly any program reads (arithmetic coding), or damaged. Save "
                       "it afresh as an ordinary JPEG.");
    if (r->c.num_components == 4) {
        if (!r->c.saw_Adobe_marker)
            return err_set(e, ERR_FORMAT, "This JPEG has four colour channels and does not say which. Save it afresh as an RGB JPEG.");
        r->c.out_color_space = JCS_CMYK;
    } else if (sink->held != NULL && find_fineness(&r->c, &r->across, &r->down)) {
        r->c.out_color_space = JCS_YCbCr;
        r->c.raw_data_out = TRUE;
    } else {
        r->c.out_color_space = sink->held != NULL ? JCS_RGB : JCS_EXT_RGBA;
    }
    jpeg_start_decompress(&r->c);
    if (r->c.progressive_mode && r->past_end && !all_bits_there(&r->c))
        r->damaged = true;
    return true;
}

bool photo_decode_jpeg(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink,
                       struct err *e)
{
    struct reader *r = mem_alloc(1, sizeof *r); /* on the heap: longjmp() leaves it whole */
    unsigned n_icc = 0;
    bool ok = false;

    (void)info;
    r->n_bytes = n_bytes;
    r->c.err = jpeg_std_error(&r->errors);
    r->errors.error_exit = failed;
    r->errors.emit_message = warned;
    r->errors.output_message = no_output;
    if (setjmp(r->back)) {
        char words[JMSG_LENGTH_MAX];

        if (r->errors.msg_code == JERR_OUT_OF_MEMORY) {
            err_set(e, ERR_LIMIT, "There is not enough memory to read the picture. Close other programs, or add a smaller copy.");
        } else if (r->past_end) {
            too_damaged(r, (int)r->c.output_scanline, (int)r->c.output_height, e);
        } else {
            r->errors.format_message((j_common_ptr)&r->c, words);
            err_set(e, ERR_FORMAT, "The picture is damaged, or of a kind that is not read (%s). Copy it from the phone or camera "
                    "again, or save it afresh as JPEG.", words);
        }
        goto done;
    }
    jpeg_create_decompress(&r->c);
    if (!start(r, data, n_bytes, sink, e))
        goto done;
    r->rgba = mem_try((size_t)r->c.output_width, 4);
    if (r->c.out_color_space == JCS_CMYK)
        r->row = mem_try((size_t)r->c.output_width, 4);
    if (!r->rgba || (r->c.out_color_space == JCS_CMYK && !r->row)) {
        err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
        goto done;
    }
    if (r->across > 0 ? !hold_planes(r, sink, e) : !photo_sink_begin(sink, (int)r->c.output_width, (int)r->c.output_height, e))
        goto done;
    while (r->c.output_scanline < r->c.output_height && !photo_sink_full(sink) && !r->damaged) {
        uint8_t *rgba = photo_sink_place(sink) ? photo_sink_place(sink) : r->rgba;
        JSAMPROW row = r->row ? r->row : rgba;

        if (r->c.out_color_space == JCS_RGB) {
            row = photo_sink_place_rgb(sink);
            jpeg_read_scanlines(&r->c, &row, 1);
            photo_sink_row_placed(sink);
            continue;
        }
        jpeg_read_scanlines(&r->c, &row, 1);
        if (r->row)
            from_cmyk(r->row, rgba, r->c.output_width);
        photo_sink_row(sink, rgba);
    }
    if (r->damaged) {
        too_damaged(r, (int)r->c.output_scanline, (int)r->c.output_height, e);
        goto done;
    }
    if (jpeg_read_icc_profile(&r->c, &r->icc, &n_icc))
        photo_sink_profile(sink, r->icc, n_icc);
    ok = true;
done:
    release(r);
    free(r);
    return ok;
}
