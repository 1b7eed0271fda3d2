/* ready.h - may the engine be started, as far as the notes of all its visits tell? The warning belongs to the engine, not to
 * a visit: it is the same whichever visit is looked at, and a new visit takes none of it away. Pure. */
#ifndef RECORD_READY_H
#define RECORD_READY_H

#include <stddef.h>
#include <stdint.h>
#include "record/record.h"

/* Why a plug counts as out. READY_UNSAID: this visit does not say, one before it does. READY_DRAWN: nobody said so, but it
 * was read or drawn and is not torqued. READY_OVER, READY_LOOSE: tightened far over the book, or to less than half of it
 * (refit_judge), and neither taken out nor renewed since; no rule below takes that away, nor that the engine has run. */
/* READY_APART: a merged copy says that it is not torqued, what stands does not: until one is chosen the careful one counts. */
/* READY_SCRAP: it came out as scrap (stop_broken), is torqued all the same, in that hole or another, and nobody renewed it or read it anew, nor was it driven so. */
enum ready_why { READY_IN, READY_OUT, READY_HAND, READY_DRAWN, READY_APART, READY_OVER, READY_LOOSE, READY_SCRAP, READY_UNSAID, READY_WHY_COUNT };

/* How far an odometer goes on before it shows that the engine has run: less may be a digit mistyped, a car towed or pushed, or one
 * driven round the yard with its plugs hand-tight. Common practice, no source. */
#define READY_RUN_M 20000 /* of one that counts hours: */
#define READY_RUN_S 3600

/* A visit as the rules see it. */
struct ready_at {
    const struct visit *visit;
    bool ran_since; /* a later visit shows that the engine has run after it: it idled or drove, or the odometer went on by READY_RUN_M or _S */
};
/* What a visit says of a plug: the first of these that holds decides. What the latest visit leaves unsaid the one before
 * it says, and so on; a plug that no visit speaks of is in. */
struct ready_rule {
    const char *when; /* in words */
    bool (*holds)(const struct ready_at *at, const struct reading *q);
    enum ready_why is;
};
const struct ready_rule *ready_rules(int *n);
/* Whether the visit shows that this plug was out of its hole: what stands in its well, on its boot, coil, lead
 * or connector is seen with the plug in place and does not; an order alone is a plan, and counts as far as the last plug in it that was
 * read, photographed or noted as out. Compression that is noted was taken with the plugs out; leakage says so of a cylinder with one plug.
 * q: one of v's readings. */
bool ready_was_drawn(const struct visit *v, const struct reading *q);

/* Liquids that may have run onto the piston, each as it was seen: in the well, on the plug; or as its cause that was accepted tells. */
#define READY_LIQUIDS 7
struct ready_liquid {
    engine_set of[READY_LIQUIDS];
};
struct ready_liquid_row {
    int sign;          /* -1: as its cause that was accepted tells */
    const char *at_one, *at_several, *seen; /* the cylinders stand between */
    const char *cause; /* assets/causes.csv; "" none */
};
const struct ready_liquid_row *ready_liquid_row(int k); /* k: 0 .. READY_LIQUIDS-1 */
/* What a visit notes of them, over plugs that were drawn; on a two-stroke, which burns oil with its fuel, an oily plug only where it is heavy. */
void ready_liquid_of(const struct visit *v, const struct engine *en, struct ready_liquid *to);
engine_set ready_liquid_set(const struct ready_liquid *l);
/* "oil stood in the wells of 2, 4; the plug of 3 came out wet with fuel"; "" none. */
void ready_liquid_words(const struct engine *en, const struct ready_liquid *l, char *to, size_t n_room);

/* Whether a visit asks for turning the engine by hand: the first that holds decides; that it ran, or was turned at a later
 * visit, answers before. */
enum ready_turn { READY_TURN_NONE, READY_TURN_ALL, READY_TURN_SINCE }; /* SINCE: where liquid was noted after it was turned */
struct ready_turn_rule {
    const char *when;
    bool (*holds)(const struct visit *v, int n_plugs);
    enum ready_turn asks;
};
const struct ready_turn_rule *ready_turn_rules(int *n); /* the last always holds */

