/* picture.h - what the verbs that measure in a photo share. */
#ifndef CLI_PICTURE_H
#define CLI_PICTURE_H

#include <stdbool.h>

#include "photo/photo.h"

struct err;

/* The photo at full size, upright; photo_pixels_release() it. The message names the file. */
bool cli_picture_load(const char *path, struct photo_pixels *out, struct photo_info *info, struct err *e);

/* "1,2.5,3": numbers with points, separated by single marks of `separators`; how many, or -1 when the
 * text is something else, or holds more than max. */
int cli_numbers(const char *s, const char *separators, double *out, int max);

#endif
