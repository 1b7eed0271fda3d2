/* refused.h - what was typed into a field and could not be taken: it stays in its field, with the
 * sentence that says why under it, until it is put right or given up. */
#ifndef SCREEN_REFUSED_H
#define SCREEN_REFUSED_H

#include "screen/model.h"

void refused_note(struct screen_state *st, const struct action *a, const char *words); /* takes the place of an older one */
void refused_drop(struct screen_state *st, const char *field); /* NULL: all */

/* A text field that shows what it refused instead of `value`. `field` names what is typed in (the widget's
 * id where nothing else is said: ui_text_field's id may stand for one plug after the other). Escape tells why what stands
 * in it cannot be taken; again it gives that up. Enter on a screen leaves it, unless it is refused: figures and letters
 * are the screen's again. */
unsigned refused_text_field(struct ui *ui, struct screen_state *st, const char *id, const char *field, struct rect r, struct ui_field o, const char *value, char *out, size_t n_room);
/* Escape, for what it closes (a panel, Plug by plug): also out of a field, what was typed there being kept by then, unless
 * that field holds what was refused. Before the fields are drawn. */
bool refused_escape(struct ui *ui, struct screen_state *st);
/* Fills in what was typed, from the field's result: half a figure, when typing pauses, is not called wrong yet,
 * only what is left or entered. */
void refused_typed(struct action *a, const char *field, const char *typed, unsigned result);
/* Refused by the screen itself, in the frame of the field's result: what was entered keeps the focus. */
void refused_here(struct ui *ui, struct screen_state *st, const char *field, const char *typed, unsigned result, const char *words);
/* The sentence, in the column r; registered as "ID.refused". It comes when the pointer is let go, so that
 * what was pressed stays under it. Gives the height it takes, 0 when nothing was
 * refused. draw false: only measured. */
float refused_words(struct ui *ui, struct screen_state *st, const char *id, const char *field, struct rect r, bool draw);
/* A sentence that says why, with its triangle, as refused_words() draws it. */
float refused_say(struct ui *ui, const char *id, struct rect r, const char *words, const char *typed, bool draw);

#endif
