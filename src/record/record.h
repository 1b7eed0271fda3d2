/* record.h - a visit and what was read, in memory: the common coin of the logbook, the case format,
 * the reading engine and the window. Plain structs, no invariants beyond those of the case format
 * (checked where data enter). "Not looked at" is always told apart from "looked at, nothing". */
#ifndef RECORD_RECORD_H
#define RECORD_RECORD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "engine/engine.h"
#include "record/vocab.h"

/* Amounts: 0 none (looked at), 1 trace, 2 moderate, 3 heavy; AMOUNT_UNSEEN when nobody looked. */
#define AMOUNT_UNSEEN (-1)

/* A number that may be absent. */
struct maybe {
    bool given;
    double value;
};
#define MAYBE(x) ((struct maybe){true, (x)})

/* What shows, beside the reading itself, that a plug was out of its hole at the visit. */
enum { DRAWN_PHOTO = 1, DRAWN_MOVED = 2 }; /* a photo of its firing end, threads or body; it changed holes or is new */

/* Plugs change holes after a visit's readings, and are renewed. */
#define PLUG_OTHER (-1)
#define PLUG_FROM(hole) ((int16_t)((hole) + 1)) /* hole: record_plug_index() */

/* What a merged copy says otherwise than what stands, and somebody is still to choose of: only where it may be in the way of
 * starting the engine. */
struct reading_apart {
    bool in;                       /* that it is not torqued, or says nothing of it */
    bool on;                       /* that its lead or connector is off */
    bool bare_lead, bare_connector; /* that it is bare */
    bool turned;                   /* that liquid there was not turned out */
    bool kept;                     /* that it is not to stay in */
    struct maybe torque_nm;        /* tightened to that */
};

/* One plug as read: one row per plug position of each cylinder. */
struct reading {
    bool present;        /* the reading exists at all */
    char id[40];         /* logbook row id, "" in a bare case */
    int cylinder;        /* index */
    int position;        /* index, 0 for the only plug */
    bool zone_seen[ZONE_COUNT];    /* all of it looked at: amounts of that zone that are not noted count as 0 */
    int8_t amount[SIGN_COUNT];     /* AMOUNT_UNSEEN or 0..3; where zone_seen, never AMOUNT_UNSEEN */
    int threads_turns;             /* WORDS_TURNS value, 0 not said: for oil on threads */
    int dries;                     /* 0 not said, 1 yes, 2 no */
    int heavier_side, electrode, wear_on, insulator, tightness, refit; /* WORDS_ values */
    int washer, thread_state;      /* as it was refitted: WORDS_ values, 0 not said */
    struct maybe torque_nm;        /* as it was tightened */
    char torque_unit[12];          /* as typed: unit_find() */
    bool turned_out;               /* liquid that stood here was turned out by hand before cranking */
    bool kept;                     /* this plug is scrap and stays in, on somebody's own word */
    bool unplugged, plugged;       /* its lead or connector is still off; is on again */
    struct reading_apart apart;
    uint8_t drawn_by;              /* DRAWN_ bits; not of visits after which the engine has run (ready_oldest) */
    bool unrun;                    /* the logbook knows that this plug came new, and that the engine has not run since */
    int16_t plug_now;              /* which plug is in this hole after the readings: 0 the one read here, PLUG_OTHER one this visit read nowhere, else PLUG_FROM() */
    struct maybe gap_mm, gap_left_mm; /* as found: the figure that counts (reading_choose_gap); as left */
    struct maybe gap_photo_mm;     /* as found, measured in a photo */
    double gap_photo_pm_mm;        /* about 95 in 100 lie so near */
    bool gap_trust_photo;          /* somebody said that the photo's counts before the feeler gauge's */
    bool gap_from_photo;           /* gap_mm is the photo's: */
    struct maybe gap_gauge_mm;     /* then this is the feeler gauge's; else gap_mm is it (reading_gauge_gap) */
    char plug_id[40], plug_name[48]; /* part identity: logbook id (or case plug_id) and the name shown */
    struct maybe plug_distance_m;
    int mark_clock;                /* 1..12, 0 not said */
    int as_book;                   /* 0 not said, 1 yes, 2 no */
    struct maybe nose_L, nose_a, nose_b; /* CIELAB, D65; all three or none */
    struct maybe compression_kpa, compression_wet_kpa, leak_percent, differential_over_80; /* of the cylinder; on position 0 */
    uint32_t leak_heard;           /* bit i = word i of WORDS_LEAK_HEARD; 0 and !leak_heard_given: not said */
    bool leak_heard_given;
};

