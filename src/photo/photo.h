/* photo.h - a picture file's bytes in, its facts and its pixels out. Pure: no window, no logbook,
 * no paths. What decodes runs in the picture helper (pool.h) and in commands without a window, never
 * in the window's own process. docs/photos.md tells what is accepted and what is refused. */
#ifndef PHOTO_PHOTO_H
#define PHOTO_PHOTO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;

/* Counts when previews are made another way: cached ones of other versions are made afresh. */
#define PHOTO_PREVIEW_VERSION 1
#define PHOTO_THUMB_PX   256  /* longer side of a thumbnail */
#define PHOTO_PREVIEW_PX 1280 /* longer side of a preview */

#define PHOTO_MAX_PIXELS     200000000 /* width times height; phones are at 200 megapixels at most */
#define PHOTO_MAX_SIDE_PX    65535     /* what JPEG can say */
#define PHOTO_MAX_FILE_BYTES ((size_t)512 * 1024 * 1024)

enum photo_format {
    PHOTO_UNKNOWN = -1,
    PHOTO_JPEG,
    PHOTO_PNG,
    PHOTO_WEBP,
    PHOTO_BMP,
    PHOTO_TIFF,
    PHOTO_GIF,
    PHOTO_HEIC,
    N_PHOTO_FORMATS
};
/* "jpg", "png", "webp", "bmp", "tif", "gif", "heic": the extension an original is kept under. */
const char *photo_format_id(enum photo_format f);
/* "JPEG", "PNG", "WebP" …: for people. */
const char *photo_format_name(enum photo_format f);
/* By the first bytes, whatever the file is called. */
enum photo_format photo_sniff(const uint8_t *data, size_t n_bytes);
/* Files worth offering in a browser or a watched folder, by their extension in any case. */
bool photo_name_fits(const char *file_name);

struct photo_info {
    enum photo_format format;
    int stored_width, stored_height; /* px as stored in the file */
    int width, height;               /* px as displayed: EXIF orientation applied */
    int orientation;                 /* 1..8 as EXIF numbers them; 1 when none or nonsense. The turn that
                                      * is still to be made: HEIC decodes upright, so 1 there. */
    char taken[32];                  /* camera's local time "2026-06-14T10:42:17.250"; "" unknown */
    bool offset_given;
    int offset_min;                  /* minutes east of UTC */
    double focal_mm;                 /* of the lens; 0 unknown */
    double focal_as_35mm_mm;         /* of a lens that sees as much on a 36 x 24 mm film; 0 unknown */
};

/* Reads the headers only. Fails ERR_FORMAT (no picture, damaged, a format that cannot be read) or
 * ERR_LIMIT (larger than the limits above) with a sentence for the person; nothing large is
 * allocated. A damaged EXIF part never makes a picture fail: what cannot be read is left out. */
bool photo_parse_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e);

struct photo_pixels {
    int width, height;
    uint8_t *rgba; /* malloc'd, width * height * 4, rows from the top; sRGB, opaque: see-through parts
                    * of the file are laid on white */
};
void photo_pixels_release(struct photo_pixels *p); /* frees and zeroes */

struct photo_region {
    int x, y, width, height; /* px of the picture as displayed, at full size; inside it */
};

/* Decodes to upright sRGB (embedded colour profile honoured).
 *   max_px  longer side at most this many px, made smaller by averaging areas; 0: full size
 *   region  only this part, at full size; NULL: the whole picture. Not together with max_px.
 *   info    filled when not NULL
 * Fails as photo_parse_info(), ERR_FORMAT also when the pixels are damaged or end early ("The file
 * ends in the middle of the picture …"), ERR_LIMIT when memory does not suffice. */
bool photo_decode(const uint8_t *data, size_t n_bytes, int max_px, const struct photo_region *region,
                  struct photo_pixels *out, struct photo_info *info, struct err *e);

/* A whole picture kept to cut parts from, neither turned nor converted; each part is, when it is cut (photo_cut() in
 * photo_view.h). A JPEG stays as it is coded: lightness and two colour differences, these mostly at half the fineness,
 * which is half the memory of R, G, B; parts come out to the bit as libjpeg's own decoding has them. */
struct photo_plane {
    uint8_t *at;                                /* pitch bytes a row */
    int width, height, pitch;
};
struct photo_held {
    struct photo_info info;
    int stored_width, stored_height, left_over; /* left_over: the EXIF turn that is still to be made */
    uint8_t *rgb;                               /* three bytes a pixel; NULL: */
    struct photo_plane planes[3];               /* Y, Cb, Cr; none has memory: nothing is held */
    int across, down;                           /* pixels that share a colour difference: 1 or 2 */
    uint8_t *icc;                               /* embedded profile, NULL none */
    size_t n_icc;
};
/* most_bytes: a JPEG whose colour differences are finer than half and that would take more has them averaged to half; what
 * it takes then, or another kind of picture, may still be more. 0: no matter. Fails as photo_decode(), *out is then empty. */
bool photo_hold(const uint8_t *data, size_t n_bytes, size_t most_bytes, struct photo_held *out, struct err *e);
bool photo_is_held(const struct photo_held *h);
void photo_held_release(struct photo_held *h); /* frees and zeroes */

/* Smaller copy by averaging areas, longer side max_px; a plain copy when it is not larger. */
bool photo_shrink(const struct photo_pixels *from, int max_px, struct photo_pixels *out, struct err *e);

/* JPEG bytes, malloc'd. quality 1..100. */
bool photo_encode_jpeg(const struct photo_pixels *p, int quality, uint8_t **jpeg, size_t *n_bytes,
                       struct err *e);

/* Loads the decoders' own libraries, so that nothing has to be opened later (a helper may then lock
 * its doors). Not needed for correctness. */
void photo_load_decoders(void);

/* Finds the orientation, times and focal lengths in a TIFF structure (the part behind "Exif\0\0", or a
 * TIFF file); fields not found stay. For photo_parse_info() and its tests. */
void photo_read_exif(const uint8_t *tiff, size_t n_bytes, struct photo_info *out);

#endif
