/* cause_work.h - what the steps of judging causes share. Not for callers of the reading. */
#ifndef READING_CAUSE_WORK_H
#define READING_CAUSE_WORK_H

#include "reading/cause_fact.h"

#define CAUSE_MOST_SAID 0.99 /* a reading is a pointer: without the check nothing is surer */

struct place {
    engine_set set;
    int second; /* SCOPE_FIRING_PAIR: the one that fires second */
};

struct answer { /* a term's degrees at every cylinder, asked once */
    double degree[ENGINE_MAX_CYLINDERS], when_degree[ENGINE_MAX_CYLINDERS];
    double seen_share[ENGINE_MAX_CYLINDERS]; /* of the zones it may be seen at, those looked at */
    engine_set known, between;               /* between: fact_is_between */
};

/* Parts moved together between two cylinders, and the trouble with them. */
struct together {
    uint64_t parts; /* bits of WORDS_DONE_PART; 0: nothing of the kind */
    int from, to;   /* cylinders */
    int back;       /* the part that is to be put back: that of the cause named first */
};

struct judged {
    const struct cause_row *row;
    struct place place;
    double prior_db, log_odds_db, probability; /* the prior with what each further cylinder costs */
    bool asks, leads;                   /* struct cause */
    struct together *together;          /* one of its parts moved along with others; NULL: none did */
    double local_db;                    /* what is seen at the place itself speaks for it by so much */
    double wide_share;                  /* share of what the whole engine says (complaints, fuel) that falls to this place */
    double story_db[CAUSE_MAX_STORIES]; /* what each story adds */
    const struct judged *as;            /* damage that is found makes no cause less likely: it stands as this one stands; NULL: by itself */
    const struct judged *less;          /* it is as likely as the likeliest of these; NULL: it stands by itself, or the end */
    bool unlooked;                      /* judged as if nobody had looked at the parts outside the cylinder */
};

struct causes {
    struct work *w;
    const struct cause_table *t;
    struct facts facts;
    struct answer *answers;
    struct judged *list;
    size_t n_list, list_room;
};

static inline int cause_bits(engine_set s)
{
    return __builtin_popcount(s);
}
static inline double cause_clip(double x)
{
    return x < 0 ? 0 : x > 1 ? 1 : x;
}

static inline bool cause_of_cylinders(const struct cause_row *row) /* its places are single cylinders */
{
    return row->scope == SCOPE_CYLINDER;
}

double cause_odds(double db);   /* 10 dB = 10 to 1 */
double cause_chance(double db); /* the same as a probability */

/* cause_place.c: one term at one place. */
engine_set cause_asked(const struct causes *k, enum cause_over over, const struct place *p); /* cylinders it asks of */
engine_set cause_shown(const struct answer *a, engine_set seen); /* those of them that show it */
/* How far the term is asked at this place, 0..1: by what it waits for. */
double cause_asked_share(const struct cause_term *m, const struct answer *a, const struct place *p);
bool cause_over_inside(enum cause_over over); /* asked of the place itself */
/* A term at a place. */
struct weighed {
    bool known;    /* somebody looked; else db is 0 */
    bool present;  /* what is there weighs, not what is not */
    double degree, db; /* decibans */
};
struct weighed cause_term_weigh(const struct causes *k, int term, const struct place *p);
/* The term tells of damage to parts outside the cylinder, or waits for it. */
bool cause_term_of_damage(const struct causes *k, const struct cause_term *m);
/* The term tells of what a firing end shows only of this: metal of a piston, coolant, a closed gap. */
bool cause_term_of_itself(const struct cause_term *m);
/* Share, over the cylinders asked, of the zones somebody looked at. */
double cause_seen_share(const struct causes *k, int term, const struct place *p);

/* Parts whose swap speaks for the cause when the trouble goes with them, as bits of WORDS_DONE_PART. */
uint64_t cause_own_swaps(const struct cause_table *t, const struct cause_row *row);

/* cause_words.c: the entry as it is shown. */
void cause_write(struct causes *k, const struct judged *j, struct cause *out);

#endif
