#include "screen/engine_form.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "record/record.h"

static const struct engine_form_row text_rows[ENGINE_FORM_WORDS_COUNT] = {
    [ENGINE_FORM_BANKS] = {"new.banks", "Numbering, front to rear", "1 3 5 7 / 2 4 6 8", NULL, NULL},
    [ENGINE_FORM_FIRING] = {"new.firing", "Firing order", "1 8 4 3 6 5 7 2", NULL, NULL},
    [ENGINE_FORM_INTERVALS] = {"new.intervals", "Intervals, ° of crank (empty: even)", "even", NULL, NULL},
    [ENGINE_FORM_COILS] = {"new.coils", "On one coil (empty: 360° apart)", "1+4 2+3", NULL, NULL},
    [ENGINE_FORM_MIXTURE] = {"new.mixture", "On one carburettor or throttle", "one for all, or 1+2+3 4+5+6", NULL, NULL},
    [ENGINE_FORM_BREATHER] = {"new.breather", "Breather enters near", "not said, or 4 5", NULL, NULL},
    [ENGINE_FORM_POSITIONS] = {"new.position-names", "A cylinder's plugs are called", "top, bottom", NULL, NULL},
};

static const struct engine_form_row figure_rows[ENGINE_FORM_FIGURE_COUNT] = {
    [ENGINE_FORM_GAP_MIN] = {"new.gap-min", "Gap from, mm", "1.00", "Gap from, in", "0.039"},
    [ENGINE_FORM_GAP_MAX] = {"new.gap-max", "Gap to, mm", "1.30", "Gap to, in", "0.051"},
    [ENGINE_FORM_GAP_LIMIT] = {"new.gap-limit", "Renew past, mm", "1.40", "Renew past, in", "0.055"},
    [ENGINE_FORM_TORQUE] = {"new.torque", "Maker's torque, N·m", "28, or 20 lbf·ft", "Maker's torque, lbf·ft", "20, or 28 N·m"},
    [ENGINE_FORM_HEX] = {"new.hex", "Hex, mm", "16, or 5/8 in", NULL, NULL},
    [ENGINE_FORM_HEAT] = {"new.heat", "Heat, steps off the book", "0; +1 hotter", NULL, NULL},
};

const struct engine_form_row *engine_form_words_row(enum engine_form_words field)
{
    assert(field < ENGINE_FORM_WORDS_COUNT);
    return &text_rows[field];
}

const char *engine_form_words_label(const struct engine_form *f, enum engine_form_words field)
{
    if (field == ENGINE_FORM_BANKS && f->layout == ENGINE_RADIAL)
        return "Clockwise from the top, seen from the front";
    return engine_form_words_row(field)->label;
}

const struct engine_form_row *engine_form_figure_row(enum engine_form_figure field)
{
    assert(field < ENGINE_FORM_FIGURE_COUNT);
    return &figure_rows[field];
}

/* ---- into the fields ---- */

static void fill_numbering(struct engine_form *f, const struct engine *en)
{
    f->layout = (int)en->layout;
    f->strokes = en->strokes;
    engine_format_banks(en, f->words[ENGINE_FORM_BANKS], sizeof f->words[0]);
    engine_format_firing(en, f->words[ENGINE_FORM_FIRING], sizeof f->words[0]);
    engine_format_intervals(en, f->words[ENGINE_FORM_INTERVALS], sizeof f->words[0]);
}

static void fill_positions(struct engine_form *f, const struct engine *en)
{
    f->n_positions = en->n_positions;
    f->words[ENGINE_FORM_POSITIONS][0] = '\0';
    for (int i = 0; i < en->n_positions && en->n_positions > 1; i++) {
        size_t n = strlen(f->words[ENGINE_FORM_POSITIONS]);

        text_format(f->words[ENGINE_FORM_POSITIONS] + n, sizeof f->words[0] - n, "%s%s", i ? ", " : "", en->position_names[i]);
    }
}

