/* units.h - the units people type and read. Factors are exact by definition (inch 25.4 mm,
 * pound 0.45359237 kg, standard gravity 9.80665 m/s2, US gallon 231 in3, imperial gallon
 * 4.54609 l, mile 5280 ft); NIST SP 811 appendix B prints the derived ones. */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MM_PER_INCH 25.4 /* exactly */

enum unit_kind { UNIT_LENGTH, UNIT_DISTANCE, UNIT_PRESSURE, UNIT_TORQUE, UNIT_VOLUME, UNIT_TIME, UNIT_ANGLE, UNIT_KIND_COUNT };

struct unit {
    const char *id;      /* stable, as stored and as in the case format: "mm", "in", "km", "mi", "h", "kPa", "psi", "bar", "Nm", "lbf.ft" … */
    const char *label;   /* as shown: "mm", "in", "N·m", "lbf·ft" */
    enum unit_kind kind;
    double factor;       /* value in base unit = value in this unit * factor; base: mm, m, Pa, N·m, l, s, degree */
    int n_decimals;      /* usual decimals when shown */
};
const struct unit *unit_find(const char *id); /* NULL when unknown */
const struct unit *unit_rows(size_t *n_rows);
/* value from one unit to another of the same kind (asserted). */
double unit_convert(double value, const struct unit *from, const struct unit *to);

/* Reads a length as people type a gap: "1.1", "1,1", "1.1 mm", ".043", "0.043 in", and, when
 * inches are set, "43" (thousandths: 10 to 99 without a point); in mm "110" is 1.10 (hundredths: 20 to
 * 300 without a point). Result in whole micrometres.
 * false when it is no number or outside 0 to 25 mm. */
bool unit_parse_gap(const char *s, bool inches, int32_t *um);

#endif
