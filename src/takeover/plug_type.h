/* plug_type.h - the plug a table names for its engine: it belongs onto the engine's card, not to a reading. */
#ifndef TAKEOVER_PLUG_TYPE_H
#define TAKEOVER_PLUG_TYPE_H

#include "takeover/table.h"

/* What the table says against the card: to gets the type to write onto a card that names none, else "". why: what is said
 * of it where it is left out (the card names another, or the table names several, which stays undecided), with the row
 * it stands in; else "". Either has room for PLUG_TYPE_WORDS_BYTES. */
#define PLUG_TYPE_WORDS_BYTES 300
void plug_type_of(const struct take_table *t, const char *card, char to[ENGINE_PLUG_TYPE_BYTES], char why[PLUG_TYPE_WORDS_BYTES], size_t *row);

#endif
