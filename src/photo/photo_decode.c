/* photo_decode.c - a file's bytes to upright sRGB pixels: picks the decoder, and SDL_image's decoders
 * for PNG, WebP, BMP and TIFF. SDL's video is never touched. */
#include "photo/photo.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include <SDL_image.h>
#include <libheif/heif.h>
#include <zlib.h>

#include "base/err.h"
#include "base/mem.h"
#include "photo/photo_work.h"

void photo_load_decoders(void)
{
    heif_init(NULL);
    IMG_Init(IMG_INIT_PNG | IMG_INIT_TIF | IMG_INIT_WEBP);
}

static SDL_Surface *load_surface(const uint8_t *data, size_t n_bytes, enum photo_format format)
{
    SDL_RWops *from = SDL_RWFromConstMem(data, (int)n_bytes);
    SDL_Surface *s = NULL;

    if (!from)
        return NULL;
    switch (format) {
    case PHOTO_PNG: s = IMG_LoadPNG_RW(from); break;
    case PHOTO_WEBP: s = IMG_LoadWEBP_RW(from); break;
    case PHOTO_BMP: s = IMG_LoadBMP_RW(from); break;
    case PHOTO_TIFF: s = IMG_LoadTIF_RW(from); break;
    default: break;
    }
    SDL_RWclose(from);
    return s;
}

/* A TIFF comes mirrored, but not turned: libtiff's TIFFReadRGBAImageOriented() treats 5..8 like 1..4 and
 * leaves one of the two turns over a diagonal to do. */
static void set_tiff_left_over(struct photo_info *info)
{
    static const unsigned char left_over[9] = {1, 1, 1, 1, 1, 5, 7, 5, 7};

    info->orientation = left_over[info->orientation];
}

/* iCCP in a PNG is packed by zlib; the length is not told. */
static void apply_png_profile(const uint8_t *data, size_t n_bytes, struct photo_sink *sink)
{
    enum { MOST = 4 * 1024 * 1024 }; /* the largest RGB profiles in use are near 1 MB */
    const uint8_t *packed;
    size_t n_packed;
    uint8_t *icc;
    uLongf n_icc = MOST;

    if (!photo_find_png_profile(data, n_bytes, &packed, &n_packed))
        return;
    icc = mem_try(MOST, 1);
    if (icc && uncompress(icc, &n_icc, packed, n_packed) == Z_OK)
        photo_sink_profile(sink, icc, n_icc);
    free(icc);
}

static void lay_on_white(uint8_t *rgba, size_t n)
{
    for (size_t i = 0; i < n; i++, rgba += 4) {
        unsigned a = rgba[3];

        if (a == 255)
            continue;
        for (int k = 0; k < 3; k++)
            rgba[k] = (uint8_t)((rgba[k] * a + 255 * (255 - a) + 127) / 255);
        rgba[3] = 255;
    }
}

/* SDL_image 2.6.3 tells libpng nothing of the end of the file: on one cut short that reads the same stale
 * bytes again and again. So only whole chunks are handed on, and the end mark is put behind them where
 * it is missing (a picture whose pixels are all there is shown). *still stays NULL when nothing had to
 * be changed. */
static bool close_png(const uint8_t *data, size_t n_bytes, uint8_t **still, size_t *n_still, struct err *e)
{
    static const uint8_t end_mark[12] = {0, 0, 0, 0, 'I', 'E', 'N', 'D', 0xae, 0x42, 0x60, 0x82};
    size_t n_whole;
    bool ended;

    if (!photo_png_whole_chunks(data, n_bytes, &n_whole, &ended, e))
        return false;
    if (ended)
        return true;
    *still = mem_try(n_whole + sizeof end_mark, 1);
    if (!*still)
        return err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
    memcpy(*still, data, n_whole);
    memcpy(*still + n_whole, end_mark, sizeof end_mark);
    *n_still = n_whole + sizeof end_mark;
    return true;
}

static bool surface_rows(SDL_Surface *s, struct photo_sink *sink, struct err *e)
{
    uint8_t *row = mem_try((size_t)s->w, 4);
    bool ok = false;

    if (!row)
        return err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
    if (!photo_sink_begin(sink, s->w, s->h, e))
        goto done;
    /* One row at a time through a surface of one row: a second whole copy would double the memory. */
    for (int y = 0; y < s->h && !photo_sink_full(sink); y++) {
        SDL_Rect line = {0, y, s->w, 1};
        SDL_Surface *to = SDL_CreateRGBSurfaceWithFormatFrom(row, s->w, 1, 32, s->w * 4, SDL_PIXELFORMAT_RGBA32);

        memset(row, 0, (size_t)s->w * 4); /* a colour key leaves its pixels see-through */
        if (!to || SDL_BlitSurface(s, &line, to, NULL) != 0) {
            SDL_FreeSurface(to);
            err_set(e, ERR_FORMAT, "The picture's colours are stored in a way that is not read. Save it as JPEG, then add that.");
            goto done;
        }
        SDL_FreeSurface(to);
        lay_on_white(row, (size_t)s->w);
        photo_sink_row(sink, row);
    }
    ok = true;
done:
    free(row);
    return ok;
}

