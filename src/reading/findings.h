/* findings.h - what the reading engine says of a record: what stands out, which patterns, which
 * causes, which cautions. Pure data, freed at once with findings_release(). */
#ifndef READING_FINDINGS_H
#define READING_FINDINGS_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/units.h"
#include "record/record.h"

enum stand_out_kind {
    STAND_CONDITION, STAND_UNLIKE_NEIGHBOURS, STAND_GAP, STAND_WEAR, STAND_CARRY_OVER, STAND_COMPRESSION, STAND_KIND_COUNT
};
const char *stand_out_kind_id(enum stand_out_kind k); /* "unlike-neighbours" */

enum pattern_shape {
    SHAPE_ONE_CYLINDER, SHAPE_ONE_BANK, SHAPE_ADJACENT_PAIR, SHAPE_COMPANION_PAIR, SHAPE_COIL_GROUP,
    SHAPE_MIXTURE_GROUP, SHAPE_FRONT_REAR, SHAPE_REMOVAL_ORDER, SHAPE_FIRING_NEIGHBOURS, SHAPE_ALL,
    SHAPE_SCATTERED, SHAPE_COUNT
};
const char *pattern_shape_id(enum pattern_shape s);    /* "one-bank" */
const char *pattern_shape_words(enum pattern_shape s); /* "keeps to one bank" */

struct lines { /* list of short texts */
    int n;
    char **text;
};

struct stand_out {
    enum stand_out_kind kind;
    engine_set cylinders; /* 0: the whole engine */
    int position;         /* plug position where it matters, -1 otherwise */
    char where[64];       /* "bank 2", "cylinder 6", "cylinders 2, 4", "engine" */
    char measure[40];     /* "well.oil", "gap", "nose.L", "compression" */
    enum level level;
    struct maybe value, reference;
    char unit[16];
    char headline[120];   /* "Gap at 3 is unlike its neighbours" */
    char text[520];       /* "1.32 mm; the other seven lie at 1.07–1.12 mm." */
    char odds[160];       /* "1 in 7 by luck", "" when no odds belong to it */
    char how[1000];       /* how this was computed, for the person who asks */
    int sign;             /* enum sign or -1 */
    bool unexplained;     /* it calls for action, and no cause of the table explains it */
    int pattern;          /* index into patterns when it rests on one, else -1 */
    struct lines missing;
};

struct pattern {
    char measure[40];
    enum pattern_shape shape;
    char where[64];
    engine_set cylinders; /* 0: the whole engine */
    int position;         /* plug position where only one is meant, -1 otherwise */
    double strength;      /* 0..1, how much of the measure the shape explains */
    double chance;        /* this shape, any place of it */
    double chance_any;    /* strongest of all shapes tested on this measure */
    double error;         /* standard error of chance; 0 when exact */
    double error_any;
    bool exact;
    double arrangements;  /* number of distinct ones, or samples drawn */
    bool adverse;         /* the covered cylinders are the bad ones (more oil, wider gap, lower compression) */
    char how[600];        /* how this was computed, with a second opinion by another test where there is one */
};

struct cause {
    char id[32];          /* "cover-gasket" */
    char label[96];       /* "Valve-cover gasket" */
    bool ordinary;        /* explains, nothing is broken */
    char where[64];
    char at_plug[64];     /* of several plugs in its cylinder the one that shows it, "cylinder 3 bottom"; "" none alone */
    engine_set cylinders;
    double probability;
    struct lines pro, contra, missing; /* for, against; what would change the answer, most first */
    char settles[320];
    bool asks;            /* the first that explains something that calls for action: it is to be settled, however weak */
    bool leads;           /* shown though it is weak: nothing likelier explains something that calls for action, or a code or test names its cylinder */
    uint64_t together;    /* parts that moved at once, one of which it is, as bits of WORDS_DONE_PART: one step settles all of them. 0: none */
    bool settled;         /* a swap of parts has told: settles is what is left to do */
    const char *how;      /* the sum behind the probability, for the person who asks */
};

struct findings {
    int n_stand_outs, n_patterns, n_causes;
    struct stand_out *stand_outs; /* gravest first */
    struct pattern *patterns;     /* by measure, strongest evidence first */
    struct cause *causes;         /* most probable first */
    struct lines advice;          /* cautions that apply */
    bool provisional;             /* sampled where the exact answer is still to come */
    struct lines notes;           /* what cannot be said and why: "With two cylinders …" */
    struct arena *memory;         /* owns all the arrays and texts above */
};
enum level findings_level(const struct findings *f, int cylinder); /* the gravest that stands out on it */
void findings_release(struct findings *f);

#define CAUSE_LEAST_SHOWN 0.08 /* less probable ones are for scripts, not for the window and the report */
#define CAUSE_POSSIBLE 0.2     /* below it is said to be unlikely */
#define CAUSE_LIKELY 0.5       /* from here on a fault is said to be likely */
/* Of a sign by itself: a trace is a step less, much a step more; oil on the plug of a two-stroke, which burns it, a step less too
 * unless it is heavy. */
enum level findings_sign_level(const struct engine *en, enum sign s, int amount);
enum level findings_plug_level(const struct engine *en, const struct reading *r); /* of the gravest sign on it */
int findings_n_shown(const struct findings *f); /* causes to show, from the first */
bool findings_to_settle(const struct cause *c);  /* a step is proposed for it: likely, or it explains what calls for action */
/* Of these, those the window has room for: six, and more where one behind them is likely, to be settled or named for what calls for action. */
int findings_n_on_screen(const struct findings *f);
/* "3 more: Valve-cover gasket, Worn rings, …"; "" when all are on the screen. */
void findings_more_words(const struct findings *f, char *to, size_t n_room);
/* "very likely", "likely", "possible", "unlikely" */
const char *cause_likelihood_words(double probability);

struct cause_table; /* reading/cause_table.h: the weights; NULL = the built-in one */

struct reading_options {
    const struct cause_table *causes;
    char compression_rule[24]; /* id of assets/compression-rules; "" = the default, ratio-75 */
    bool first_answer;         /* sample at most a few thousand arrangements: within 10 ms */
    const atomic_bool *cancel; /* NULL: cannot be cancelled */
    uint64_t seed;             /* for sampling; same seed, same answer */
    struct unit_choice units;  /* sentences tell lengths and pressures in; the figures beside them stay mm and kPa */
};

/* Reads the record's last visit against the earlier ones. Pure, any thread. Fails only ERR_CANCEL. */
struct err;
bool reading_run(const struct record *r, const struct reading_options *options, struct findings *out, struct err *e);
/* How grave the gravest of each cylinder is (findings_level) by what stands out at single plugs: no patterns, wear nor causes, so
 * at once. levels has ENGINE_MAX_CYLINDERS. The record has a visit. */
void reading_levels(const struct record *r, enum level levels[]);

#endif
