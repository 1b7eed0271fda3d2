/* engine_preset.c - the ready-made layouts of assets/layouts.csv. */
#include "engine/engine.h"

#include <stdio.h>
#include <stdint.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

static struct engine_preset *presets;
static size_t n_loaded;

/* "magneto open top/bottom": what such an engine always has. */
static bool load_besides(struct engine *en, const char *words)
{
    for (words += strspn(words, " "); *words != '\0'; words += strspn(words, " ")) {
        char word[64], *slash;
        size_t n = strcspn(words, " ");

        text_format(word, sizeof word, "%.*s", (int)n, words);
        words += n;
        slash = strchr(word, '/');
        if (slash != NULL) {
            *slash = '\0';
            en->n_positions = 2;
            text_copy(en->position_names[0], sizeof en->position_names[0], word);
            text_copy(en->position_names[1], sizeof en->position_names[1], slash + 1);
        } else if (engine_ignition_find(word) > 0) {
            en->ignition = (enum engine_ignition)engine_ignition_find(word);
        } else if (engine_access_find(word) > 0) {
            en->access = (enum engine_access)engine_access_find(word);
        } else {
            return false;
        }
    }
    return true;
}

static bool load_row(const struct csv *c, size_t row, struct engine_preset *p, struct err *e)
{
    long strokes, n;
    int layout = engine_layout_find(csv_named(c, row, "layout"));

    text_copy(p->id, sizeof p->id, csv_named(c, row, "id"));
    text_copy(p->label, sizeof p->label, csv_named(c, row, "label"));
    engine_init(&p->engine);
    if (layout < 0 || !text_to_long(csv_named(c, row, "strokes"), &strokes) ||
        !text_to_long(csv_named(c, row, "cylinders"), &n))
        return err_set(e, ERR_FORMAT, "layouts.csv line %zu: layout, cylinders or strokes", c->line[row]);
    p->layout = p->engine.layout = (enum engine_layout)layout;
    p->engine.strokes = (int)strokes;
    if (!load_besides(&p->engine, csv_named(c, row, "besides")))
        return err_set(e, ERR_FORMAT, "layouts.csv line %zu: what it has besides", c->line[row]);
    if (!engine_parse_banks(&p->engine, csv_named(c, row, "banks"), e) ||
        !engine_parse_firing(&p->engine, csv_named(c, row, "firing_order"), e) ||
        !engine_parse_intervals(&p->engine, csv_named(c, row, "intervals_deg"), e) ||
        !engine_finish(&p->engine, e))
        return err_wrap(e, "layouts.csv line %zu", c->line[row]);
    if (p->engine.n_cylinders != n)
        return err_set(e, ERR_FORMAT, "layouts.csv line %zu: %ld cylinders named, %d written",
                       c->line[row], n, p->engine.n_cylinders);
    p->n_cylinders = (int)n;
    return true;
}

const struct engine_preset *engine_presets(size_t *n_presets)
{
    if (presets == NULL) {
        struct csv c;
        struct err e;

        asset_table_must("layouts.csv", SIZE_MAX, &c);
        presets = mem_alloc(c.n_rows, sizeof *presets);
        for (size_t i = 1; i < c.n_rows; i++)
            if (load_row(&c, i, &presets[n_loaded], &e))
                n_loaded++;
            else
                fprintf(stderr, "sootbook: %s\n", e.text);
        csv_release(&c);
    }
    *n_presets = n_loaded;
    return presets;
}

const struct engine_preset *engine_find_preset(const char *id)
{
    size_t n;
    const struct engine_preset *p = engine_presets(&n);

    for (size_t i = 0; i < n; i++)
        if (strcmp(p[i].id, id) == 0)
            return &p[i];
    return NULL;
}
