/* cause_table.h - the weights behind the likely causes, as data: assets/causes.csv, or a file of the
 * user's own in the same form (docs/how-it-computes.md says how to read and change it).
 *
 * Two kinds of rows. A `cause` row: id, its words (column fact), the scope from which its places are
 * counted (of), fault or ordinary (when), prior for one place (yes) and what each further cylinder at
 * once costs (no), both in decibans, the check that settles it (story), source. Behind it its `term`
 * rows: a fact, over which plugs it is asked (of), the fact without which it is not asked (when), the
 * decibans when it holds (yes) and when somebody looked and it does not (no), the story it tells,
 * words for yes and no ("…|…", may be empty), source or "judgement". */
#ifndef READING_CAUSE_TABLE_H
#define READING_CAUSE_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;

enum cause_scope {
    SCOPE_CYLINDER, SCOPE_BANK, SCOPE_PAIR, SCOPE_COIL_GROUP, SCOPE_MIXTURE_GROUP, SCOPE_FIRING_PAIR, SCOPE_ENGINE,
    SCOPE_COUNT
};
enum cause_over { /* over which plugs a fact is asked */
    OVER_HERE,      /* the place: mean of its cylinders */
    OVER_EACH,      /* the place: the least of its cylinders */
    OVER_ANY,       /* the place: the most of its cylinders */
    OVER_MOST,      /* the place: two thirds of them are enough */
    OVER_SECOND,    /* the one of a firing pair that fires second */
    OVER_OTHERS,    /* all outside the place */
    OVER_MATES,     /* the others of the same bank */
    OVER_BANKS,     /* the other banks */
    OVER_EVERY,     /* the whole engine: nearly all of them are needed */
    OVER_SEVERAL,   /* the whole engine: three are enough, one is none */
    OVER_ALL_BANKS, /* on every bank of an engine with several */
    OVER_NEAR,      /* those next to the breather more than the rest */
    OVER_COUNT
};

/* What a fact asks of one cylinder or of the visit. */
enum fact_kind {
    FACT_SIGN,      /* mask over enum sign */
    FACT_WORD,      /* list, mask over its values */
    FACT_NUMBER,    /* which: enum fact_number */
    FACT_COMPLAINT, /* mask over values */
    FACT_CODE,      /* which: enum code_kind */
    FACT_TEST,      /* which: a test (WORDS_TEST value), mask over its results */
    FACT_ENGINE,    /* which: enum fact_engine */
    FACT_BEFORE,    /* an earlier visit showed the sign: mask over enum sign */
    FACT_DONE,      /* after the last visit: mask over verbs in list, parts in mask */
    FACT_SWAP,      /* part swapped, which: done part: yes the trouble followed it, no it stayed */
    FACT_SHAPE,     /* which: enum fact_shape */
    FACT_VISIT,     /* which: enum fact_visit */
    FACT_APART      /* which: enum fact_apart, mask over enum sign */
};
enum fact_number {
    NUMBER_COMPRESSION_LOW, NUMBER_WET_RISE, NUMBER_LEAK_HIGH, NUMBER_GAP_WIDE, NUMBER_GAP_OVER, NUMBER_GAP_SMALL, NUMBER_NOSE_DARK,
    NUMBER_NOSE_LIGHT, NUMBER_DISTANCE_LONG, NUMBER_COUNT
};
enum fact_engine {
    IS_COIL_PER_PLUG, IS_SHARED_COIL, IS_LEADS, IS_OPEN, IS_HOT_PLUG, IS_COLD_PLUG, IS_BOOK_PLUG, IS_CARBURETTOR, IS_SINGLE,
    IS_TWO_STROKE, IS_TIMED, IS_CARBURETTOR_WORK, IS_AIR_COOLED, IS_WITHOUT_INJECTORS, IS_INJECTED, IS_ONE_PLUG, IS_COUNT
};
enum fact_shape { SHAPED_ALTERNATE, SHAPED_GRADED, SHAPED_AS_BEFORE, SHAPED_CARRIED, SHAPED_RAN_DOWN, SHAPED_BOTTOM, SHAPED_DEAD_ELSEWHERE, SHAPED_CODE_ELSEWHERE, SHAPED_IN_VAIN, SHAPED_DRAINED, SHAPED_COUNT };
enum fact_visit { VISIT_LAST_RUN, VISIT_FUEL, VISIT_OIL_IN_INTAKE, VISIT_OUTSIDE, VISIT_SOCKET, VISIT_FACT_COUNT };

enum fact_apart { APART_PLUG, APART_ROW }; /* one plug of the cylinder unlike its others; one of nearly every cylinder */

struct fact_atom {
    enum fact_kind kind;
    int which, list;
    uint64_t mask;
};
#define FACT_MAX_ATOMS 6
struct fact { /* any of its atoms */
    int n;
    struct fact_atom atoms[FACT_MAX_ATOMS];
};

struct cause_term {
    struct fact fact, when; /* when.n 0: always */
    enum cause_over over;
    double yes_db, no_db;
    int story;              /* index into the table's stories */
    char words_yes[160], words_no[160]; /* "" = made from the fact */
    char source[200];
    size_t line;
};
struct cause_row {
    char id[32], label[96], settles[320], source[400];
    bool ordinary;
    enum cause_scope scope;
    double prior_db, more_db;
    int first_term, n_terms;
    size_t line;
};
#define CAUSE_MAX_STORIES 160
struct cause_table {
    int n_causes, n_terms, n_stories;
    struct cause_row *causes;
    struct cause_term *terms;
    char stories[CAUSE_MAX_STORIES][24];
};

/* Parses a table. Fails ERR_FORMAT naming the line and what is wrong with it; *out is then empty. */
bool cause_table_parse(const char *data, size_t n_bytes, struct cause_table **out, struct err *e);
void cause_table_destroy(struct cause_table *t); /* NULL is fine */
/* assets/causes.csv, parsed once; never destroyed; any thread. */
const struct cause_table *cause_table_builtin(void);
int cause_table_find(const struct cause_table *t, const char *id); /* index, -1 unknown */

#endif
