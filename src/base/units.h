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

/* The units a person reads in. Torque goes with the length: lbf·ft with inches, the other beside it. Distances are told in
 * the unit of their odometer. Zeroed: mm and kPa. */
struct unit_choice {
    bool inches;
    const struct unit *pressure; /* NULL: kPa */
};
/* "in, psi", "mm", "bar": what is not named keeps its unit. Fails ERR_BADARG naming what it does not know. */
struct err;
bool unit_choice_parse(const char *list, struct unit_choice *out, struct err *e);
void unit_choice_format(const struct unit_choice *c, char *to, size_t n_room); /* "in,psi" */
const struct unit *unit_choice_length(const struct unit_choice *c);
const struct unit *unit_choice_pressure(const struct unit_choice *c);
/* A figure as it is told: "1.10 mm", "0.043 in", without the unit "1.10". */
void unit_tell_length(const struct unit_choice *c, double mm, bool with_unit, char *to, size_t n_room);
void unit_tell_pressure(const struct unit_choice *c, double kpa, bool with_unit, char *to, size_t n_room); /* "1,180 kPa" */
/* Words with figures in braces, "read to about {0.03 mm}", as the person counts: "read to about 0.0012 in". Lengths and
 * pressures; a small length in inches has a fourth decimal. Braces that hold no such figure stay. */
void unit_tell_words(const struct unit_choice *c, const char *words, char *to, size_t n_room);
void unit_mark_length(double mm, char *to, size_t n_room); /* such a figure: "{0.9 mm}" */
/* "25–34 N·m (18–25 lbf·ft)", with inches "18–25 lbf·ft (25–34 N·m)"; low and high alike: one figure. */
void unit_tell_torque(const struct unit_choice *c, double low_nm, double high_nm, char *to, size_t n_room);

/* Reads a torque as people type it: "25", "25 Nm", "18 lbf·ft", "18 ft-lb", "2.5 kgf m"; without a unit it is `plain`.
 * *unit: the one it was typed in. false when it is none, or not between 1 and 100 N·m, where plugs are tightened
 * (torque charts of assets/torque.csv, with room on both sides). */
bool unit_parse_torque(const char *s, const struct unit *plain, double *nm, const struct unit **unit);

/* Reads a length as people type a gap: "1.1", "1,1", "1.1 mm", ".043", "0.043 in", "43 thou", and, when
 * inches are set, "43" (thousandths: 10 to 99 without a point); in mm "110" is 1.10 (hundredths: 20 to
 * 300 without a point). Result in whole micrometres.
 * false when it is no number or outside 0 to 25 mm. */
bool unit_parse_gap(const char *s, bool inches, int32_t *um);

#endif
