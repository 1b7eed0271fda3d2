/* target.c - which engine the rows of a table are of. */
#include "takeover/plan.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"

/* The labels of cylinders, banks and positions that the table names, each once. */
struct named {
    char label[ENGINE_MAX_CYLINDERS][ENGINE_LABEL_BYTES];
    char bank_of[ENGINE_MAX_CYLINDERS][32]; /* "" not said */
    char positions[ENGINE_MAX_POSITIONS][24];
    int n, n_positions;
    bool too_many;
};

static int find_label(const struct named *n, const char *label)
{
    for (int i = 0; i < n->n; i++)
        if (strcasecmp(n->label[i], label) == 0)
            return i;
    return -1;
}

static void name(struct named *n, const char *label, const char *bank)
{
    int i = find_label(n, label);

    if (label[0] == '\0')
        return;
    if (i < 0) {
        if (n->n == ENGINE_MAX_CYLINDERS || strlen(label) >= ENGINE_LABEL_BYTES) {
            n->too_many = true;
            return;
        }
        i = n->n++;
        text_copy(n->label[i], sizeof n->label[i], label);
    }
    if (n->bank_of[i][0] == '\0')
        text_copy(n->bank_of[i], sizeof n->bank_of[i], bank);
}

static void names_of(const struct take_table *t, struct named *n)
{
    int cylinder = take_table_find(t, TAKE_CYLINDER), bank = take_table_find(t, TAKE_BANK), position = take_table_find(t, TAKE_POSITION);

    memset(n, 0, sizeof *n);
    for (int i = 0; i < t->n_columns; i++) {
        char label[32];

        text_copy(label, sizeof label, t->columns[i].plug);
        label[strcspn(label, " ")] = '\0';
        name(n, label, "");
    }
    for (size_t r = take_table_first(t); r < t->csv.n_rows; r++) {
        const char *p = csv_cell(&t->csv, r, position);
        bool known = p[0] == '\0';

        name(n, csv_cell(&t->csv, r, cylinder), csv_cell(&t->csv, r, bank));
        for (int i = 0; i < n->n_positions; i++)
            known = known || strcasecmp(n->positions[i], p) == 0;
        if (!known && n->n_positions < ENGINE_MAX_POSITIONS)
            text_copy(n->positions[n->n_positions++], sizeof n->positions[0], p);
    }
}

/* Same cylinders, and in the same banks where the table says so. */
static bool fits(const struct engine *en, const struct named *n)
{
    if (en->n_cylinders != n->n)
        return false;
    for (int i = 0; i < n->n; i++) {
        int c = engine_find_cylinder(en, n->label[i]);

        if (c < 0)
            return false;
        for (int k = 0; k < i; k++) {
            bool together = strcasecmp(n->bank_of[i], n->bank_of[k]) == 0;

            if (n->bank_of[i][0] != '\0' && n->bank_of[k][0] != '\0' && together != (en->cylinders[c].bank == en->cylinders[engine_find_cylinder(en, n->label[k])].bank))
                return false;
        }
    }
    return true;
}

bool take_target_fits(const struct take_table *t, const struct engine *en, bool nearly)
{
    struct named n;
    int n_common = 0;

    names_of(t, &n);
    if (!nearly)
        return n.n > 0 && !n.too_many && fits(en, &n);
    for (int i = 0; i < n.n; i++)
        n_common += engine_find_cylinder(en, n.label[i]) >= 0;
    return n_common > 0 && 4 * n_common >= 3 * (n.n > en->n_cylinders ? n.n : en->n_cylinders);
}

/* Takes the table's own names for banks and plug positions. */
static bool make_new(const struct take_table *t, const struct named *n, const struct engine_preset *p, struct take_target *out, struct err *e)
{
    int column = take_table_find(t, TAKE_ENGINE);

    out->engine_id[0] = '\0';
    out->engine = p->engine;
    out->known = true;
    text_copy(out->engine.name, sizeof out->engine.name, csv_cell(&t->csv, take_table_first(t), column));
    if (out->engine.name[0] == '\0') {
        text_copy(out->engine.name, sizeof out->engine.name, t->name);
        if (strrchr(out->engine.name, '.') != NULL)
            *strrchr(out->engine.name, '.') = '\0';
    }
    for (int i = 0; i < n->n; i++) {
        int c = engine_find_cylinder(&out->engine, n->label[i]);

        if (c >= 0 && n->bank_of[i][0] != '\0')
            text_copy(out->engine.banks[out->engine.cylinders[c].bank].name, sizeof out->engine.banks[0].name, n->bank_of[i]);
    }
    if (n->n_positions > 1) {
        out->engine.n_positions = n->n_positions;
        memcpy(out->engine.position_names, n->positions, sizeof n->positions);
    }
    text_format(out->why, sizeof out->why, "New engine “%s”, laid out as %s", TEXT_SHORT(out->engine.name, 60), p->label);
    return engine_finish(&out->engine, e);
}

