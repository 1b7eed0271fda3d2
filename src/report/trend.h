/* trend.h - one measure of every plug over the visits: what the Trends screen and the report draw. Pure. */
#ifndef REPORT_TREND_H
#define REPORT_TREND_H

#include "base/units.h"
#include "reading/stats.h"
#include "record/record.h"

struct arena;

#define TREND_FIT_MAX 64 /* visits a line is laid through: the latest */
#define TREND_VISITS_MAX 120 /* the latest are drawn: more are a smear */

struct trend_measure {
    const char *id, *label, *unit;
    int n_decimals;
    bool of_cylinder; /* one value a cylinder, held by its first plug */
    size_t offset;    /* of the struct maybe in a reading */
};
const struct trend_measure *trend_measures(int *n); /* the gap first */

struct trend { /* in the units shown */
    const struct record *r;
    const struct trend_measure *row;
    double factor;               /* shown = held * factor */
    int n_decimals;
    const char *unit;
    bool by_date;
    const struct unit *distance; /* of the odometer */
    int n_holes;                 /* places for a plug, or cylinders */
    int n_lines;                 /* as many; by plug those that are out of the engine too, behind the others */
    const short *holes;          /* by plug: holes[line * n_visits + visit], -1 where it was in none; NULL: a line is a hole's */
    double x_low, x_high, y_low, y_high; /* trend_range() */
};
void trend_init(struct trend *t, const struct record *r, int measure, bool by_date, const struct unit_choice *units);
/* Each line follows its plug through the holes it stood in, as wear_follow_plug() does, where the measure is a plug's: the
 * first n_holes are those in the engine at the last visit, by hole; then come those that are out, the latest first, at most
 * TREND_OUT_MAX. */
#define TREND_OUT_MAX 96
void trend_follow_plugs(struct trend *t, struct arena *a);
/* Somebody took the measure at some visit. */
bool trend_was_measured(const struct record *r, int measure);
/* Finds what is to be drawn with room around it; false: nothing has a place on the axis. */
bool trend_range(struct trend *t);

/* The record with its latest TREND_VISITS_MAX visits only; they stay r's own. */
struct record trend_latest_visits(const struct record *r);

/* The right end of a line, and where its name stands beside it. */
struct trend_end {
    int line;
    double x, y; /* on the picture */
    double at;   /* of the name's middle */
};
/* Names kept `least` apart between top and bottom, from above down; where that many do not fit, only the outermost two of
 * either side and the strong line (-1: none) are left. Gives how many. */
int trend_ends_apart(struct trend_end *ends, int n, int strong, double top, double bottom, double least);

int trend_plug(const struct trend *t, int line); /* index of its reading at the last visit; by plug -1 of one that is out */
int trend_hole(const struct trend *t, int visit, int line); /* the same at a visit; -1: it was in none */
int trend_last_hole(const struct trend *t, int line); /* where it is, or was last */
bool trend_moved(const struct trend *t, int visit, int line); /* it is read at the visit in another hole than where it was read before */
struct maybe trend_value(const struct trend *t, int visit, int line);
struct maybe trend_place(const struct trend *t, int visit); /* days, or distance in the odometer's unit */
/* Another plug in the hole at the next visit: what came before is not its own. By plug: it was taken out for good. */
bool trend_renewed_after(const struct trend *t, int visit, int line);
/* What is in a hole at two visits is one plug, so far as is known: in none between them was it renewed. */
bool trend_same_plug(const struct record *r, int a, int b, int plug);
/* The gap it was set to at a visit: from there it grows on. */
struct maybe trend_set_at(const struct trend *t, int visit, int line);
/* A gap measured in a photo: about 95 in 100 lie so near; not given where it was the feeler gauge. */
struct maybe trend_photo_pm(const struct trend *t, int visit, int line);
/* "3"; by plug with where it was before, "3, was 5", or "out, was 5". TREND_NAME_BYTES are room enough. */
#define TREND_NAME_BYTES 64
void trend_line_name(const struct trend *t, int line, char *to, size_t n_room);
void trend_hole_name(const struct trend *t, int hole, char *to, size_t n_room);
void trend_axis_words(const struct trend *t, bool of_x, char *to, size_t n_room); /* "odometer, km", "gap, mm" */
void trend_number(const struct trend *t, double shown, char *to, size_t n_room); /* "1.10", "1,180" */
void trend_figure(const struct trend *t, double shown, char *to, size_t n_room); /* "1.10 mm" */
double trend_limit(const struct trend *t); /* to renew at, else the range's end; 0 none */
void trend_limit_words(const struct trend *t, char *to, size_t n_room); /* "renew at 1.40 mm" */
int trend_latest(const struct trend *t, int line); /* visit it was read at last, -1 never */
int trend_latest_placed(const struct trend *t, int line); /* the same among those with a place on the axis */
/* Middle and ends of all at a visit; gives how many were read. */
int trend_spread(const struct trend *t, int visit, double *middle, double *low, double *high);
/* Half of all or more were renewed after the visit: the middle after it is that of a new set. */
bool trend_new_set(const struct trend *t, int visit);
/* What was changed on the engine after a visit, so far as it bears on the measure, in words: "new plugs", "new plug 3; gaps
 * set", "plug from 2 in 4", "head gasket replaced, bank 1"; "" nothing. */
void trend_change_words(const struct trend *t, int visit, char *to, size_t n_room);
/* Theil-Sen through the run the plug is in; n: readings it rests on, x0 where it begins. False under two. */
bool trend_fit(const struct trend *t, int line, struct stats_trend *out, int *n, double *x0);
/* "12,000 km left (9,800–16,000)" of a plug's gap by wear_of() the record; "" unknown, or w NULL. */
struct wear;
void trend_left_words(const struct trend *t, const struct wear *w, int line, char *to, size_t n_room);

/* 1, 2 or 5 times a power of ten: about n steps over the range. */
double trend_step(double range, int n);
void trend_day_words(double days, char *to, size_t n_room); /* "2026-06" */

#endif