/* What was done to the engine beside its plugs, in words but for the amount. */
struct visit_care {
    char last_day[11];         /* "2026-06-16" when it took several days, "" */
    char weather[80], oil_level[80], oil_use[80], oil_grade[48], oil_filter[80];
    struct maybe oil_change_l; /* filled in at the change */
    char oil_change_unit[12];  /* as typed: unit_find() */
};

#define VISIT_MAX_COMPLAINTS 32
#define VISIT_MAX_CODES 24
#define VISIT_MAX_TESTS 72 /* each test at each of 24 cylinders */
#define VISIT_MAX_DONE 48

struct visit_test {
    int test;     /* WORDS_TEST */
    int cylinder; /* index */
    int result;   /* WORDS_TEST_RESULT */
};
/* "replaced:valve-cover-seal:bank 2" */
struct visit_done {
    int verb, part; /* WORDS_DONE_VERB, WORDS_DONE_PART */
    bool all;
    int bank;            /* -1 when not a bank */
    engine_set cylinders; /* the cylinders meant, also for all and bank */
    int from, to;        /* two parts swapped: first and second cylinder; -1 otherwise */
};
struct visit_outside {
    int bank;
    int amount;
};

/* How far the work of a visit has come, as a logbook knows it; all 0 in a bare case. Of a visit after which the engine has
 * run (ready_oldest) only `closed` and the stops are read, but for the record's last. */
enum { CLOSED_BY_HAND = 1, CLOSED_AS_HISTORY = 2 }; /* taken over from a table or from old photos */
enum { TURN_DONE = 1, TURN_OPEN = 2 };
#define VISIT_STOPS 9 /* rows of record/stops.h */
struct visit_state {
    int closed;                /* CLOSED_ value, 0 still open */
    bool dried;                /* the step that dries the wells is ticked */
    bool ran;                  /* the warm idle that ends a job is ticked */
    int turned;                /* by hand, before cranking: TURN_ value, 0 nothing said */
    bool turned_apart;         /* TURN_OPEN because one of the merged copies says so, and another that it was done */
    engine_set stops_told[VISIT_STOPS]; /* looked into, or its cause set aside or repaired, at this visit */
    engine_set stops_taken[VISIT_STOPS]; /* its cause accepted at this visit, or by one of the merged copies */
};

struct visit {
    char id[40];
    char date[11];             /* "2026-06-14", "" not said */
    struct maybe odometer_m;   /* metres; hours: seconds */
    int odometer_unit;         /* WORDS_ODOMETER_UNIT */
    int n_removal;             /* plugs drawn in this order, as cylinder * ENGINE_MAX_POSITIONS + position */
    int16_t removal[ENGINE_MAX_PLUGS];
    int socket, last_run, fuel; /* WORDS_ values */
    bool complaints_given;
    int n_complaints;
    int complaints[VISIT_MAX_COMPLAINTS]; /* WORDS_COMPLAINT values */
    char complaint_words[400]; /* the same or more, as the person puts it */
    int n_codes;
    char codes[VISIT_MAX_CODES][8];
    int n_tests;
    struct visit_test tests[VISIT_MAX_TESTS];
    int oil_in_intake;         /* 0 not said, 1 yes, 2 no */
    bool outside_seen;         /* somebody looked along the covers' outer edges */
    int n_outside;
    struct visit_outside outside[ENGINE_MAX_BANKS];
    int n_done;
    struct visit_done done[VISIT_MAX_DONE]; /* done after this visit's reading */
    struct visit_care care;
    struct visit_state state;
    char notes[4096];
    struct reading readings[ENGINE_MAX_PLUGS]; /* at cylinder * n_positions + position; see visit_reading() */
};