/* What a ready-made one has besides its numbering; what the one before had, and is still so, is no longer said. */
static void fill_besides(struct engine_form *f, const struct engine_preset *before, const struct engine_preset *p)
{
    const struct engine *was = before != NULL ? &before->engine : NULL, *en = &p->engine;

    if (en->ignition != ENGINE_IGNITION_UNKNOWN || (was != NULL && was->ignition != ENGINE_IGNITION_UNKNOWN && f->ignition == (int)was->ignition))
        f->ignition = (int)en->ignition;
    if (en->access != ENGINE_ACCESS_UNKNOWN || (was != NULL && was->access != ENGINE_ACCESS_UNKNOWN && f->access == (int)was->access))
        f->access = (int)en->access;
    if (en->n_positions > 1 || (was != NULL && was->n_positions > 1 && f->n_positions == was->n_positions))
        fill_positions(f, en);
}

void engine_form_take_preset(struct engine_form *f, const struct engine_preset *p)
{
    fill_besides(f, engine_find_preset(f->preset), p);
    text_copy(f->preset, sizeof f->preset, p->id);
    fill_numbering(f, &p->engine);
    /* said of cylinders that may be others now */
    f->words[ENGINE_FORM_COILS][0] = f->words[ENGINE_FORM_MIXTURE][0] = f->words[ENGINE_FORM_BREATHER][0] = '\0';
    f->touched = true;
}

static bool is_as_preset(const struct engine_form *f, const struct engine_preset *p)
{
    struct engine_form as_taken = {0};
    bool same;

    fill_numbering(&as_taken, &p->engine);
    same = f->layout == as_taken.layout && f->strokes == as_taken.strokes;
    for (int i = ENGINE_FORM_BANKS; i <= ENGINE_FORM_INTERVALS; i++)
        same = same && strcmp(f->words[i], as_taken.words[i]) == 0;
    return same;
}

bool engine_form_is_preset(const struct engine_form *f, const struct engine_preset *p)
{
    const struct engine_preset *taken = engine_find_preset(f->preset), *all;
    size_t n;

    if (taken != NULL && is_as_preset(f, taken)) /* of several that are alike here the one that was taken */
        return p == taken;
    all = engine_presets(&n);
    for (size_t i = 0; i < n; i++) /* changed by hand into another one */
        if (is_as_preset(f, &all[i]))
            return p == &all[i];
    return false;
}

void engine_form_begin(struct engine_form *f, bool inches)
{
    char editing[UUID_BYTES];

    text_copy(editing, sizeof editing, f->editing);
    memset(f, 0, sizeof *f);
    text_copy(f->editing, sizeof f->editing, editing);
    f->inches = inches;
    engine_form_take_preset(f, engine_find_preset("i4"));
    f->n_positions = 1;
}

bool engine_form_same(const struct engine_form *a, const struct engine_form *b)
{
    const int *x[] = {&a->layout, &a->strokes, &a->n_positions, &a->ignition, &a->fuel, &a->seat, &a->electrode, &a->access, &a->head};
    const int *y[] = {&b->layout, &b->strokes, &b->n_positions, &b->ignition, &b->fuel, &b->seat, &b->electrode, &b->access, &b->head};
    bool same = strcmp(a->name, b->name) == 0 && strcmp(a->subtitle, b->subtitle) == 0 && strcmp(a->thread, b->thread) == 0 && strcmp(a->plug_type, b->plug_type) == 0;

    for (size_t i = 0; i < sizeof x / sizeof x[0]; i++)
        same = same && *x[i] == *y[i];
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        same = same && strcmp(a->words[i], b->words[i]) == 0;
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++)
        same = same && strcmp(a->figures[i], b->figures[i]) == 0;
    return same;
}

/* Torque goes with the length. */
static const struct unit *torque_unit(const struct engine_form *f)
{
    return unit_find(f->inches ? "lbf.ft" : "Nm");
}

/* A gap with the decimals of its unit; nothing where none is said. */
static void fill_gap(struct engine_form *f, enum engine_form_figure field, double mm)
{
    if (mm > 0)
        text_from_double(f->figures[field], sizeof f->figures[field], f->inches ? mm / MM_PER_INCH : mm, f->inches ? 3 : 2);
}

