/* report_marks.h - a photo's marks as others can open them: drawn into a copy of the picture, as SVG over
 * the picture, as W3C Web Annotation JSON. Nothing of the original file but its pixels goes out. */
#ifndef REPORT_REPORT_MARKS_H
#define REPORT_REPORT_MARKS_H

#include <stdbool.h>
#include <stddef.h>
#include "base/text.h"
#include "logbook/logbook.h"

struct err;
struct photo_pixels;

/* A mark, and what is written beside it ("gap 1.32 mm"); "" nothing. */
struct report_mark {
    struct logbook_mark mark;
    char words[400];
};

/* Draws them, lines and labels sized to the picture, which is the photo at full size. Labels keep clear of
 * each other and of the edge. Fails when no typeface is found. */
bool report_marks_draw(struct photo_pixels *p, const struct report_mark *marks, size_t n, struct err *e);
/* The same into a smaller copy, the marks' points in its px; unit: px of it that count as one of the screen. */
bool report_marks_draw_sized(struct photo_pixels *p, const struct report_mark *marks, size_t n, double unit, struct err *e);
/* Picture and marks turned a quarter `turn` times clockwise; the picture is in new memory then. */
bool report_marks_turn(struct photo_pixels *p, struct report_mark *marks, size_t n, int turn, struct err *e);

/* Picture and marks leaned clockwise by `lean_mdeg` thousandths of a degree, as the bench shows a photo that was levelled: the
 * picture grows until all of it is in, its corners are neutral grey. Boxes and ellipses become outlines. */
bool report_marks_lean(struct photo_pixels *p, struct report_mark *marks, size_t n, int lean_mdeg, struct err *e);

/* Draws the marks into *p and writes three files beside each other: FOLDER/NAME-marked.jpg (PNG from a
 * PNG), .svg over the original in ../photos, and .json. The folder is made if need be; files of these names are replaced. *p and
 * marks are turned and leaned as the photo is; SVG and JSON keep to the photo's own coordinates. path: room for the picture's. */
bool report_marks_write(const char *folder, const struct logbook_photo *photo, struct photo_pixels *p, struct report_mark *marks, size_t n,
                        char *path, size_t n_room, struct err *e);

/* width, height: of the photo as displayed; href: the picture beside the file. */
void report_marks_svg(const struct report_mark *marks, size_t n, int width, int height, const char *href, struct text *out);
/* An AnnotationPage (W3C Web Annotation Data Model, 2017). The photo is named by its SHA-256. */
void report_marks_json(const struct report_mark *marks, size_t n, const char *sha256, struct text *out);

#endif
