/* vocab.h - the words of the trade that a reading is made of, as tables. The id is what the case
 * format and the logbook store; the label is what the window shows. Row order is the order shown. */
#ifndef RECORD_VOCAB_H
#define RECORD_VOCAB_H

#include <stdbool.h>
#include <stddef.h>

/* Where something is seen. */
enum zone { ZONE_FIRING_END, ZONE_THREADS, ZONE_BODY, ZONE_WELL, ZONE_BOOT, ZONE_COIL, ZONE_LEAD, ZONE_CONNECTOR, ZONE_COUNT };

/* One flat list: every sign belongs to one zone, ids repeat between zones ("oil" on threads, body, well). */
enum sign {
    SIGN_NORMAL, SIGN_PALE, SIGN_DRY_CARBON, SIGN_FUEL_WET, SIGN_WASHED, SIGN_OIL_WET, SIGN_OIL_ASH, SIGN_FUEL_ASH,
    SIGN_LEADED, SIGN_GLAZED, SIGN_BLISTERED, SIGN_COOLANT, SIGN_ADDITIVE_RED, SIGN_BRIDGED, SIGN_METAL_SPECKS,
    SIGN_THREADS_OIL, SIGN_THREADS_CARBON, SIGN_THREADS_RUST, SIGN_THREADS_ANTI_SEIZE, SIGN_THREADS_GAS_LEAK,
    SIGN_BODY_OIL, SIGN_BODY_CORONA, SIGN_BODY_FLASHOVER, SIGN_BODY_CRACK, SIGN_BODY_RUST,
    SIGN_WELL_OIL, SIGN_WELL_WATER, SIGN_WELL_RUST, SIGN_WELL_DIRT, SIGN_WELL_FUEL,
    SIGN_BOOT_OIL_SOAKED, SIGN_BOOT_TRACKED, SIGN_BOOT_SPLIT, SIGN_BOOT_HARDENED, SIGN_BOOT_BURNT,
    SIGN_COIL_OIL_SOAKED, SIGN_COIL_CRACKED, SIGN_COIL_TRACKED, SIGN_COIL_SWOLLEN,
    SIGN_LEAD_BARE, SIGN_LEAD_MELTED, SIGN_LEAD_BRITTLE, SIGN_LEAD_LOCK, SIGN_LEAD_CORRODED, SIGN_LEAD_CHAFED, SIGN_LEAD_TIED,
    SIGN_CONN_BARE, SIGN_CONN_MELTED, SIGN_CONN_BRITTLE, SIGN_CONN_LOCK, SIGN_CONN_CORRODED, SIGN_CONN_CHAFED, SIGN_CONN_TIED,
    SIGN_COUNT
};

/* How bad a sign is by itself, at moderate amount. */
enum level { LEVEL_NONE, LEVEL_NOTE, LEVEL_WATCH, LEVEL_ACT, LEVEL_STOP, LEVEL_COUNT };
const char *level_id(enum level v); /* "", "note", "watch", "act", "stop" */

struct zone_row {
    const char *id;    /* "firing_end": key in the case format; measures are named "well.oil" */
    const char *label; /* "Firing end" */
};
struct sign_row {
    enum zone zone;
    const char *id;       /* "oil-wet" */
    const char *label;    /* "oil-wet" as on a chip */
    const char *sentence; /* "oil-wet firing end": for findings */
    char key;             /* letter that toggles it on Plan, 0 when none; unique within a zone */
    enum level level;     /* at moderate amount; see reading/ for trace and heavy */
    const char *fact;     /* id of the row in assets/deposits.csv or wells-and-ignition.csv it rests on, or "" */
};
const struct zone_row *zone_row(enum zone z);
const struct sign_row *sign_row(enum sign s);
bool sign_is_fault(enum sign s);            /* watch and worse */
int zone_find(const char *id);             /* -1 unknown */
int sign_find(enum zone z, const char *id); /* -1 unknown */
enum sign sign_first(enum zone z);
int sign_count(enum zone z);
/* What a press of a key or a chip notes after this amount: first that it is there, in the middle, as no amount was
 * said; then heavy, and it stays heavy: a press too many takes nothing back. */
int amount_next(int amount);
const char *amount_words(int amount); /* 0..3: "none", "a trace", "moderate", "heavy" */
/* "well.oil", "firing_end.oil-wet" */
void sign_measure(enum sign s, char *to, size_t n_room);

/* Plain word lists: complaint, last_run, fuel, socket, electrode condition, wear_on, insulator, turns,
 * heavier_side, tightness, refit, washer, thread_state, leak_heard, test, test_result, odometer_unit, done_verb, done_part. */
enum words {
    WORDS_COMPLAINT, WORDS_LAST_RUN, WORDS_FUEL, WORDS_SOCKET, WORDS_ELECTRODE, WORDS_WEAR_ON, WORDS_INSULATOR,
    WORDS_TURNS, WORDS_SIDE, WORDS_TIGHTNESS, WORDS_REFIT, WORDS_WASHER, WORDS_THREAD_STATE, WORDS_LEAK_HEARD, WORDS_TEST, WORDS_TEST_RESULT,
    WORDS_ODOMETER_UNIT, WORDS_DONE_VERB, WORDS_DONE_PART, WORDS_COUNT
};
struct word {
    const char *id;
    const char *label;
};
/* Rows of one list; values held in records are index+1, 0 = not said. */
const struct word *words_rows(enum words list, int *n_rows);
int words_find(enum words list, const char *id); /* index+1; 0 for "" or NULL; -1 unknown */
const char *words_id(enum words list, int value); /* "" for 0 */
const char *words_label(enum words list, int value);
void words_list(enum words list, char *to, size_t n_room); /* all ids, "idle, load, cranked", for messages */

#endif
