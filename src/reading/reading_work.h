/* reading_work.h - what the steps of one reading share. Not for callers. */
#ifndef READING_READING_WORK_H
#define READING_READING_WORK_H

#include "base/mem.h"
#include "base/text.h"
#include "reading/findings.h"
#include "reading/measure.h"
#include "reading/wear.h"

struct work {
    const struct record *r;
    const struct engine *en;
    const struct visit *v;
    const struct reading_options *options;
    struct findings *f;
    struct arena *a;
    struct measure measures[MEASURE_MAX];
    int n_measures;
    struct wear *wear;
    int stand_room, pattern_room;
};

struct stand_out *work_add_stand_out(struct work *w);
struct pattern *work_add_pattern(struct work *w);
void work_add_line(struct work *w, struct lines *lines, const char *fmt, ...) __attribute__((format(printf, 3, 4)));
const char *work_from_above(const struct work *w, engine_set wells); /* where oil in these wells may come from; "" where there are none */
void work_where(const struct work *w, engine_set set, int position, char *to, size_t n_room);
/* These plugs (one flag for each plug index), in words: "cylinders 2 and 4", where a cylinder has several
 * "plug 3 bottom", "bottom plugs of cylinders 1 and 3", "plugs 1 top and 2 bottom". */
void work_plugs_words(const struct work *w, const bool *plugs, char *to, size_t n_room);
/* A difference of these cylinders that was there at the last visit too may be the engine's manner: nothing is complained of, and
 * nothing was repaired at some of them in between, which plainly did not cure it. */
bool work_may_be_manner(const struct work *w, engine_set differ);
/* Of these cylinders, those at which something was repaired after the last visit; what was done at all cylinders alike
 * was done for none of them. */
engine_set work_repaired(const struct work *w, engine_set set);
/* Cylinder of a plug index, and its position. */
int work_cylinder(const struct work *w, int plug);
int work_position(const struct work *w, int plug);
/* The bottom cylinders of a radial, those within 65 degrees of straight down; 0 for any other engine. */
engine_set work_bottom(const struct engine *en);
/* "1 in 7", "3 in 7", "1 in 1,200" for a chance. */
void work_odds(double chance, char *to, size_t n_room);

/* "1.45 mm" or "0.057 in", "1,120 kPa" or "162 psi", as the person set; without the unit for a list before it. */
void work_gap(const struct work *w, double mm, char *to, size_t n_room);
void work_pressure(const struct work *w, double kpa, bool with_unit, char *to, size_t n_room);

/* The level of an amount of a sign: its row's for a moderate one, a step less for a trace. */
/* Adds to what is missing the plugs on which nobody took this measure. */
void work_missing_others(struct work *w, const struct measure *m, struct stand_out *s);

/* A state of a plug that is no amount, and how grave it is by itself (row of assets/deposits.csv). */
struct work_state {
    const char *measure;
    enum words list;
    const char *id;
    enum level level;
    const char *fact, *what, *means;
};
extern const struct work_state work_states[];
extern const int work_n_states;

/* The steps. */
void work_wear_measure(struct work *w); /* before anything is compared */
void work_wear(struct work *w);
void work_carry_over(struct work *w);
void work_conditions(struct work *w);
void work_gaps(struct work *w);
void work_unlike(struct work *w);
void work_compression(struct work *w);
bool work_patterns(struct work *w, struct err *e);
/* Writes p->how: figures, odds, and a second opinion by another published test of the same place. */
struct shapes;
void pattern_how(const struct work *w, struct pattern *p, const struct shapes *s, int place, int direction, const double *value);
void work_pattern_stand_outs(struct work *w);
void work_causes(struct work *w);

#endif
