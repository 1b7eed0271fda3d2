/* field.h - what a column of a table of readings can hold, as one list: the words its heading may have, the
 * unit, where it is kept. Pure. */
#ifndef TAKEOVER_FIELD_H
#define TAKEOVER_FIELD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/units.h"
#include "record/vocab.h"

struct err;

enum take_field_id {
    TAKE_NOTHING, TAKE_ENGINE, TAKE_DATE, TAKE_ODOMETER, TAKE_CYLINDER, TAKE_POSITION, TAKE_BANK,
    TAKE_FIRING_END, TAKE_THREADS, TAKE_BODY, TAKE_WELL, TAKE_BOOT, TAKE_COIL, TAKE_LEAD, TAKE_CONNECTOR,
    TAKE_GAP, TAKE_GAP_FROM, TAKE_PHOTO_MARKS, TAKE_PLUG_COUNTED, TAKE_COPIES_DIFFER, TAKE_GAP_PHOTO, TAKE_GAP_PHOTO_PM, TAKE_GAP_LEFT, TAKE_ELECTRODE, TAKE_WEAR_ON, TAKE_INSULATOR, TAKE_HEAVIER_SIDE, TAKE_TURNS, TAKE_DRIES, TAKE_MARK,
    TAKE_NOSE_L, TAKE_NOSE_A, TAKE_NOSE_B, TAKE_COMPRESSION, TAKE_COMPRESSION_WET, TAKE_LEAK, TAKE_DIFFERENTIAL,
    TAKE_PLUG, TAKE_PLUG_TYPE, TAKE_PLUG_DISTANCE, TAKE_AS_BOOK, TAKE_TIGHTNESS, TAKE_REFIT, TAKE_WASHER, TAKE_THREAD_STATE, TAKE_TORQUE,
    TAKE_CODES, TAKE_COMPLAINT, TAKE_NOTES, TAKE_FIELD_COUNT
};

enum take_kind {
    TAKE_IS_NOTHING,
    TAKE_IS_PLACE,   /* says which engine, visit or plug the row is of, or of what a gap was taken */
    TAKE_IS_SIGNS,   /* `list` is an enum zone: "oil 3; dirt 1", "none" */
    TAKE_IS_GAP,
    TAKE_IS_WHOLE,   /* a number kept whole: value in the base unit times `factor` */
    TAKE_IS_REAL,
    TAKE_IS_WORD,    /* `list` is an enum words */
    TAKE_IS_YES_NO,
    TAKE_IS_PART,    /* the name of a plug */
    TAKE_IS_VISIT    /* words of the visit as a whole */
};

struct take_field {
    const char *id;          /* as --columns names it */
    const char *label;       /* as the window shows it */
    enum take_kind kind;
    int list;                /* an enum zone or enum words, see kind */
    const char *column;      /* of the reading, NULL: none */
    const char *units[5];    /* ids of base/units.h it may be written in, the first where nothing says another; none: no unit */
    double factor;           /* what is kept for one base unit */
    double least, most;      /* of what is kept: beyond it the column is something else */
    bool once;               /* of the cylinder: kept with its first plug */
    const char *words;       /* headings that mean it, set off by |, in small letters */
};
const struct take_field *take_field(enum take_field_id id);
int take_field_find(const char *id);                  /* an enum take_field_id, -1 when there is none of that name */
void take_field_list(char *to, size_t n_room);        /* all ids, for messages */

/* What a heading says: "Gap 3 top (mm)" is a gap, in mm, of a plug. */
struct take_heading {
    enum take_field_id field;
    bool sure;               /* the words are those of the list, not only among them */
    const char *unit;        /* id, "" not said */
    char plug[32];           /* "3", "3 top": a label of `plugs`, "" none */
    int sign;                /* "well oil": the sign it names beside its zone, -1 none */
};
/* plugs: every label a heading may name ("3", "3 top"), n of them. */
void take_heading_read(const char *text, const char *const *plugs, size_t n_plugs, struct take_heading *out);

/* A number as people write it: "1.234,5", "1,234.5", "175 psi" (its unit comes back in *unit, when it is one the
 * field may have). grouped: points or commas with three digits behind each part thousands. */
bool take_read_number(const struct take_field *f, const char *cell, bool grouped, double *value, const struct unit **unit);
/* Whether a cell says that nothing was noted: "-", "?", "n/a", "not checked". */
bool take_is_unsaid(const char *cell);
/* A word of the list by its id, its label or a plain word for it; fails with those there are. */
bool take_read_word(enum words list, const char *cell, int *value, struct err *e);
bool take_read_yes_no(const char *cell, bool *yes, struct err *e);
/* Signs of a zone with their amounts: "oil 3; dirt a trace", "a bit of oil", "Öl und Wasser", "dry", "none". Amounts not
 * named stay AMOUNT_UNSEEN; one without an amount is moderate. own: the sign the column is of, whose amounts may stand
 * alone ("2", "yes", "++"), -1 none. Fails naming every part that is nothing, and one that may mean two things. */
bool take_read_signs(enum zone z, int own, const char *cell, int amounts[SIGN_COUNT], struct err *e);
/* The sign a heading names beside its zone ("well oil", "Öl im Schacht"), -1 none. */
int take_sign_within(enum zone z, const char *heading);
/* Plain words for signs, set off by |, as one list. */
struct take_sign_words {
    enum zone zone;
    const char *sign, *words;
};
const struct take_sign_words *take_sign_words(size_t *n);

/* A date. TAKE_DATE_SLASH: day and month may be either way round (a, b as written); iso is not filled in. */
enum take_date { TAKE_DATE_NONE, TAKE_DATE_SURE, TAKE_DATE_SLASH };
enum take_date take_read_date(const char *cell, char iso[11], int *a, int *b, int *year);
/* One date typed by itself. Where day and month may be either way round only that which the calendar settles is taken. */
bool take_typed_date(const char *typed, char iso[11], struct err *e);
bool take_make_date(int year, int month, int day, char iso[11]);

#endif