void engine_form_fill(struct engine_form *f, const struct engine *en, bool inches)
{
    engine_form_begin(f, inches);
    f->preset[0] = '\0';
    text_copy(f->name, sizeof f->name, en->name);
    text_copy(f->subtitle, sizeof f->subtitle, en->subtitle);
    fill_numbering(f, en);
    fill_positions(f, en);
    f->ignition = (int)en->ignition;
    f->seat = (int)en->plug.seat;
    f->electrode = (int)en->plug.electrode;
    f->fuel = (int)en->fuel;
    f->access = (int)en->access;
    f->head = (int)en->head;
    text_copy(f->thread, sizeof f->thread, en->plug.thread);
    text_copy(f->plug_type, sizeof f->plug_type, en->plug.type);
    if (en->coil_groups_given)
        engine_format_groups(en, en->coil_groups, en->n_coil_groups, f->words[ENGINE_FORM_COILS], sizeof f->words[0]);
    engine_format_groups(en, en->mixture_groups, en->n_mixture_groups, f->words[ENGINE_FORM_MIXTURE], sizeof f->words[0]);
    if (en->breather_near != 0)
        engine_format_groups(en, &en->breather_near, 1, f->words[ENGINE_FORM_BREATHER], sizeof f->words[0]);
    f->before = en->plug;
    fill_gap(f, ENGINE_FORM_GAP_MIN, en->plug.gap_min_mm);
    fill_gap(f, ENGINE_FORM_GAP_MAX, en->plug.gap_max_mm);
    fill_gap(f, ENGINE_FORM_GAP_LIMIT, en->plug.gap_limit_mm);
    if (en->plug.maker_torque_nm > 0)
        text_from_double(f->figures[ENGINE_FORM_TORQUE], ENGINE_FORM_FIGURE_BYTES, unit_convert(en->plug.maker_torque_nm, unit_find("Nm"), torque_unit(f)), 1);
    if (en->plug.hex_mm > 0)
        text_from_double(f->figures[ENGINE_FORM_HEX], ENGINE_FORM_FIGURE_BYTES, en->plug.hex_mm, 1);
    if (en->plug.heat_given)
        text_format(f->figures[ENGINE_FORM_HEAT], ENGINE_FORM_FIGURE_BYTES, en->plug.heat_steps > 0 ? "+%d" : "%d", en->plug.heat_steps);
    memcpy(f->filled, f->figures, sizeof f->filled);
}

/* ---- out of them ---- */

static bool is_filled(const struct engine_form *f, enum engine_form_figure field)
{
    return strcmp(f->figures[field], f->filled[field]) == 0;
}

void engine_form_set_inches(struct engine_form *f, bool inches)
{
    const double before[] = {f->before.gap_min_mm, f->before.gap_max_mm, f->before.gap_limit_mm};
    const struct unit *was = torque_unit(f), *unit;
    double nm = f->before.maker_torque_nm;
    bool torque = is_filled(f, ENGINE_FORM_TORQUE) ? nm > 0 : unit_parse_torque(f->figures[ENGINE_FORM_TORQUE], was, &nm, &unit), filled = is_filled(f, ENGINE_FORM_TORQUE);
    int32_t um[3];
    bool gaps[3];

    if (f->inches == inches)
        return;
    for (int i = 0; i < 3; i++)
        gaps[i] = !is_filled(f, (enum engine_form_figure)i) && record_read_gap(f->figures[i], f->inches, &um[i], NULL);
    f->inches = inches;
    for (int i = 0; i < 3; i++) {
        if (is_filled(f, (enum engine_form_figure)i)) {
            fill_gap(f, (enum engine_form_figure)i, before[i]);
            text_copy(f->filled[i], sizeof f->filled[i], f->figures[i]);
        } else if (gaps[i]) {
            fill_gap(f, (enum engine_form_figure)i, um[i] / 1000.0);
        }
    }
    if (torque)
        text_from_double(f->figures[ENGINE_FORM_TORQUE], ENGINE_FORM_FIGURE_BYTES, unit_convert(nm, unit_find("Nm"), torque_unit(f)), 1);
    if (torque && filled)
        text_copy(f->filled[ENGINE_FORM_TORQUE], ENGINE_FORM_FIGURE_BYTES, f->figures[ENGINE_FORM_TORQUE]);
}

