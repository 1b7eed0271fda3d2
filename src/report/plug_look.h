/* plug_look.h - how a plug's tip looks by what was noted of it: for the window and the report, so that a log without
 * photos is a picture in both. */
#ifndef REPORT_PLUG_LOOK_H
#define REPORT_PLUG_LOOK_H

#include <stdbool.h>
#include <stdint.h>
#include "record/record.h"

/* Colour of the insulator's nose: as measured, else that of the main deposit. False: nothing is known of it, and
 * it is a neutral grey. r may be NULL. */
bool plug_nose_rgb(const struct reading *r, uint8_t rgb[3]);
/* Where the side electrode comes from, clockwise from the top: as marked, else any way round, the same each time. */
int plug_strap_deg(const struct reading *r, int cylinder);
/* Liquid in the well: oil browner the more there is, water; false: none. */
bool plug_well_rgb(const struct reading *r, uint8_t rgb[3]);

#endif