/* One engine with its visits, oldest first; the last is the one being read. Those after it stand behind it: they tell how
 * the engine stands now, and nothing else reads them. Behind them are those whose date is still to come: they can only add to what stands
 * in the way of starting it, and take nothing away. */
struct record {
    struct engine engine;
    int n_visits, n_later, n_ahead, n_room;
    struct visit *visits; /* made by record_add_visit() alone, which knows its room, and perhaps shared; record_release() lets go of it */
};
#define RECORD_MAX_VISITS 4096

void reading_init(struct reading *r, int cylinder, int position); /* nothing looked at */
void visit_init(struct visit *v, const struct engine *en);        /* all readings absent */
void record_init(struct record *r);
void record_release(struct record *r);
void record_reserve(struct record *r, int n_visits); /* room for so many in all, so that they need not move */
/* The same visits twice, for another thread too: from then on nobody writes to them, only record_add_visit() and
 * record_renew_last() do, which give the record visits of its own first. Both are released; either may be first. */
void record_share(struct record *to, const struct record *from);
/* The same visits as far as the first n are read, without owning them: not to be released, nor added to. */
struct record record_until(const struct record *r, int n_visits);
/* Another state of the record's last visit takes its place; visits may move in memory. */
void record_renew_last(struct record *r, const struct visit *v);
struct visit *record_add_visit(struct record *r); /* appended, with none behind it, initialised; the engine must be finished. Visits may move in memory. */
const struct visit *record_current(const struct record *r); /* the last one; n_visits > 0 */

static inline int record_plug_index(const struct engine *en, int cylinder, int position)
{
    return cylinder * en->n_positions + position;
}
static inline int record_plug_count(const struct engine *en)
{
    return en->n_cylinders * en->n_positions;
}
struct reading *visit_reading(struct visit *v, const struct engine *en, int cylinder, int position);
const struct reading *visit_reading_const(const struct visit *v, const struct engine *en, int cylinder, int position);

/* Marks a zone as looked at: its signs that are not noted count as 0. */
bool reading_says(const struct reading *r); /* anything of its plug: a row whose notes were all taken back says nothing */
/* The plug itself was read: something on it was looked at or measured. Its well, boot, coil and lead, what the cylinder
 * gave at a test, and how it was refitted say nothing of it; a photo alone is still to be read. */
bool reading_tells_plug(const struct reading *r);
int visit_plugs_read(const struct visit *v, int n_plugs);
int visit_wells_read(const struct visit *v, int n_plugs);
void reading_see_zone(struct reading *r, enum zone z);
/* What a person says of one sign: of the others of its zone nothing is known yet, but for the firing end, which is one
 * look at one face, named by what is on it. Amount 0..3. */
void reading_say(struct reading *r, enum sign s, int amount);
bool reading_zone_looked(const struct reading *r, enum zone z); /* all of it, or something in it was said */
/* Said, or known by the logbook, to have run nothing since it was fitted: it was read as it went in. */
bool reading_has_not_run(const struct reading *r);
/* What it shows of a sign that speaks for the engine: AMOUNT_UNSEEN of what a new plug shows by itself, a pale and clean nose,
 * clean threads. What else was noted on it got there somehow. */
int reading_shows(const struct reading *r, enum sign s);
/* The reading with no more than that: its nose has no colour of the engine's either. */
void reading_keep_evidence(struct reading *r);
/* Marks the sign's zone as looked at and notes the sign. Amount 0..3. */
void reading_note(struct reading *r, enum sign s, int amount);
/* The firing end's heaviest deposit, -1 when not looked at or nothing noted; ties: the graver level. */
int reading_main_deposit(const struct reading *r);
bool reading_is_greased(const struct reading *r); /* its thread, as it went in */
/* Normal wear and a fault are noted on one firing end, which a merge has somebody choose of: "normal wear together with dry carbon, glazed:
 * which?". False, and "": they are not. */
