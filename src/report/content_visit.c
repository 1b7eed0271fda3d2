/* content_visit.c - the engine's card, what is said of a visit as a whole, and what was read plug by plug. */
#include <math.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "report/content_work.h"

static void row(struct maker *m, struct cells *c, const char *label, const char *value)
{
    if (value[0] == '\0')
        return;
    maker_cell(m, c, TONE_SOFT, label);
    maker_cell(m, c, TONE_PLAIN, value);
}

static void facts(struct maker *m, const struct cells *c)
{
    struct content_block *b;

    if (c->n == 0)
        return;
    b = maker_add(m, CONTENT_FACTS);
    b->n_columns = 2;
    b->lines = c->list;
    b->n_lines = c->n;
}

void content_engine(struct maker *m, const struct record *r)
{
    static const char *const layouts[] = {"inline", "V", "flat", "narrow-angle V", "W", "single", "twin", "radial"};
    static const char *const ignitions[] = {"", "a coil for each plug", "coils shared by two", "distributor", "magneto"};
    static const char *const seats[] = {"", "gasket seat", "taper seat"}, *const metals[] = {"", "nickel", "platinum", "iridium"};
    static const char *const heads[] = {"", "aluminium", "cast iron"};
    const struct engine *en = &r->engine;
    const struct engine_plug_spec *p = &en->plug;
    struct cells c = {0};
    char words[500], low[32], high[32], limit[32];
    struct text t = {0};

    text_addf(&t, "%d cylinders, %s, %d-stroke", en->n_cylinders, layouts[en->layout], en->strokes);
    if (en->n_cylinders == 1)
        text_clear(&t), text_addf(&t, "single, %d-stroke", en->strokes);
    row(m, &c, "Engine", text_get(&t));
    engine_format_banks(en, words, sizeof words);
    row(m, &c, en->n_banks > 1 ? "Banks, front to rear" : "Numbered from the front", en->layout == ENGINE_RADIAL || en->n_cylinders == 1 ? "" : words);
    engine_format_firing(en, words, sizeof words);
    row(m, &c, "Firing order", en->n_cylinders > 1 ? words : "");
    row(m, &c, "Ignition", ignitions[en->ignition]);
    row(m, &c, "Fuel comes in by", engine_fuel_label(en->fuel));
    row(m, &c, "Cylinder head", heads[en->head]);
    text_clear(&t);
    text_add(&t, p->type);
    if (en->n_positions > 1)
        text_addf(&t, "%s%d a cylinder", t.n_bytes ? ", " : "", en->n_positions);
    if (p->thread[0] != '\0')
        text_addf(&t, "%s%s", t.n_bytes ? ", " : "", p->thread);
    if (p->seat != ENGINE_SEAT_UNKNOWN)
        text_addf(&t, "%s%s", t.n_bytes ? ", " : "", seats[p->seat]);
    if (p->electrode != ENGINE_ELECTRODE_UNKNOWN)
        text_addf(&t, "%s%s", t.n_bytes ? ", " : "", metals[p->electrode]);
    row(m, &c, "Plugs", text_get(&t));
    text_clear(&t);
    if (p->gap_max_mm > 0) {
        unit_tell_length(&m->ask->units, p->gap_min_mm, false, low, sizeof low);
        unit_tell_length(&m->ask->units, p->gap_max_mm, true, high, sizeof high);
        unit_tell_length(&m->ask->units, p->gap_limit_mm, true, limit, sizeof limit);
        text_addf(&t, "%s–%s", low, high);
        if (p->gap_limit_mm > 0)
            text_addf(&t, ", renew at %s", limit);
    }
    row(m, &c, "Gap", text_get(&t));
    text_release(&t);
    maker_part(m, REPORT_ENGINE);
    facts(m, &c);
}

