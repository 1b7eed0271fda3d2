/* pressure.h - whether a figure can be a compression, or was typed in another unit or slipped. Pure. One rule for
 * the window, tables that are taken over and written cases. */
#ifndef READING_PRESSURE_H
#define READING_PRESSURE_H

#include <stdbool.h>
#include <stddef.h>

struct err;
struct unit;

/* An engine with plugs reads so much, kPa, as a rule (common practice, no source). Less is possible, with a hole in a
 * piston, but is asked back; 0 is taken for what it says. */
#define PRESSURE_LEAST_KPA 300
#define PRESSURE_MOST_KPA 2500

/* A compression as typed, in pascals: a figure, in `usual` or with its unit behind it ("75 psi"). Fails ERR_BADARG
 * with the sentence to show when it is none, or when no engine has such a compression and it may be another unit
 * that is meant; what names its unit is taken as it stands, up to most_kpa. unit: which it was, "kPa" where none is
 * named and usual is NULL. */
bool pressure_read(const char *typed, const struct unit *usual, double most_kpa, const struct unit **unit, double *pa, struct err *e);
/* "75 kPa is hardly a compression; 75 psi would be 517 kPa." "" when there is nothing to ask. value in `unit`. */
void pressure_doubt(double value, const struct unit *unit, char *to, size_t n_room);
/* A wet compression so far below the dry one that oil cannot have made it: 1 none. Less is how gauges differ. Common practice, no source. */
#define PRESSURE_WET_LEAST 0.85
/* "Wet 500 kPa lies below dry 1,200 kPa, and oil takes no pressure away: …" in a unit of pressure; "" when there is nothing to ask. */
void pressure_wet_doubt(double dry_kpa, double wet_kpa, const struct unit *unit, char *to, size_t n_room);

#endif
