#include "takeover/plug_type.h"

#include <string.h>

#include "base/text.h"

/* A cell without the blanks about it, cut to what a card holds. */
static void read_cell(const struct take_table *t, size_t row, int column, char to[ENGINE_PLUG_TYPE_BYTES])
{
    const char *cell = csv_cell(&t->csv, row, column);

    text_copy(to, ENGINE_PLUG_TYPE_BYTES, cell + strspn(cell, " "));
    text_sanitize(to, ENGINE_PLUG_TYPE_BYTES);
    for (size_t n = strlen(to); n > 0 && to[n - 1] == ' '; n--)
        to[n - 1] = '\0';
}

void plug_type_of(const struct take_table *t, const char *card, char to[ENGINE_PLUG_TYPE_BYTES], char why[PLUG_TYPE_WORDS_BYTES], size_t *row)
{
    const int column = take_table_find(t, TAKE_PLUG_TYPE);
    char cell[ENGINE_PLUG_TYPE_BYTES];

    to[0] = why[0] = '\0';
    for (size_t i = take_table_first(t); column >= 0 && i < t->csv.n_rows; i++) {
        read_cell(t, i, column, cell);
        if (cell[0] == '\0' || strcmp(cell, to) == 0 || strcmp(cell, card) == 0)
            continue;
        *row = i;
        if (card[0] != '\0') {
            text_format(why, PLUG_TYPE_WORDS_BYTES, "The engine's card names the plug “%s”, the table “%s”: the card stays as it is.", TEXT_SHORT(card, 80), TEXT_SHORT(cell, 80));
            return;
        }
        if (to[0] != '\0') {
            text_format(why, PLUG_TYPE_WORDS_BYTES, "The table names several plugs for the engine, “%s” and “%s”: write the right one onto its card (E on Engines).", TEXT_SHORT(to, 80), TEXT_SHORT(cell, 80));
            to[0] = '\0';
            return;
        }
        text_copy(to, ENGINE_PLUG_TYPE_BYTES, cell);
    }
}
