/* picture.h - what the verbs that measure in a photo share. */
#ifndef CLI_PICTURE_H
#define CLI_PICTURE_H

#include <stdbool.h>

#include "photo/photo.h"

struct err;

/* The photo at full size, upright; photo_pixels_release() it. The message names the file. */
bool cli_picture_load(const char *path, struct photo_pixels *out, struct photo_info *info, struct err *e);

/* A list of numbers as a person types it. Commas or semicolons set them apart, and numbers have points: "1,2.5;3". Where
 * that does not give as many as there must be, a comma is a decimal comma, when that does: "1,5 2 3,5 4", "1,5;2;3,5;4",
 * "1,5,2,0,3,5,4,0", and "10,20,30,40,0,9" where the last is a fraction of 1. */
struct cli_list {
    int least, most, step; /* how many there may be */
    bool fraction_last;    /* the last of `most` is between 0 and 1 */
};
/* How many, -1 when it cannot be read in one way; out has room for `most`. */
int cli_numbers(const char *s, const struct cli_list *l, double *out);

#endif