/* Less than any book asks for: thousandths taken for hundredths, or a slip, where no unit is named. The smallest gap known is
 * 0.406 mm (aircraft magnetos), the smallest torque 7.86 N·m (M8, assets/torque.csv); some room below. */
#define BOOK_GAP_LEAST_MM 0.35
#define BOOK_TORQUE_LEAST_NM 5.0

static bool gap_asks(const struct engine_form *f, const char *typed, double mm, struct err *e)
{
    int32_t meant = 0;
    char inch[64] = "";

    if (mm <= 0 || mm >= BOOK_GAP_LEAST_MM || strpbrk(typed, "mit\"") != NULL)
        return false;
    if (f->inches) {
        err_set(e, ERR_BADARG, "“%s” would be %.3f in, no book's gap. If it is so, “%.3f in”.", typed, mm / MM_PER_INCH, mm / MM_PER_INCH);
        return true;
    }
    if (strpbrk(typed, ".,") == NULL && unit_parse_gap(typed, true, &meant))
        text_format(inch, sizeof inch, "Inches? Then “%.3f in” (%.2f mm); else", meant / 1000.0 / MM_PER_INCH, meant / 1000.0);
    err_set(e, ERR_BADARG, "“%s” would be %.2f mm, no book's gap. %s “%.2f mm”.", typed, mm, inch[0] != '\0' ? inch : "Inches are typed “0.024 in”; if it is so,", mm);
    return true;
}

/* A gap of the range, 0 where none is said. */
static bool read_gap(const struct engine_form *f, enum engine_form_figure field, double before, double *mm, struct err *e)
{
    struct err why = {0};
    int32_t um = 0;

    *mm = 0;
    if (is_filled(f, field)) {
        *mm = before;
        return true;
    }
    if (f->figures[field][0] == '\0')
        return true;
    if (!record_read_gap(f->figures[field], f->inches, &um, &why))
        return err_set(e, ERR_BADARG, "%s: %s", (f->inches ? figure_rows[field].label_inches : figure_rows[field].label), why.text);
    *mm = um / 1000.0;
    return !gap_asks(f, f->figures[field], *mm, e);
}

static bool read_torque(const struct engine_form *f, double *nm, struct err *e)
{
    const char *typed = f->figures[ENGINE_FORM_TORQUE];
    const struct unit *unit;

    *nm = 0;
    if (is_filled(f, ENGINE_FORM_TORQUE))
        *nm = f->before.maker_torque_nm;
    else if (typed[0] != '\0' && !unit_parse_torque(typed, torque_unit(f), nm, &unit))
        return err_set(e, ERR_BADARG, f->inches ? "Torque: “%s” is no torque of a plug. Write 20 (lbf·ft), or 28 N·m." : "Torque: “%s” is no torque of a plug. Write 28 (N·m), or 20 lbf·ft.", typed);
    else if (typed[0] != '\0' && *nm < BOOK_TORQUE_LEAST_NM && strspn(typed, "0123456789., ") == strlen(typed))
        return err_set(e, ERR_BADARG, "“%s” would be %s %s, less than any plug takes. If it is so, “%s %s”.", typed, typed, unit->label, typed, unit->label);
    return true;
}

/* "16", "20,8", "5/8 in", "0.875 in": across flats. Plugs have 8 to 32 mm (assets/hex.csv and some room). */
static bool read_hex(const struct engine_form *f, double *mm, struct err *e)
{
    const char *typed = f->figures[ENGINE_FORM_HEX];
    char figure[ENGINE_FORM_FIGURE_BYTES], *slash;
    double over, under = 1;
    bool inches;
    size_t n;

    *mm = 0;
    if (is_filled(f, ENGINE_FORM_HEX)) {
        *mm = f->before.hex_mm;
        return true;
    }
    if (typed[0] == '\0')
        return true;
    text_copy(figure, sizeof figure, typed);
    n = strlen(figure);
    inches = text_ends(figure, "in") || text_ends(figure, "\"");
    n -= text_ends(figure, "in") || text_ends(figure, "mm") ? 2 : inches ? 1 : 0;
    figure[n] = '\0';
    slash = strchr(figure, '/');
    if (slash != NULL) { /* fractions are of an inch */
        inches = true;
        *slash = '\0';
    }
    if (text_to_double(figure, &over) && (slash == NULL || (text_to_double(slash + 1, &under) && under > 0)))
        *mm = over / under * (inches ? MM_PER_INCH : 1);
    if (!(*mm >= 8 && *mm <= 32))
        return err_set(e, ERR_BADARG, "Hex: “%s” is not the size across flats of a plug, 8 to 32 mm. Write 16, or 5/8 in.", typed);
    return true;
}