/* "no change at 6; idle drops at 1, 2" */
static void test_words(const struct record *r, int test, char *to, size_t n_room)
{
    const struct visit *v = record_current(r);
    struct text t = {0};
    int n_results;

    words_rows(WORDS_TEST_RESULT, &n_results);
    for (int result = 1; result <= n_results; result++) {
        engine_set at = 0;
        char where[160];

        for (int i = 0; i < v->n_tests; i++)
            if (v->tests[i].test == test && v->tests[i].result == result)
                at |= (engine_set)1 << v->tests[i].cylinder;
        if (at == 0)
            continue;
        engine_set_words(&r->engine, at, where, sizeof where);
        text_addf(&t, "%s%s: %s", t.n_bytes ? "; " : "", words_label(WORDS_TEST_RESULT, result), where);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static void outside_words(const struct record *r, char *to, size_t n_room)
{
    const struct visit *v = record_current(r);
    struct text t = {0};

    for (int i = 0; i < v->n_outside; i++)
        text_addf(&t, r->engine.n_banks > 1 ? "%sbank %s: %s" : "%s%.0sthe cover: %s", i ? ", " : "", r->engine.banks[v->outside[i].bank].name, amount_words(v->outside[i].amount));
    text_copy(to, n_room, v->outside_seen && v->n_outside == 0 ? "looked: nothing" : text_get(&t));
    text_release(&t);
}

void content_visit(struct maker *m, const struct record *r)
{
    static const char *const tests[] = {"Cut out one by one", "Sprayed damp", "In the dark"};
    const struct visit *v = record_current(r);
    const struct visit_care *care = &v->care;
    char words[1200] = "";
    struct cells c = {0};

    visit_format_complaint(v, words, sizeof words);
    row(m, &c, "Complaint", words);
    words[0] = '\0';
    for (int i = 0; i < v->n_codes; i++)
        text_format(words + strlen(words), sizeof words - strlen(words), "%s%s", i ? ", " : "", v->codes[i]);
    row(m, &c, "Trouble codes", words);
    row(m, &c, "How it last ran", words_label(WORDS_LAST_RUN, v->last_run));
    for (int i = 1; i <= 3; i++) {
        test_words(r, i, words, sizeof words);
        row(m, &c, tests[i - 1], words);
    }
    visit_format_removal(&r->engine, v, words, sizeof words);
    if (v->socket > 0 && words[0] != '\0')
        text_format(words + strlen(words), sizeof words - strlen(words), " (%s)", words_label(WORDS_SOCKET, v->socket));
    row(m, &c, "Order drawn", words);
    outside_words(r, words, sizeof words);
    row(m, &c, "Oil along the covers", words);
    row(m, &c, "Oil in the intake", v->oil_in_intake == 1 ? "yes" : v->oil_in_intake == 2 ? "no" : "");
    row(m, &c, "Fuel", words_label(WORDS_FUEL, v->fuel));
    row(m, &c, "Oil level", care->oil_level);
    row(m, &c, "Oil use", care->oil_use);
    visit_format_oil_change(care, words, sizeof words);
    if (care->oil_grade[0] != '\0')
        text_format(words + strlen(words), sizeof words - strlen(words), "%s%s", words[0] ? " of " : "", care->oil_grade);
    row(m, &c, "Oil changed", words);
    row(m, &c, "Oil filter", care->oil_filter);
    row(m, &c, "Weather", care->weather);
    if (care->last_day[0] != '\0')
        clock_date_words(care->last_day, words, sizeof words);
    row(m, &c, "Until", care->last_day[0] != '\0' ? words : "");
    if (c.n > 0)
        maker_part(m, REPORT_VISIT);
    facts(m, &c);
}

/* ---- plug by plug ---- */

static void zone_words(const struct reading *r, enum zone z, struct text *t)
{
    static const char *const amounts[] = {"", " (trace)", "", " (heavy)"};
    size_t n_was = t->n_bytes;

    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == z && r->amount[s] > 0)
            text_addf(t, "%s%s%s", t->n_bytes > n_was ? ", " : "", sign_row((enum sign)s)->label, amounts[r->amount[s]]);
}

#define NOT_LOOKED_AT "not looked at"

static void zone_cell(struct maker *m, struct cells *c, const struct reading *r, enum zone z)
{
    struct text t = {0};

    zone_words(r, z, &t);
    if (!reading_zone_looked(r, z))
        maker_cell(m, c, TONE_SOFT, NOT_LOOKED_AT);
    else
        maker_cell(m, c, TONE_PLAIN, t.n_bytes > 0 ? text_get(&t) : !r->zone_seen[z] ? "" : z == ZONE_WELL ? "dry, clean" : "clean");
    text_release(&t);
}

/* What else is said: the zones around the plug that are not clean, the plug's own particulars. */
static void around_cell(struct maker *m, struct cells *c, const struct reading *q)
{
    struct text t = {0};
    const char *said[] = {q->insulator > 1 ? words_label(WORDS_INSULATOR, q->insulator) : "", q->electrode > 1 ? words_label(WORDS_ELECTRODE, q->electrode) : ""};

    for (int z = ZONE_BODY; z < ZONE_COUNT; z++) {
        struct text signs = {0};

        if (z != ZONE_WELL)
            zone_words(q, (enum zone)z, &signs);
        if (signs.n_bytes > 0)
            text_addf(&t, "%s%s: %s", t.n_bytes ? "; " : "", zone_row((enum zone)z)->label, text_get(&signs));
        text_release(&signs);
    }
    if (said[0][0] != '\0')
        text_addf(&t, "%sinsulator %s", t.n_bytes ? "; " : "", said[0]);
    if (said[1][0] != '\0')
        text_addf(&t, "%selectrodes %s", t.n_bytes ? "; " : "", said[1]);
    if (strcmp(words_id(WORDS_TIGHTNESS, q->tightness), "normal") != 0 && q->tightness > 0)
        text_addf(&t, "%sfound %s", t.n_bytes ? "; " : "", words_label(WORDS_TIGHTNESS, q->tightness));
    maker_cell(m, c, TONE_PLAIN, text_get(&t));
    text_release(&t);
}

static void number_cell(struct maker *m, struct cells *c, struct maybe value, int n_decimals)
{
    char number[32] = "";

    if (value.given && n_decimals == 0)
        text_from_count(number, sizeof number, lround(value.value));
    else if (value.given)
        text_from_double(number, sizeof number, value.value, n_decimals);
    maker_cell(m, c, TONE_PLAIN, number);
}

/* "1.10", or "1.12 (from a photo …)" where a photo was measured. */
static void gap_cell(struct maker *m, struct cells *c, const struct reading *q)
{
    char number[32] = "", source[100];

    if (q->gap_mm.given)
        unit_tell_length(&m->ask->units, q->gap_mm.value, false, number, sizeof number);
    reading_format_gap_source(q, m->ask->units.inches, source, sizeof source);
    maker_cell(m, c, TONE_PLAIN, q->gap_photo_mm.given ? arena_format(m->a, "%s (%s)", number, source) : number);
}

static void pressure_cell(struct maker *m, struct cells *c, struct maybe kpa)
{
    char number[32] = "";

    if (kpa.given)
        unit_tell_pressure(&m->ask->units, kpa.value, false, number, sizeof number);
    maker_cell(m, c, TONE_PLAIN, number);
}

/* Zones by the name of all of them, in the order a job comes to them. */
static const struct {
    enum zone zone;
    const char *several;
} zones_told[] = {{ZONE_WELL, "wells"}, {ZONE_BOOT, "boots"}, {ZONE_COIL, "coils"}, {ZONE_LEAD, "leads"}, {ZONE_CONNECTOR, "connectors"}, {ZONE_FIRING_END, "firing ends"}, {ZONE_THREADS, "threads"}, {ZONE_BODY, "bodies"}};

/* A coil on each plug has no lead, and where nobody said how the sparks come, only what somebody looked at is there. */
static bool has_zone(const struct engine *en, enum zone zone, bool looked)
{
    if (zone == ZONE_WELL)
        return looked || engine_may_have_wells(en);
    if (zone == ZONE_LEAD)
        return looked || (en->ignition != ENGINE_COIL_PER_PLUG && en->ignition != ENGINE_IGNITION_UNKNOWN);
    if (zone == ZONE_COIL)
        return looked || en->ignition == ENGINE_COIL_PER_PLUG || en->ignition == ENGINE_SHARED_COIL;
    return zone != ZONE_CONNECTOR || looked || en->ignition == ENGINE_COIL_PER_PLUG;
}

/* "Not looked at: bodies of all; coils of all but 3; wells of 1, 2." A buyer takes what is not named for looked at. */
static void not_looked_at(struct maker *m, const struct record *r)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    const engine_set everyone = (((engine_set)1 << (en->n_cylinders - 1)) << 1) - 1;
    struct text all = {0}, some = {0};

    for (size_t k = 0; k < sizeof zones_told / sizeof zones_told[0]; k++) {
        engine_set unseen = 0;
        int n_unseen;

        for (int i = 0; i < record_plug_count(en); i++)
            if (!reading_zone_looked(&v->readings[i], zones_told[k].zone))
                unseen |= (engine_set)1 << (i / en->n_positions);
        if (unseen == 0 || !has_zone(en, zones_told[k].zone, unseen != everyone))
            continue;
        if (unseen == everyone) {
            text_addf(&all, "%s%s", all.n_bytes > 0 ? ", " : "", zones_told[k].several);
            continue;
        }
        n_unseen = __builtin_popcount(unseen);
        text_addf(&some, "; %s of %s", zones_told[k].several, 2 * n_unseen > en->n_cylinders ? "all but " : "");
        engine_set_labels(en, 2 * n_unseen > en->n_cylinders ? everyone & ~unseen : unseen, &some);
    }
    if (all.n_bytes > 0 && en->n_cylinders > 1)
        text_add(&all, " of all");
    if (all.n_bytes + some.n_bytes > 0)
        maker_text(m, TONE_SOFT, arena_format(m->a, "Not looked at: %s%s.", text_get(&all), some.n_bytes == 0 ? "" : text_get(&some) + (all.n_bytes > 0 ? 0 : 2)));
    text_release(&all);
    text_release(&some);
}

