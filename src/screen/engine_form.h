/* engine_form.h - an engine as it is written down in fields: text in them, an engine out of them. Pure; what is
 * shown of it is screen_new_engine.c. */
#ifndef SCREEN_ENGINE_FORM_H
#define SCREEN_ENGINE_FORM_H

#include "base/clock.h"
#include "engine/engine.h"

struct err;

/* Numbering and what is said of cylinders by their names. */
enum engine_form_words {
    ENGINE_FORM_BANKS, ENGINE_FORM_FIRING, ENGINE_FORM_INTERVALS, ENGINE_FORM_COILS, ENGINE_FORM_MIXTURE,
    ENGINE_FORM_BREATHER, ENGINE_FORM_POSITIONS, ENGINE_FORM_WORDS_COUNT
};
enum engine_form_figure {
    ENGINE_FORM_GAP_MIN, ENGINE_FORM_GAP_MAX, ENGINE_FORM_GAP_LIMIT, ENGINE_FORM_TORQUE, ENGINE_FORM_HEX, ENGINE_FORM_HEAT,
    ENGINE_FORM_FIGURE_COUNT
};
#define ENGINE_FORM_FIGURE_BYTES 16

/* A field as it is shown; gaps in inches and the torque in lbf·ft where those are set. */
struct engine_form_row {
    const char *id, *label, *hint;
    const char *label_inches, *hint_inches; /* NULL: the same */
};
const struct engine_form_row *engine_form_words_row(enum engine_form_words field);
struct engine_form;
/* Its label, as the engine that is written down numbers its cylinders. */
const char *engine_form_words_label(const struct engine_form *f, enum engine_form_words field);
const struct engine_form_row *engine_form_figure_row(enum engine_form_figure field);

struct engine_form {
    bool touched;            /* holds something: begun, filled, or typed into */
    bool taken_up;           /* it stands as it was left when the window ended */
    bool inches;             /* gaps are typed and shown in inches, the torque in lbf·ft */
    char editing[UUID_BYTES]; /* the engine that is changed, "" a new one */
    char preset[32];         /* the ready-made one it was begun with */
    char name[ENGINE_NAME_BYTES], subtitle[ENGINE_NAME_BYTES];
    int layout, strokes, n_positions, ignition, fuel, seat, electrode, access, head; /* enums of engine.h */
    char plug_type[ENGINE_PLUG_TYPE_BYTES];
    char thread[24];
    char words[ENGINE_FORM_WORDS_COUNT][400];
    char figures[ENGINE_FORM_FIGURE_COUNT][ENGINE_FORM_FIGURE_BYTES];
    /* A figure that still stands as it was filled in is the engine's own, whatever the decimals shown leave off. */
    char filled[ENGINE_FORM_FIGURE_COUNT][ENGINE_FORM_FIGURE_BYTES];
    struct engine_plug_spec before;
};

/* A new engine: the commonest one, without a name. `editing` is left as it is. */
void engine_form_begin(struct engine_form *f, bool inches);
/* Shape, numbering and order of a ready-made one; the rest stays. */
void engine_form_take_preset(struct engine_form *f, const struct engine_preset *p);
bool engine_form_is_preset(const struct engine_form *f, const struct engine_preset *p); /* it stands as that one: as it was taken, or changed by hand into it */
/* All of an engine, to be changed. */
void engine_form_fill(struct engine_form *f, const struct engine *en, bool inches);

/* The units are set otherwise while it is open: what its fields hold is told in the others. */
void engine_form_set_inches(struct engine_form *f, bool inches);

bool engine_form_same(const struct engine_form *a, const struct engine_form *b); /* the same in every field */

/* What the fields hold, as an engine that may still want its name; and whether it has one. Both fail ERR_BADARG with
 * the sentence to show. */
bool engine_form_engine(const struct engine_form *f, struct engine *en, struct err *e);
/* What is wrong in each field: the sentence, "" nothing, or not to be told yet, because the numbering or the order it
 * rests on is wrong. */
struct engine_form_troubles {
    char words[ENGINE_FORM_WORDS_COUNT][300], figures[ENGINE_FORM_FIGURE_COUNT][300];
};
void engine_form_troubles(const struct engine_form *f, struct engine_form_troubles *out);
/* Its numbering and order alone, to be drawn, whatever is wrong with the rest; what fits of that is there too. */
bool engine_form_drawing(const struct engine_form *f, struct engine *en, struct err *e);
bool engine_form_named(const struct engine_form *f, struct err *e);

#endif
