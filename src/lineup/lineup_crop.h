/* lineup_crop.h - a plug cut out of its photo: upright, at the scale all plugs are shown at, in the light all are
 * shown in. Where it is follows from the photo's marks, or a person has set it. No disk. */
#ifndef LINEUP_LINEUP_CROP_H
#define LINEUP_LINEUP_CROP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "logbook/logbook.h"

struct err;
struct photo_pixels;

#define LINEUP_CUT_PX    256  /* sides of a cut: sharp at 108 px and 200 % */
#define LINEUP_DECODE_PX 2048 /* longer side of the photo it is cut from */

/* Side of what a cut shows, mm of the plug, and where in it its middle lies (share of width and height): of the
 * tip that of the shell, of the side the end of the centre electrode. Grows with the thread ("" M14x1.25). */
struct lineup_field {
    double mm, ax, ay;
};
struct lineup_field lineup_field_of(enum crop_view view, const char *thread);
/* A nose is as wide as this for the tip to be shown at scale where nothing else tells it: plugs of one kind
 * have noses of one size, so they come out equally large, if not exactly as large as they are. */
double lineup_nose_mm(const char *thread);

/* What a cut follows from: nothing that is elsewhere on the photo changes it. */
struct lineup_plan {
    char photo[UUID_BYTES], sha256[65], format[16], thread[24];
    enum crop_view view;
    int width, height;  /* of the photo as displayed */
    double turn_deg;    /* as a person turned the photo, clockwise */
    bool by_hand;
    struct logbook_crop hand; /* by_hand */
    bool has[MARK_NOSE + 1];
    struct logbook_mark marks[MARK_NOSE + 1];
};
/* How a photo shows its plug in this view; marks and crops may be those of a whole visit. False when nothing says
 * that it shows it: a tip view needs the outline of its nose without a thread or gap line beside it, a side view a scale line
 * with a gap line, or along a thread with a nose, or either the frame that a person set; a photo framed for the other view
 * alone does not show it. */
bool lineup_plan_make(const struct logbook_photo *p, enum crop_view view, const char *thread, const struct logbook_mark *marks, size_t n_marks,
                      const struct logbook_crop *crops, size_t n_crops, struct lineup_plan *out);
/* Of a plug's photos the one that shows it best: a frame set by hand first, else the one taken first. NULL none. */
const struct logbook_photo *lineup_pick(const struct logbook_photo *photos, size_t n, const struct logbook_mark *marks, size_t n_marks,
                                        const struct logbook_crop *crops, size_t n_crops, int cylinder, int position, enum crop_view view,
                                        const char *thread, struct lineup_plan *out);
/* Differs when the cut would; above 0. For the cache. */
int lineup_plan_version(const struct lineup_plan *plan);

enum lineup_light {
    LINEUP_AS_TAKEN, /* no grey patch */
    LINEUP_REFUSED,  /* there is one that no light can be read from: clipped, too dark, uneven */
    LINEUP_CORRECTED,
    LINEUP_LIGHT_COUNT
};
const char *lineup_light_words(enum lineup_light l); /* "light corrected by the grey patch" */

struct lineup_cut {
    double x, y, turn_deg, px_per_mm; /* as struct logbook_crop has them, px of the photo */
    bool by_eye, by_hand;             /* by_eye: the scale is not measured */
    enum lineup_light light;
    uint8_t *rgba;                    /* LINEUP_CUT_PX square, opaque; malloc'd */
};
/* Where the plug is: all of *out but its pixels.
 *   px        the whole photo, made smaller
 *   focal_px  focal length in pixels of px, 0 unknown
 * Fails ERR_MEASURE with the sentence for the person. */
bool lineup_cut_find(const struct lineup_plan *plan, const struct photo_pixels *px, double focal_px, struct lineup_cut *out, struct err *e);
/* The same, and cuts it out. Fails ERR_LIMIT without memory, too. */
bool lineup_cut_make(const struct lineup_plan *plan, const struct photo_pixels *px, double focal_px, struct lineup_cut *out, struct err *e);
/* The middle of a photo as a square of LINEUP_CUT_PX, turned clockwise as the photo is: for one that does not tell where its
 * plug is. No corner lies outside the photo. False without memory. */
bool lineup_middle_make(const struct photo_pixels *px, double turn_deg, struct photo_pixels *out);
void lineup_cut_release(struct lineup_cut *c); /* frees and zeroes */

/* For the cache: a line of figures, then a JPEG. malloc'd; false without memory. */
bool lineup_cut_pack(const struct lineup_cut *c, uint8_t **bytes, size_t *n_bytes);
/* The figures; *jpeg points into bytes and is still to be decoded. False when they are no packed cut. */
bool lineup_cut_unpack(const uint8_t *bytes, size_t n_bytes, struct lineup_cut *out, const uint8_t **jpeg, size_t *n_jpeg);

#endif
