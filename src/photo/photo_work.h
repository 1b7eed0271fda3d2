/* photo_work.h - what the files of photo/ that read pictures share; not for others. */
#ifndef PHOTO_PHOTO_WORK_H
#define PHOTO_PHOTO_WORK_H

#include <stddef.h>
#include <stdint.h>
#include "photo/photo.h"

struct err;

/* Size of a TIFF file's first picture; false when it does not say. */
bool photo_read_tiff_size(const uint8_t *data, size_t n_bytes, uint32_t *width, uint32_t *height);

/* How far a PNG consists of whole chunks, and whether its end mark is among them. Fails ERR_FORMAT when
 * it is cut off before the pixels are over. */
bool photo_png_whole_chunks(const uint8_t *data, size_t n_bytes, size_t *n_whole, bool *ended, struct err *e);
/* The embedded colour profile as it lies in a PNG (packed) or WebP: a part of data; false when none. */
bool photo_find_png_profile(const uint8_t *data, size_t n_bytes, const uint8_t **packed, size_t *n_packed);
bool photo_find_webp_profile(const uint8_t *data, size_t n_bytes, const uint8_t **icc, size_t *n_icc);
/* First frame of an animated WebP as a file of its own, malloc'd; false when it is not animated. */
bool photo_webp_first_frame(const uint8_t *data, size_t n_bytes, uint8_t **still, size_t *n_still);
/* GIF: the first frame (photo_gif.c). */
bool photo_gif_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e);

/* HEIC goes through libheif for facts and pixels alike (photo_heic.c). */
bool photo_heic_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e);

/* Refuses sizes over the limits; false with a sentence. */
bool photo_check_size(uint64_t width, uint64_t height, struct err *e);

/* Takes rows from the top, makes the picture smaller by averaging areas. */
struct photo_shrinker {
    int from_width, from_height, to_width, to_height;
    int row, to_row;    /* next row in, next row out */
    uint16_t *sum;      /* from_width * 4, weights of one row out add up to 256 */
    uint32_t *columns;  /* weights across, see photo_pixels.c */
    struct photo_pixels *out;
};
/* out->rgba is allocated (mem_try); false with ERR_LIMIT when memory does not suffice. */
bool photo_shrinker_begin(struct photo_shrinker *s, int from_width, int from_height, int max_px,
                          struct photo_pixels *out, struct err *e);
void photo_shrinker_row(struct photo_shrinker *s, const uint8_t *rgba);
void photo_shrinker_end(struct photo_shrinker *s); /* frees its own; out stays */

/* Turns by an EXIF orientation 1..8, in place (a new buffer is swapped in). */
bool photo_turn_upright(struct photo_pixels *p, int orientation, struct err *e);
/* A rectangle of the displayed picture as it lies in the stored one. */
struct photo_region photo_region_stored(const struct photo_region *r, int orientation, int stored_width,
                                        int stored_height);

/* Converts in place from an ICC profile to sRGB; a profile that cannot be used is passed over. */
void photo_to_srgb(struct photo_pixels *p, const uint8_t *icc, size_t n_icc);

/* Where decoders put their rows: whole picture made smaller, or one region. All in stored
 * orientation. */
struct photo_sink {
    struct photo_pixels *out;   /* NULL with `held` */
    struct photo_held *held;    /* packed and unturned instead, its profile beside it; NULL none */
    size_t most_bytes;          /* `held` should not take more, see photo_hold() */
    struct photo_region region; /* stored px */
    bool cut;                   /* region instead of the whole */
    int max_px, row;
    struct photo_shrinker shrinker;
};
bool photo_sink_begin(struct photo_sink *s, int width, int height, struct err *e);
void photo_sink_row(struct photo_sink *s, const uint8_t *rgba);
/* Where the next row will lie, for decoders that can write it there before they hand it in; NULL when it
 * is worked on further. */
uint8_t *photo_sink_place(const struct photo_sink *s);
uint8_t *photo_sink_place_rgb(const struct photo_sink *s); /* the same for packed R, G, B; photo_sink_row_placed() then */
void photo_sink_row_placed(struct photo_sink *s);
/* The embedded profile, when all rows are in: converts, or keeps it for the parts. */
void photo_sink_profile(struct photo_sink *s, const uint8_t *icc, size_t n_icc);
bool photo_sink_full(const struct photo_sink *s); /* no further row is wanted */
void photo_sink_end(struct photo_sink *s);

/* Memory for a picture held as planes: width and height of the lightness; rooms are what the decoder writes, whole blocks.
 * False with ERR_LIMIT. */
bool photo_planes_begin(struct photo_held *h, int width, int height, int across, int down, int room_width, int room_height, struct err *e);

/* The formats. Each begins the sink, feeds all rows, applies the profile. */
bool photo_decode_jpeg(const uint8_t *data, size_t n_bytes, const struct photo_info *info,
                       struct photo_sink *sink, struct err *e);
bool photo_decode_heic(const uint8_t *data, size_t n_bytes, const struct photo_info *info,
                       struct photo_sink *sink, struct err *e);
bool photo_decode_gif(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink,
                      struct err *e);
bool photo_decode_other(const uint8_t *data, size_t n_bytes, const struct photo_info *info,
                        struct photo_sink *sink, struct err *e);

#endif