bool photo_decode_other(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink,
                        struct err *e)
{
    uint8_t *still = NULL;
    size_t n_still = 0;
    SDL_Surface *s;
    const uint8_t *icc;
    size_t n_icc;
    bool ok;

    if (info->format == PHOTO_PNG && !close_png(data, n_bytes, &still, &n_still, e))
        return false;
    if (info->format == PHOTO_WEBP)
        photo_webp_first_frame(data, n_bytes, &still, &n_still);
    s = load_surface(still ? still : data, still ? n_still : n_bytes, info->format);
    free(still);
    if (!s)
        return err_set(e, ERR_FORMAT, "The %s picture is damaged, cut short, or of a kind that is not read (%s). Copy it again, or "
                       "save it afresh as JPEG.", photo_format_name(info->format), SDL_GetError());
    SDL_SetSurfaceBlendMode(s, SDL_BLENDMODE_NONE);
    if (s->w < 1 || s->h < 1 || !photo_check_size((uint64_t)s->w, (uint64_t)s->h, e) || s->w != info->stored_width ||
        s->h != info->stored_height) {
        SDL_FreeSurface(s);
        return err_set(e, ERR_FORMAT, "The %s picture is not as large as the file says. It is damaged; copy it again.",
                       photo_format_name(info->format));
    }
    ok = surface_rows(s, sink, e);
    SDL_FreeSurface(s);
    if (!ok)
        return false;
    if (info->format == PHOTO_PNG)
        apply_png_profile(data, n_bytes, sink);
    else if (info->format == PHOTO_WEBP && photo_find_webp_profile(data, n_bytes, &icc, &n_icc))
        photo_sink_profile(sink, icc, n_icc);
    return true;
}

static bool decode_rows(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink, struct err *e)
{
    bool ok;

    if (info->format == PHOTO_JPEG)
        ok = photo_decode_jpeg(data, n_bytes, info, sink, e);
    else if (info->format == PHOTO_HEIC)
        ok = photo_decode_heic(data, n_bytes, info, sink, e);
    else if (info->format == PHOTO_GIF)
        ok = photo_decode_gif(data, n_bytes, info, sink, e);
    else
        ok = photo_decode_other(data, n_bytes, info, sink, e);
    photo_sink_end(sink);
    return ok;
}

bool photo_hold(const uint8_t *data, size_t n_bytes, size_t most_bytes, struct photo_held *out, struct err *e)
{
    struct photo_sink sink = {.held = out, .most_bytes = most_bytes};
    struct photo_info own;

    memset(out, 0, sizeof *out);
    if (!photo_parse_info(data, n_bytes, &out->info, e))
        return false;
    own = out->info;
    if (own.format == PHOTO_TIFF)
        set_tiff_left_over(&own);
    out->left_over = own.orientation;
    if (decode_rows(data, n_bytes, &own, &sink, e))
        return true;
    photo_held_release(out);
    return false;
}

bool photo_is_held(const struct photo_held *h)
{
    return h->rgb != NULL || h->planes[0].at != NULL;
}

void photo_held_release(struct photo_held *h)
{
    free(h->rgb);
    for (int i = 0; i < 3; i++)
        free(h->planes[i].at);
    free(h->icc);
    memset(h, 0, sizeof *h);
}

bool photo_decode(const uint8_t *data, size_t n_bytes, int max_px, const struct photo_region *region,
                  struct photo_pixels *out, struct photo_info *info, struct err *e)
{
    struct photo_info own;
    struct photo_sink sink = {.out = out, .max_px = max_px};
    bool ok;

    assert(!region || max_px == 0);
    memset(out, 0, sizeof *out);
    if (!info)
        info = &own;
    if (!photo_parse_info(data, n_bytes, info, e))
        return false;
    own = *info;
    if (own.format == PHOTO_TIFF)
        set_tiff_left_over(&own);
    if (region) {
        if (region->x < 0 || region->y < 0 || region->width < 1 || region->height < 1 ||
            region->x > info->width - region->width || region->y > info->height - region->height)
            return err_set(e, ERR_BADARG, "The part asked for (%d × %d at %d, %d) is not inside the picture of %d × %d pixels.",
                           region->width, region->height, region->x, region->y, info->width, info->height);
        sink.cut = true;
        sink.region = photo_region_stored(region, own.orientation, own.stored_width, own.stored_height);
    }
    ok = decode_rows(data, n_bytes, &own, &sink, e);
    ok = ok && photo_turn_upright(out, own.orientation, e);
    if (!ok)
        photo_pixels_release(out);
    return ok;
}
