/* A table of readings of any bytes: refused with a sentence, or read, matched against an engine and each cell looked
 * at as every kind of field; names of photos go through the same bytes. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "placing/old_photos.h"
#include "takeover/table.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

static void look_at_cell(const char *cell)
{
    int amounts[SIGN_COUNT], a, b, y, cylinder, position, zone;
    char iso[11];
    const struct unit *unit;
    struct err e = {0};
    size_t at, n;
    double v;

    for (int f = 0; f < TAKE_FIELD_COUNT; f++)
        (void)take_read_number(take_field((enum take_field_id)f), cell, f % 2 == 0, &v, &unit);
    for (int z = 0; z < ZONE_COUNT; z++)
        for (int own = 0; own < 2; own++)
            if (!take_read_signs((enum zone)z, own ? (int)sign_first((enum zone)z) : -1, cell, amounts, &e) && e.text[0] == '\0')
                abort();
    for (int l = 0; l < WORDS_COUNT; l++)
        (void)take_read_word((enum words)l, cell, &a, &e);
    (void)take_is_unsaid(cell);
    (void)take_sign_within(ZONE_WELL, cell);
    (void)take_read_date(cell, iso, &a, &b, &y);
    if (old_photos_date(cell, iso, &at, &n) && at + n > strlen(cell))
        abort();
    (void)old_photos_plug(&engine_find_preset("v12-60-b")->engine, cell, &cylinder, &position, &zone);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    struct take_table t;
    struct err e = {0};
    char *text = malloc(n_bytes + 1); /* as files_read() gives it: a NUL behind */

    memcpy(text, data, n_bytes);
    text[n_bytes] = '\0';
    if (!take_table_parse(text, n_bytes, "fuzz.csv", &t, &e)) {
        if (e.text[0] == '\0')
            abort();
        free(text);
        return 0;
    }
    free(text);
    take_table_match(&t, NULL);
    take_table_match(&t, &engine_find_preset("i4")->engine);
    for (size_t r = 0; r < t.csv.n_rows && r < 50; r++)
        for (int i = 0; i < t.n_columns; i++)
            look_at_cell(csv_cell(&t.csv, r, i));
    (void)take_table_columns(&t, "1=gap:in,2=date,3=-", &e);
    take_table_release(&t);
    return 0;
}