static bool read_heat(const struct engine_form *f, struct engine_plug_spec *plug, struct err *e)
{
    const char *typed = f->figures[ENGINE_FORM_HEAT];
    long steps = 0;

    plug->heat_given = typed[0] != '\0';
    if (plug->heat_given && (!text_to_long(typed, &steps) || steps < -9 || steps > 9))
        return err_set(e, ERR_BADARG, "Heat: “%s” is no number of steps. 0 is the plug of the maker's book, +1 one step hotter, -1 one colder.", typed);
    plug->heat_steps = (int)steps;
    return true;
}

static bool read_groups(const struct engine *en, const char *what, const char *typed, engine_set *groups, int *n, struct err *e)
{
    struct err why = {0};

    return engine_parse_groups(en, typed, groups, n, &why) || err_set(e, ERR_BADARG, "%s: %s", what, why.text);
}

static bool read_positions(const struct engine_form *f, struct engine *en, struct err *e)
{
    const char *at = f->words[ENGINE_FORM_POSITIONS];
    int n = 0;

    memset(en->position_names, 0, sizeof en->position_names);
    if (en->n_positions < 2 || at[strspn(at, " ")] == '\0')
        return true;
    for (; *at != '\0'; n++) {
        size_t len;

        at += strspn(at, " ");
        len = strcspn(at, ",");
        if (n < en->n_positions) {
            char *name = en->position_names[n];

            text_format(name, sizeof en->position_names[n], "%.*s", (int)len, at);
            for (size_t k = strlen(name); k > 0 && name[k - 1] == ' '; k--)
                name[k - 1] = '\0';
        }
        at += len + (at[len] == ',');
    }
    if (n == en->n_positions)
        return true;
    return err_set(e, ERR_BADARG, "“%s” names %d of a cylinder's %d plugs. Write %d names with commas between, as top, bottom.", f->words[ENGINE_FORM_POSITIONS], n, en->n_positions, en->n_positions);
}

static bool read_figure(const struct engine_form *f, enum engine_form_figure field, struct engine *en, struct err *e)
{
    switch (field) {
    case ENGINE_FORM_GAP_MIN: return read_gap(f, field, f->before.gap_min_mm, &en->plug.gap_min_mm, e);
    case ENGINE_FORM_GAP_MAX: return read_gap(f, field, f->before.gap_max_mm, &en->plug.gap_max_mm, e);
    case ENGINE_FORM_GAP_LIMIT: return read_gap(f, field, f->before.gap_limit_mm, &en->plug.gap_limit_mm, e);
    case ENGINE_FORM_TORQUE: return read_torque(f, &en->plug.maker_torque_nm, e);
    case ENGINE_FORM_HEX: return read_hex(f, &en->plug.hex_mm, e);
    case ENGINE_FORM_HEAT: return read_heat(f, &en->plug, e);
    case ENGINE_FORM_FIGURE_COUNT: break;
    }
    return true;
}

