/* refit_book.h - what a plug is to be tightened to: every published chart by its own name, never merged into one band, since
 * they do not always overlap; turning angle for a new and for a used washer. The engine maker's own figure
 * comes first. Tables: assets/torque.csv, torque-charts.csv (names), turn-angle.csv (sources row by row). */
#ifndef RECORD_REFIT_BOOK_H
#define RECORD_REFIT_BOOK_H

#include <stdbool.h>
#include <stddef.h>
#include "engine/engine.h"

struct err;
struct unit_choice;

struct refit_chart {
    char chart[32];             /* id as in the table */
    char name[48];              /* as a person knows it: "NGK, USA" */
    char head[24];              /* "aluminium", "cast-iron", "not stated" */
    char threads[16];           /* "dry", "oiled", "compound" (what the maker calls for), "not stated" */
    double nm_min, nm_max;
    char printed[40];           /* as the chart prints it: "18–25.3 lbf·ft" */
    char note[300], source[300];
};
struct refit_turn {
    char washer[32];            /* "new", "reused", "n/a" */
    char seat[40];
    double deg_min, deg_max;
    bool doubtful;              /* in conflict with every other source read: not to be used */
    char source[300];
};
#define REFIT_MAX 40
#define REFIT_MAX_APART 12
struct refit {
    double maker_nm;            /* the engine maker's own figure, which wins; 0 not entered */
    int n_charts, n_turns, n_apart;
    struct refit_chart charts[REFIT_MAX];
    struct refit_turn turns[REFIT_MAX];
    char apart[REFIT_MAX_APART][160]; /* charts for the same head that do not overlap, in words */
};
/* thread "M14x1.25", also as "m14 × 1,25"; seat "gasket" or "taper", head "aluminium", "cast-iron" or "" (any). Fails
 * ERR_NOTFOUND naming the threads there are when no chart knows the thread. */
bool refit_find(const char *thread, const char *seat, const char *head, struct refit *out, struct err *e);
/* The same from an engine's card, with the maker's figure when it is entered. Fails ERR_NOTFOUND also when the
 * card does not name thread and seat, which are never assumed: then the maker's figure alone is in out. */
bool refit_for_engine(const struct engine *en, struct refit *out, struct err *e);

/* Whether an angle is for plugs of one make of washer only, "gasket (solid copper)": the box of such a plug says so. */
bool refit_turn_is_special(const struct refit_turn *t);
/* Every angle published for a new or a used washer, or a taper seat, in one line; doubtful and special ones left out: "finger-tight, then
 * 180–270° (5 sources)". False where there is none. */
bool refit_turn_words(const struct refit *f, bool used, char *to, size_t n_room);

/* Where a torque that was applied lies: "as the maker's 25 N·m (18 lbf·ft); within NGK, USA; over Iskra Kielce". Within 5 % of the maker's
 * figure is as it (torque wrenches: common practice, no source). */
void refit_compare(const struct refit *f, const struct unit_choice *units, double nm, char *to, size_t n_room);
/* Whether it lies so far off the maker's figure, or off all charts where that is not entered, that something is to be done. ABOVE: far over
 * the maker's figure, and yet within what charts for this thread, seat and head allow. GREASED: on a greased thread it pulls harder than
 * the book wants of a dry one. */
enum refit_off { REFIT_FINE, REFIT_UNDER, REFIT_ABOVE, REFIT_GREASED, REFIT_LOOSE, REFIT_OVER, REFIT_OFF_COUNT };
enum refit_off refit_judge(const struct refit *f, double nm, bool greased);
bool refit_stops(enum refit_off off);        /* so far off that the engine is not to be started */
const char *refit_off_words(enum refit_off off); /* behind a figure, before the book: "far over"; "" fine */
const char *refit_book_words(const struct engine *en); /* what a torque is held against: "the book"; where its figure is not entered "every chart" */
enum refit_off refit_warn(const struct refit *f, const struct unit_choice *units, double nm, bool greased, char *to, size_t n_room); /* "60 N·m is far over the maker's 27 N·m: …"; "" fine */

#endif