bool reading_contradicts(const struct reading *r, char *to, size_t n_room);
/* The gravest of the signs that are noted, wherever they are; ties: the heavier. -1 none; *n_noted: how many there
 * are, but for those that are as they should be. */
int reading_gravest_sign(const struct reading *r, int *n_noted);

/* A gap against the range on the engine's card. A gauge is read to about 0.03 mm and figures are rounded:
 * a hundredth over the range is only noted, and five below it are let through. */
enum gap_verdict { GAP_IN_RANGE, GAP_HAIR_OVER, GAP_OVER, GAP_PAST_LIMIT, GAP_UNDER };
enum gap_verdict gap_against(const struct engine_plug_spec *spec, double mm);

/* With gap_mm as the feeler gauge's and the photo's filled in: which of them counts. The gauge's where there is
 * one, unless gap_trust_photo. */
void reading_choose_gap(struct reading *r);
struct maybe reading_gauge_gap(const struct reading *r); /* by the feeler gauge, whichever counts */
/* Where the gap as found comes from, "" none is known: "feeler gauge", "photo ± 0.04", "feeler 0.90, photo 0.93 ± 0.04:
 * agree", "…: apart; photo counts". They agree when they differ by no more than the two can be off together,
 * the gauge by 0.03 mm. */
#define GAUGE_PM_MM 0.03 /* what assets/thresholds.csv takes for it */
void reading_format_gap_source(const struct reading *r, bool inches, char *to, size_t n_room);
bool reading_gaps_agree(const struct reading *r); /* true also where there are not two */

/* A gap in whole um as fine as it is shown: to hundredths of a mm, or thousandths of an inch when those are set. What is
 * taken over from a photo is kept so, and shown again it is the same. */
int32_t record_gap_as_shown_um(double mm, bool inches);
/* A gap as typed (unit_parse_gap), in whole micrometres. Fails ERR_BADARG, with the sentence to show, when it is
 * none, or when no plug has such a gap and it may be the other unit that is meant: 0.2 to 2.5 mm is taken for
 * granted (common practice, no source), 0 is a closed gap, and what names its unit is taken as it stands. */
bool record_read_gap(const char *typed, bool inches, int32_t *um, struct err *e);
/* The same for an engine whose range is known: a figure without a unit that lies far off it, and in it by the other
 * unit ("40" where gaps are 1.00 to 1.30 mm: thousandths of an inch), is asked about. */
bool record_read_gap_of(const struct engine *en, const char *typed, bool inches, int32_t *um, struct err *e);

/* The i-th plug drawn, and where a plug stands in that order (-1: not in it). */
struct plug_place {
    int cylinder, position;
};
struct plug_place visit_drawn(const struct visit *v, int i);
int visit_find_drawn(const struct visit *v, int cylinder, int position);
/* Takes a word (WORDS_COMPLAINT value) in, or away again; "no complaint" stands alone. */
void visit_toggle_complaint(struct visit *v, int word);
/* Whether something is complained of, by a word of the list or in own words; "no complaint" is none. */
bool visit_complains(const struct visit *v);
bool visit_complaint_asked(const struct visit *v); /* also where the answer was that there is none */
/* "misses at hot idle, uses oil: “gone above 1500”"; "" nothing said. */
void visit_format_complaint(const struct visit *v, char *to, size_t n_room);
void visit_format_oil_change(const struct visit_care *care, char *to, size_t n_room); /* "7.4 l"; "" not said */
/* The results a test (WORDS_TEST value) can have; gives how many. The last is that nothing was found; the others
 * speak of a fault at that cylinder, the first most generally. */
#define VISIT_TEST_RESULTS 5
int visit_test_results(int test, int results[VISIT_TEST_RESULTS]);
bool visit_test_tells_fault(int test, int result);
/* Notes what a test gave at a cylinder; result 0 takes it away. False when there is no more room. */
bool visit_set_test(struct visit *v, int test, int cylinder, int result);
/* The cylinders at which this was done to this part, by the words of work: "replaced", "plug". */
engine_set visit_worked_at(const struct visit *v, const char *verb, const char *part);
int visit_find_test(const struct visit *v, int test, int cylinder); /* its result, 0 not made */
/* The unit of an odometer (WORDS_ODOMETER_UNIT value), km where none is said; "97,655 mi", "1,234.5 h", "" when not given. */
const struct unit *visit_odometer_unit(int unit);
/* "mi", "Miles", "hours" as people write them behind a figure: the WORDS_ODOMETER_UNIT value, 0 none of them. */
int visit_read_odometer_unit(const char *typed);
void visit_format_odometer(struct maybe metres, int unit, char *to, size_t n_room);