static bool load(struct logbook *lb, const struct logbook_engine *e, const char *why, struct take_target *out, struct err *err)
{
    text_copy(out->engine_id, sizeof out->engine_id, e->id);
    out->known = true;
    text_format(out->why, sizeof out->why, "%s: %s", why, TEXT_SHORT(e->name, 80));
    return logbook_load_engine(lb, e->id, &out->engine, err);
}

static bool find(struct logbook *lb, const struct take_table *t, const char *engine_name, const char *preset, const char *shown, const struct logbook_engine *engines,
                 size_t n_engines, struct take_target *out, struct err *e)
{
    int column = take_table_find(t, TAKE_ENGINE), n_fit = 0;
    const char *said = csv_cell(&t->csv, take_table_first(t), column);
    struct named n;
    size_t n_presets;
    const struct engine_preset *presets = engine_presets(&n_presets), *fit = NULL;
    struct text all = {0};

    names_of(t, &n);
    if (engine_name != NULL) {
        char id[UUID_BYTES];

        if (!logbook_find_engine(lb, engine_name, id, e))
            return false;
        for (size_t i = 0; i < n_engines; i++)
            if (strcmp(engines[i].id, id) == 0)
                return load(lb, &engines[i], "Chosen", out, e);
    }
    if (preset != NULL) {
        fit = engine_find_preset(preset);
        return fit != NULL ? make_new(t, &n, fit, out, e) : err_set(e, ERR_NOTFOUND, "There is no ready-made layout “%s”.", TEXT_SHORT(preset, 40));
    }
    for (size_t i = 0; i < n_engines && said[0] != '\0'; i++)
        if (strcasecmp(engines[i].name, said) == 0)
            return load(lb, &engines[i], "The engine the table names", out, e);
    for (size_t i = 0; i < n_engines && said[0] == '\0'; i++)
        if (strcmp(engines[i].id, shown) == 0)
            return load(lb, &engines[i], "The engine that is open", out, e);
    if (said[0] == '\0' && n_engines == 1)
        return load(lb, &engines[0], "The only engine there is", out, e);
    for (size_t i = 0; i < n_presets && n.n > 0 && !n.too_many; i++)
        if (fits(&presets[i].engine, &n)) {
            n_fit++;
            fit = &presets[i];
            text_addf(&all, "%s%s", all.n_bytes ? ", " : "", presets[i].id);
        }
    if (n_fit == 1 && (said[0] != '\0' || n_engines == 0)) {
        text_release(&all);
        return make_new(t, &n, fit, out, e);
    }
    out->known = false;
    if (said[0] != '\0')
        text_format(out->why, sizeof out->why, "The engine “%s” is not in the logbook. Choose one, or a layout for a new one%s%s.", TEXT_SHORT(said, 60), n_fit ? ": " : "", TEXT_SHORT(text_get(&all), 100));
    else
        text_format(out->why, sizeof out->why, "Which engine are these readings of? Choose one, or a layout for a new one%s%s.", n_fit ? ": " : "", TEXT_SHORT(text_get(&all), 100));
    text_release(&all);
    return true;
}

bool take_target_find(struct logbook *lb, const struct take_table *t, const char *engine_name, const char *preset, const char *shown,
                      const char *visit_id, struct take_target *out, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    size_t n;
    bool fine;

    memset(out, 0, sizeof *out);
    engine_init(&out->engine);
    fine = logbook_list_engines(lb, a, &engines, &n, e) && find(lb, t, engine_name, preset, shown, engines, n, out, e);
    if (fine && visit_id[0] != '\0') {
        char owner[UUID_BYTES];

        if (logbook_get_text(lb, "visit", visit_id, "engine", owner, sizeof owner) && strcmp(owner, out->engine_id) == 0)
            text_copy(out->visit_id, sizeof out->visit_id, visit_id);
    }
    arena_destroy(a);
    return fine;
}