void content_readings(struct maker *m, const struct record *r)
{
    enum column { PLUG, FIRING_END, GAP, NOSE, WELL, THREADS, AROUND, DRY, WET, LEAK, DIFFERENTIAL, N_COLUMNS };
    const char *gap_unit = unit_choice_length(&m->ask->units)->label, *unit = unit_choice_pressure(&m->ask->units)->label;
    const char *const names[] = {"Plug", "Firing end", arena_format(m->a, "Gap, %s", gap_unit), "Nose L*", "Well", "Threads", "Around", arena_format(m->a, "Compression, %s", unit), arena_format(m->a, "wet, %s", unit), "Leak-down, %", "Over 80"};
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    bool shown[N_COLUMNS] = {[PLUG] = true, [FIRING_END] = true, [GAP] = true, [WELL] = engine_may_have_wells(en), [THREADS] = true, [AROUND] = true};
    const char **heads = arena_alloc(m->a, N_COLUMNS, sizeof *heads);
    struct cells c = {0};
    struct content_block *b;
    uint32_t numbers = 0;
    int n_columns = 0;

    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i];

        shown[NOSE] = shown[NOSE] || (q->present && q->nose_L.given);
        shown[WELL] = shown[WELL] || (q->present && reading_zone_looked(q, ZONE_WELL));
        shown[DRY] = shown[DRY] || (q->present && q->compression_kpa.given);
        shown[WET] = shown[WET] || (q->present && q->compression_wet_kpa.given);
        shown[LEAK] = shown[LEAK] || (q->present && q->leak_percent.given);
        shown[DIFFERENTIAL] = shown[DIFFERENTIAL] || (q->present && q->differential_over_80.given);
    }
    for (int k = 0; k < N_COLUMNS; k++)
        if (shown[k]) {
            if (k == GAP || k == NOSE || k >= DRY)
                numbers |= (uint32_t)1 << n_columns;
            heads[n_columns++] = names[k];
        }
    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i];
        char label[48];

        if (!q->present)
            continue;
        engine_plug_label(en, q->cylinder, q->position, label, sizeof label);
        maker_cell(m, &c, TONE_STRONG, label);
        zone_cell(m, &c, q, ZONE_FIRING_END);
        gap_cell(m, &c, q);
        if (shown[NOSE])
            number_cell(m, &c, q->nose_L, 0);
        if (shown[WELL])
            zone_cell(m, &c, q, ZONE_WELL);
        zone_cell(m, &c, q, ZONE_THREADS);
        around_cell(m, &c, q);
        if (shown[DRY])
            pressure_cell(m, &c, q->compression_kpa);
        if (shown[WET])
            pressure_cell(m, &c, q->compression_wet_kpa);
        if (shown[LEAK])
            number_cell(m, &c, q->leak_percent, 0);
        if (shown[DIFFERENTIAL])
            number_cell(m, &c, q->differential_over_80, 0);
    }
    maker_part(m, REPORT_READINGS);
    if (c.n == 0) {
        maker_text(m, TONE_SOFT, "No plug has been read yet.");
        return;
    }
    b = maker_table(m, heads, n_columns, 0, &c);
    b->numbers = numbers;
    (void)maker_drop_empty(m, b, NOT_LOOKED_AT);
    not_looked_at(m, r);
}
