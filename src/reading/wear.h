/* wear.h - how fast the gaps grow, from the plugs' own history, and how far it is to the limit.
 *
 * A plug is followed back through the visits: by its own name where it has one, through swaps, else in its
 * hole until a plug was replaced there. A gap that was set begins a new run with the gap as left. Published
 * growth rates do not overlap and none is known for precious metal, so the rate is learned from the engine
 * itself. */
#ifndef READING_WEAR_H
#define READING_WEAR_H

#include "record/record.h"

#define WEAR_MAX_POINTS 64
/* Upper bound printed for ordinary driving on nickel: 0.001 in per 1000 mi (Dodge Ram 1998, Jeep Grand
 * Cherokee manuals); growth clearly above it points to overheating. */
#define WEAR_NICKEL_BOUND_MM 0.01578
/* A feeler gauge is read to +-0.03 mm (common practice, no source), at both ends of a run. */
#define WEAR_GAUGE_MM 0.03
#define WEAR_RISE_MM 0.0424 /* what two readings so far off are off together, in quadrature: less is no growth */

#define WEAR_SURE_FROM 4 /* readings of a plug from which on it can be said how sure its growth is: three have no 95 % limits */
struct wear_plug {
    int n_points;                       /* of its run, the present one too; fewer than 2: no growth is known */
    double x[WEAR_MAX_POINTS];          /* odometer, thousands of km (or hundreds of hours), oldest first */
    double gap_mm[WEAR_MAX_POINTS];
    bool known;                         /* it grew by more than two readings are off together, or as the engine's do */
    bool shrunk;                        /* smaller by more than that, though nothing set it: no growth */
    double rate, rate_low, rate_high;   /* mm per 1000 km (per 100 h): Theil-Sen slope; the wider of its 95 % limits
                                           and what the gauge's error lets be */
    struct maybe left, left_low, left_high; /* metres (seconds) to the limit by its own rate, else by the engine's;
                                               left_high not given: no end can be told; neither is with fewer readings than WEAR_SURE_FROM */
};
struct wear {
    bool hours;                         /* odometer counts hours: x in 100 h, rates per 100 h */
    double limit_mm;                    /* to renew at: the card's limit, else the upper end of the range; 0 unknown */
    bool known;                         /* their growth is told: beyond what the readings are off, together */
    bool within;                        /* there are runs, but what changed lies within what the readings are off */
    double rate, rate_low, rate_high;   /* the engine's: median, least and most of its plugs */
    int n_known;
    double least_span;                  /* shortest run among the known, in x */
    struct wear_plug plugs[ENGINE_MAX_PLUGS];
};
/* Of the record's last visit. Pure. */
void wear_of(const struct record *r, struct wear *out);
/* How a growth is told, in the unit of the odometer (WORDS_ODOMETER_UNIT value): rate * factor, with so many decimals, of
 * `length` per `run`: "0.010" mm per "1,000 km". */
struct wear_unit {
    double factor;
    int n_decimals;
    const char *length, *run, *whole; /* whole: "mm per 1,000 km" */
};
struct wear_unit wear_unit_of(const struct wear *w, int odometer_unit, bool inches);
/* What is left of a plug, "14,000 km", in the unit of the odometer (WORDS_ODOMETER_UNIT value): two leading figures, more would be false. */
void wear_format_left(double metres, int odometer_unit, char *to, size_t n_room);
/* The same with its range, for lists: "14,000 km left (9,800–19,000)", "14,000 km left (at least 9,800)". left must be given. */
void wear_format_left_range(const struct wear_plug *p, int odometer_unit, char *to, size_t n_room);
/* Where the plug that is in a hole at a visit stood at each visit up to it, as wear follows it: holes[0 .. visit], -1 not in
 * the engine or nothing tells. One with a name is found again after it lay aside. */
void wear_follow_plug(const struct record *r, int visit, int hole, short *holes);

#endif