struct ready {
    int n_loose;                 /* plugs that are out or not torqued, or have to come out */
    int first_cylinder, first_position; /* of those: -1 none */
    enum ready_why why[ENGINE_MAX_PLUGS]; /* as in visit.readings */
    const char *scrap[ENGINE_MAX_PLUGS];  /* of READY_SCRAP and kept: "insulator chipped" */
    bool kept[ENGINE_MAX_PLUGS]; /* scrap that is in, and somebody said that it stays: in the way of nothing, and told until it is renewed or read anew */
    int16_t scrap_from[ENGINE_MAX_PLUGS]; /* of READY_SCRAP and kept: the plug hole it was read in, another one where it was moved since */
    engine_set bare_connectors, bare_leads; /* insulation bare, and neither replaced nor found whole since */
    engine_set unplugged;        /* lead or connector still off */
    engine_set bare_connectors_apart, bare_leads_apart, unplugged_apart; /* of these: one of the merged copies says so, what stands does not */
    struct ready_liquid liquid;  /* of the record's last visit: oil, fuel, water or coolant may lie on the piston */
    struct ready_liquid turn_first; /* of all visits: for that the engine is still to be turned by hand */
    engine_set turn_again;       /* of these it was noted after the engine was turned */
    bool turn_apart;             /* whether it was turned by hand merged copies differ in */
    int16_t turn_apart_at;
    bool turn_left;              /* asked for by an open step, though no liquid is noted where */
    engine_set stops[VISIT_STOPS]; /* to be looked into before it runs again (record/stops.h), and nobody said it was */
    engine_set stops_run[VISIT_STOPS]; /* the same, run all the same and nothing of it there when it was looked at again: in the way of nothing, and still to be looked into */
    /* the visit (its index) that each of these stems from */
    int16_t plug_at[ENGINE_MAX_PLUGS], connector_at[ENGINE_MAX_CYLINDERS], lead_at[ENGINE_MAX_CYLINDERS], unplugged_at[ENGINE_MAX_CYLINDERS], turn_at[READY_LIQUIDS][ENGINE_MAX_CYLINDERS], turn_left_at, stop_at[VISIT_STOPS][ENGINE_MAX_CYLINDERS];
};
/* Of the engine, by all visits of the record, those behind its last one (n_later) too. Walks them all: to be kept. */
void ready_of(const struct record *r, struct ready *out);
/* The oldest visit on which plugs, leads and liquid can rest: after those before it the engine has run, and no plug was
 * tightened far over the book. Bare insulation may be older. */
int ready_oldest(const struct record *r);
/* The warm idle is ticked at that visit, and as far as it knows no hole stands open: a tick alone is no word on the plugs. */
bool ready_ran_by_tick(const struct record *r, const struct ready *x, int visit);
bool ready_to_start(const struct ready *x);
bool ready_asks_to_turn(const struct ready *x);
engine_set ready_stops_set(const struct ready *x); /* cylinders that are to be looked into first */
/* Whether turning by hand can be true as things stand now: with a plug in over the liquid it is to be asked whether the plugs
 * were out when it was turned. */
bool ready_can_turn(const struct record *r, const struct ready *x);
/* Plugs that were drawn by the record's last visit and of which nothing is said since: before the engine is said to have run
 * somebody has to say that they were in. Gives how many. */
int ready_blank(const struct record *r, const struct ready *x, bool marked[ENGINE_MAX_PLUGS]);
#define READY_WORDS_BYTES 1000
/* "plugs 1, 3 are out; connector 6 is bare; oil stood in …, so turn it by hand …"; what stems from another visit than
 * the record's last one begins with "since 14 Jun 2026: ". "" when nothing stands in the way. */
void ready_words(const struct record *r, const struct ready *x, char *to, size_t n_room);
/* The caution for plugs that are kept: "plug 2 is scrap (insulator cracked) and stays in on your own word: …". False, and "", when there is none. */
bool ready_kept_words(const struct engine *en, const struct ready *x, char *to, size_t n_room);
bool ready_comes_out(enum ready_why why); /* it is in, and has to come out again: READY_OVER, READY_SCRAP */
/* "plug 3", "plugs 3, 5": those of READY_OVER. False, and "", when there is none. */
bool ready_over_words(const struct engine *en, const struct ready *x, char *to, size_t n_room);
bool ready_scrap_words(const struct engine *en, const struct ready *x, char *to, size_t n_room); /* the same of READY_SCRAP */
/* Where there is little room: "8 plugs not torqued, 1 connector bare, not turned by hand". */
void ready_brief(const struct ready *x, char *to, size_t n_room);

#endif
