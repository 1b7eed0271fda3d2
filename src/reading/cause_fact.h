/* cause_fact.h - asks the facts of the cause table of one visit: known or not looked at, and to which
 * degree (0..1) each holds at a cylinder. Not for callers of the reading. */
#ifndef READING_CAUSE_FACT_H
#define READING_CAUSE_FACT_H

#include "reading/cause_table.h"
#include "reading/codes.h"
#include "reading/reading_work.h"

#define FACT_POOR_KPA 550 /* poor by itself, whatever the others read: common practice, no source */

struct facts {
    const struct work *w;
    const struct visit *before;            /* the visit before this one, NULL when there is none */
    engine_set all;
    int8_t amount[ENGINE_MAX_CYLINDERS][SIGN_COUNT]; /* most over its plugs, without carried-over oil; AMOUNT_UNSEEN */
    struct code codes[VISIT_MAX_CODES];
    double compression_kpa[ENGINE_MAX_CYLINDERS], wet_kpa[ENGINE_MAX_CYLINDERS], leak_percent[ENGINE_MAX_CYLINDERS],
        differential[ENGINE_MAX_CYLINDERS], gap_mm[ENGINE_MAX_CYLINDERS], nose_L[ENGINE_MAX_CYLINDERS]; /* NaN: not taken */
    double highest_kpa;
    engine_set fails;                      /* compression does not pass the rule that was chosen, or is poor by itself */
    engine_set not_normal;                 /* those, and what passes it but is under the least figure any published rule asks for */
    engine_set missing;                    /* cylinders a code names as missing */
    uint64_t damage;                       /* signs that settle a cause by themselves: a trace of such is no sound engine's */
    uint64_t part_damage;                  /* faults of the parts outside the cylinder, without the oil that ran onto them */
    engine_set carried, ran_down;          /* cylinders whose oil outside is explained */
    engine_set in_vain;                    /* cylinders that differ as they did at the last visit, though something was repaired there */
    struct known {
        bool known;
        double degree;
    } alternate, graded, as_before;
};

extern const double fact_amount_degree[4];

/* Plugs of one cylinder against each other (cause_apart.c). Signs of a mask; not known where fewer than two of its plugs were looked
 * at, where none of these shows it, nor of oil at the bottom plug of a lying cylinder alone, to which it runs. */
struct known apart_at(const struct work *w, uint64_t mask, int cylinder); /* how clearly one plug shows what another does not; 0: all alike */
unsigned apart_without(const struct work *w, uint64_t mask, int cylinder); /* those that do not, as bits of positions; 0 where none shows it */
struct plug_row { /* one plug of each cylinder */
    int position;              /* -1: not the same on every bank */
    int n_alone, n_looked_at;  /* cylinders that show it at this plug alone, of those of which two plugs were looked at */
};
struct known apart_row(const struct work *w, uint64_t mask, struct plug_row *row); /* at nearly all cylinders one plug alone */
/* Nearly all bottom plugs of lying cylinders oily, their tops not, and it did not run under load. */
struct known apart_drained(const struct work *w);

void facts_collect(struct facts *f, const struct work *w);
/* Any of the fact's atoms at this cylinder: the most of those known. */
struct known fact_at(const struct facts *f, const struct fact *x, int cylinder);

/* A figure that is neither what the fact asks for nor what is normal: it is not held against it. */
bool fact_is_between(const struct facts *f, const struct fact *x, int cylinder);

/* Share of the zones at which the fact may be seen that were looked at on the cylinder, 0..1; 1 for facts
 * of no zone. Zones the engine does not have are not counted. */
double fact_seen_share(const struct facts *f, const struct fact *x, int cylinder);
/* Some sign of the mask that belongs to the zone was looked at on the cylinder. */
bool fact_zone_seen(const struct facts *f, uint64_t mask, int zone, int cylinder);

struct known fact_atom_at(const struct facts *f, const struct fact_atom *a, int cylinder);
/* Median of a figure over the other cylinders; NaN when fewer than two were read. */
double fact_of_others(const struct facts *f, const double *x, int cylinder);
int fact_word(const struct reading *r, const struct fact_atom *a); /* value of the word list it asks for, 0 not said */

/* How much trouble a cylinder gave at a visit: codes, cut-out test, what its firing end showed. */
double cause_trouble(const struct engine *en, const struct visit *v, int c);
/* A code or a test of this visit names the cylinder as one that misses. */
bool fact_is_named(const struct facts *f, int cylinder);
/* What a swap of two cylinders' parts, done after visit `was`, shows at visit `now`. from: where the trouble was, to: where
 * the part from there is now. */
struct swap_told {
    int from, to;
    bool followed, stayed;                 /* neither: it cannot be told, for one of */
    bool unread;                           /* nothing shows yet how one of them does now */
    bool alike_before, none_now, both_now; /* both_now: codes or tests name both, or they give the same trouble */
};
/* The parts that changed places between the cylinders of swap d, noted at visit v as it is, with it: what went along with several
 * at once tells of none alone. Bits of WORDS_DONE_PART; without d's own where it was put back again. */
uint64_t cause_swap_moved(const struct visit *v, const struct visit_done *d);
/* "plug and coil", with last = "or" "plug or coil". */
void cause_swap_parts(uint64_t parts, const char *last, char *to, size_t n_room);
struct swap_told cause_swap_told(const struct engine *en, const struct visit *was, const struct visit *now, const struct visit_done *d);
/* How sooty (or pale, below 0) the firing end is, in steps of an amount; false when it was not looked at. */
bool fact_darkness(const struct reading *const plugs[], int n_plugs, double *steps);

/* In words (cause_fact_words.c).
 * "oil in the well" for the strongest sign of the fact shown on the set; what is asked when nothing shows. */
void fact_name(const struct facts *f, const struct fact *x, engine_set shown, char *to, size_t n_room);
/* That it does not hold at this cylinder: "no oil in the well", "compression is normal"; only the zones
 * and figures that were looked at there are named. */
void fact_absent(const struct facts *f, const struct fact *x, int cylinder, char *to, size_t n_room);
/* The plugs of the cylinder that show it, as bits of positions; 0 where it is of no single plug. */
unsigned fact_positions(const struct facts *f, const struct fact *x, int cylinder);
/* The figure behind a number at one cylinder, "640 kPa, highest 1,150"; "" when there is none. */
void fact_figure(const struct facts *f, const struct fact *x, int cylinder, char *to, size_t n_room);
/* Whether there is something left to look at: not in a zone of which something was said, nor whether it dries where
 * nothing was wet. */
bool fact_is_open(const struct facts *f, const struct fact *x, int cylinder);
/* What one would look at or do to know it: "the well", "compression with oil"; of several zones those
 * not looked at on all of the set. */
void fact_asks(const struct facts *f, const struct fact *x, engine_set set, char *to, size_t n_room);
/* The fact belongs to the whole visit or engine, not to a cylinder. */
bool fact_is_global(const struct fact *x);

#endif