/* Those before it are read. */
static bool read_words(const struct engine_form *f, enum engine_form_words field, struct engine *en, struct err *e)
{
    const char *typed = f->words[field];
    engine_set near[ENGINE_MAX_CYLINDERS];
    int n = 0;

    switch (field) {
    case ENGINE_FORM_BANKS: return engine_parse_banks(en, typed, e);
    case ENGINE_FORM_FIRING: return engine_parse_firing(en, typed, e);
    case ENGINE_FORM_INTERVALS: return engine_parse_intervals(en, typed, e);
    case ENGINE_FORM_COILS:
        if (!read_groups(en, "Coils", typed, en->coil_groups, &en->n_coil_groups, e))
            return false;
        en->coil_groups_given = en->n_coil_groups > 0;
        return true;
    case ENGINE_FORM_MIXTURE: return read_groups(en, "Mixture", typed, en->mixture_groups, &en->n_mixture_groups, e);
    case ENGINE_FORM_BREATHER:
        if (!read_groups(en, "Breather", typed, near, &n, e))
            return false;
        for (int i = 0; i < n; i++)
            en->breather_near |= near[i];
        return true;
    case ENGINE_FORM_POSITIONS: return read_positions(f, en, e);
    case ENGINE_FORM_WORDS_COUNT: break;
    }
    return true;
}

/* What is picked, and the names. */
static void begin_engine(const struct engine_form *f, struct engine *en)
{
    engine_init(en);
    text_copy(en->name, sizeof en->name, f->name);
    text_copy(en->subtitle, sizeof en->subtitle, f->subtitle);
    en->layout = (enum engine_layout)f->layout;
    en->strokes = f->strokes ? f->strokes : 4;
    en->n_positions = f->n_positions ? f->n_positions : 1;
    en->ignition = (enum engine_ignition)f->ignition;
    en->fuel = (enum engine_fuel)f->fuel;
    en->access = (enum engine_access)f->access;
    en->head = (enum engine_head)f->head;
    en->plug.seat = (enum engine_seat)f->seat;
    en->plug.electrode = (enum engine_electrode)f->electrode;
    text_copy(en->plug.thread, sizeof en->plug.thread, f->thread);
    text_copy(en->plug.type, sizeof en->plug.type, f->plug_type + strspn(f->plug_type, " "));
}

bool engine_form_engine(const struct engine_form *f, struct engine *en, struct err *e)
{
    begin_engine(f, en);
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++)
        if (!read_figure(f, (enum engine_form_figure)i, en, e))
            return false;
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        if (!read_words(f, (enum engine_form_words)i, en, e))
            return false;
    return engine_finish(en, e);
}

void engine_form_troubles(const struct engine_form *f, struct engine_form_troubles *out)
{
    struct engine en;
    bool fine[ENGINE_FORM_WORDS_COUNT] = {false};

    memset(out, 0, sizeof *out);
    begin_engine(f, &en);
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++) {
        struct err e = {0};

        if (!read_figure(f, (enum engine_form_figure)i, &en, &e))
            text_copy(out->figures[i], sizeof out->figures[i], e.text);
    }
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++) {
        struct err e = {0};
        const bool told = (i == ENGINE_FORM_BANKS || fine[ENGINE_FORM_BANKS]) && (i != ENGINE_FORM_INTERVALS || fine[ENGINE_FORM_FIRING]);

        fine[i] = told && read_words(f, (enum engine_form_words)i, &en, &e);
        if (!fine[i])
            text_copy(out->words[i], sizeof out->words[i], e.text);
    }
}

bool engine_form_drawing(const struct engine_form *f, struct engine *en, struct err *e)
{
    static const enum engine_form_words besides[] = {ENGINE_FORM_COILS, ENGINE_FORM_MIXTURE, ENGINE_FORM_BREATHER, ENGINE_FORM_POSITIONS};
    struct engine_form bare = *f;

    if (engine_form_engine(f, en, NULL))
        return true;
    memset(bare.figures, 0, sizeof bare.figures);
    memset(bare.filled, 0, sizeof bare.filled);
    memset(&bare.before, 0, sizeof bare.before);
    if (engine_form_engine(&bare, en, NULL))
        return true;
    for (size_t i = 0; i < sizeof besides / sizeof besides[0]; i++)
        bare.words[besides[i]][0] = '\0';
    return engine_form_engine(&bare, en, e);
}

bool engine_form_named(const struct engine_form *f, struct err *e)
{
    return f->name[strspn(f->name, " \t\n")] != '\0' || err_set(e, ERR_BADARG, "Give the engine a name.");
}