/* The visit before `visit` at which the odometer, counting the same, last showed more than it does there: it went
 * back, was changed, or one of the two is a slip. -1: it went on, or nothing can be told. */
int record_odometer_back(const struct record *r, int visit);
/* The visit before `visit` since which the odometer would have gone on by more than an engine can run in the days between: a digit
 * too many, or a wrong date. -1: it can have been, or nothing can be told. */
#define ODOMETER_DAY_M 3000000 /* a day and night at 125 km/h; common practice, no source. Of one that counts hours: */
#define ODOMETER_DAY_S 86400
int record_odometer_leapt(const struct record *r, int visit);
/* Either of the two: nothing is computed across it. */
int record_odometer_breaks(const struct record *r, int visit);

/* Parses "verb:part:place" against an engine. */
bool visit_parse_done(const struct engine *en, const char *text, struct visit_done *out, struct err *e);
void visit_format_done(const struct engine *en, const struct visit_done *d, char *to, size_t n_room);
void visit_done_words(const struct engine *en, const struct visit_done *d, char *to, size_t n_room); /* "valve-cover gasket replaced, bank 2" */
/* What kinds of work were done after a visit's readings, without the places: "plug, valve-cover gasket replaced; plug cleaned"; "" none. */
void visit_done_short(const struct visit *v, char *to, size_t n_room);
/* Adds a trouble code (SAE J2012: a letter of P B C U, a digit 0-3, three hexadecimal digits; small
 * letters are taken too). Fails ERR_BADARG when it is none, ERR_LIMIT past VISIT_MAX_CODES. */
bool visit_add_code(struct visit *v, const char *code, struct err *e);
/* The next word of codes as people write them down, "P0306, P0171 / U0100": what is neither letter nor digit sets them apart.
 * *at goes on behind it; false: there is none any more. */
bool visit_next_code(const char **at, char *code, size_t n_room);
/* Cylinders of a place as findings word it: "bank 2", "cylinders 1, 3", "group 1, 2", "engine". 0: unknown. */
engine_set record_place(const struct engine *en, const char *place);
/* The same as work done is written: "bank 2", "cylinders 1,3", "all". */
void record_done_place(const char *place, char *to, size_t n_room);
/* cylinder * ENGINE_MAX_POSITIONS + position of "6" or "3 top"; -1 when there is no such plug. */
int record_find_plug(const struct engine *en, const char *label);
/* "2 4 6 8 1 3 5 7" or "3 top, 3 bottom" or "3T 3B": the removal order as people write it, in small or
 * capital letters. Plugs may be separated by blanks, commas or hyphens; with several plugs per cylinder
 * the position's first letter will do where it tells them apart. */
bool visit_parse_removal(const struct engine *en, struct visit *v, const char *text, struct err *e);
void visit_format_removal(const struct engine *en, const struct visit *v, char *to, size_t n_room);

/* Plugs that go from hole to hole. */
struct plug_move {
    struct plug_place from, to;
};
/* "1 top > 3 bottom > 1 top, 2T > 4B" as moves (room for ENGINE_MAX_PLUGS of them): names as in a removal order,
 * > or → between them, chains parted by commas. Whether each hole is filled again is not looked at. Fails
 * ERR_BADARG with the sentence to show. */
bool record_parse_moves(const struct engine *en, const char *text, struct plug_move *moves, int *n, struct err *e);
/* As chains: "1 top > 3 bottom > 1 top". */
void record_format_moves(const struct engine *en, const struct plug_move *moves, int n, char *to, size_t n_room);

#endif
