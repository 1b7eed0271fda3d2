/* engine.c - the words of an engine, its cylinders, and the check of the whole. */
#include "engine/engine.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "base/units.h"

/* ---- words of the case format; the unknown one is "" ---- */

static const char *const layouts[] = {"inline", "v", "flat", "narrow-v", "w", "single", "twin", "radial"};
static const char *const ignitions[] = {"", "coil-per-plug", "shared-coil", "distributor", "magneto"};
static const char *const fuels[] = {"", "carburettor", "single-point", "port", "direct"};
static const char *const fuel_labels[] = {"", "carburettor", "one injector for all", "an injector each, in the port", "direct injection"};
static const char *const accesses[] = {"", "well", "open"};
static const char *const heads[] = {"", "aluminium", "cast-iron"};
static const char *const seats[] = {"", "gasket", "taper"};
static const char *const electrodes[] = {"", "nickel", "platinum", "iridium"};

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))
#define MISSING_TOLD 4 /* by name; of more the first, and how many else */
_Static_assert(COUNT(layouts) == ENGINE_LAYOUT_COUNT, "a word for each layout");
_Static_assert(COUNT(ignitions) == ENGINE_IGNITION_COUNT, "a word for each ignition");
_Static_assert(COUNT(fuels) == ENGINE_FUEL_COUNT, "a word for each way of the fuel");
_Static_assert(COUNT(fuel_labels) == ENGINE_FUEL_COUNT, "a label for each way of the fuel");
_Static_assert(COUNT(accesses) == ENGINE_ACCESS_COUNT, "a word for each access");
_Static_assert(COUNT(heads) == ENGINE_HEAD_COUNT, "a word for each head");
_Static_assert(COUNT(seats) == ENGINE_SEAT_COUNT, "a word for each seat");
_Static_assert(COUNT(electrodes) == ENGINE_ELECTRODE_COUNT, "a word for each electrode");

static int find(const char *const *words, size_t n, const char *id)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(words[i], id) == 0)
            return (int)i;
    return -1;
}

#define WORDS(name, table, type)                                                                   \
    const char *engine_##name##_id(type v)                                                         \
    {                                                                                              \
        assert((size_t)v < COUNT(table));                                                          \
        return table[v];                                                                           \
    }                                                                                              \
    int engine_##name##_find(const char *id)                                                       \
    {                                                                                              \
        return find(table, COUNT(table), id);                                                      \
    }
WORDS(layout, layouts, enum engine_layout)
WORDS(ignition, ignitions, enum engine_ignition)
WORDS(fuel, fuels, enum engine_fuel)
WORDS(access, accesses, enum engine_access)
WORDS(head, heads, enum engine_head)
WORDS(seat, seats, enum engine_seat)
WORDS(electrode, electrodes, enum engine_electrode)

const char *engine_fuel_label(enum engine_fuel v)
{
    assert((size_t)v < COUNT(fuel_labels));
    return fuel_labels[v];
}

/* ---- building ---- */

void engine_init(struct engine *en)
{
    memset(en, 0, sizeof *en);
    en->strokes = 4;
    en->n_positions = 1;
}

static bool label_is_sound(const char *label)
{
    size_t n = strlen(label);

    if (n == 0 || n >= ENGINE_LABEL_BYTES)
        return false;
    for (size_t i = 0; i < n; i++) {
        char c = label[i];
        bool fine = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');

        if (!fine)
            return false;
    }
    return true;
}

static bool bank_name_is_sound(const char *name)
{
    size_t n = strlen(name);

    for (size_t i = 0; i < n; i++)
        if ((unsigned char)name[i] < 0x20 || name[i] == 0x7f)
            return false;
    return text_is_utf8(name, n);
}

bool engine_add_bank(struct engine *en, const char *name, const char *const *labels, int n,
                     struct err *e)
{
    struct engine_bank *bank = &en->banks[en->n_banks];

    if (en->n_banks == ENGINE_MAX_BANKS)
        return err_set(e, ERR_LIMIT, "More than %d banks; a bank is what sits under one cover.",
                       ENGINE_MAX_BANKS);
    if (n < 1)
        return err_set(e, ERR_BADARG, "Bank %s has no cylinders.", name);
    if (en->n_cylinders + n > ENGINE_MAX_CYLINDERS)
        return err_set(e, ERR_LIMIT, "More than %d cylinders.", ENGINE_MAX_CYLINDERS);
    if (name[0] == '\0' || strlen(name) >= sizeof bank->name)
        return err_set(e, ERR_BADARG, "A bank needs a name of 1 to %zu letters.",
                       sizeof bank->name - 1);
    if (!bank_name_is_sound(name))
        return err_set(e, ERR_BADARG,
                       "The name of bank %d has signs that cannot be shown: use letters, numbers "
                       "and blanks.",
                       en->n_banks + 1);
    if (engine_find_bank(en, name) >= 0)
        return err_set(e, ERR_BADARG, "Two banks are called %s.", name);
    for (int i = 0; i < n; i++) {
        if (!label_is_sound(labels[i]))
            return err_set(e, ERR_BADARG,
                           "“%s” cannot be a cylinder: use numbers, or letters and numbers like "
                           "A1 (at most %d signs).",
                           TEXT_SHORT(labels[i], 20), ENGINE_LABEL_BYTES - 1);
        for (int k = 0; k < i; k++)
            if (strcmp(labels[k], labels[i]) == 0)
                return err_set(e, ERR_BADARG, "Bank %s lists %s twice.", name, labels[i]);
        int known = engine_find_cylinder(en, labels[i]);

        if (known >= 0)
            return err_set(e, ERR_BADARG, "Bank %s lists %s, which bank %s has already.", name,
                           labels[i], en->banks[en->cylinders[known].bank].name);
    }
    text_copy(bank->name, sizeof bank->name, name);
    bank->first = en->n_cylinders;
    bank->n_cylinders = n;
    for (int i = 0; i < n; i++) {
        struct engine_cylinder *c = &en->cylinders[en->n_cylinders++];

        text_copy(c->label, sizeof c->label, labels[i]);
        c->bank = en->n_banks;
        c->place = i;
    }
    en->n_banks++;
    return true;
}

int engine_find_cylinder(const struct engine *en, const char *label)
{
    for (int i = 0; i < en->n_cylinders; i++)
        if (strcmp(en->cylinders[i].label, label) == 0)
            return i;
    return -1;
}

int engine_find_bank(const struct engine *en, const char *name)
{
    for (int i = 0; i < en->n_banks; i++)
        if (strcmp(en->banks[i].name, name) == 0)
            return i;
    return -1;
}

engine_set engine_bank_set(const struct engine *en, int bank)
{
    engine_set set = 0;

    for (int i = 0; i < en->banks[bank].n_cylinders; i++)
        set |= (engine_set)1 << (en->banks[bank].first + i);
    return set;
}

/* ---- the check of the whole ---- */

/* "4 is missing", "4 and 5 are missing", "4, 5, 6 and 19 more are missing". */
static void add_missing(const struct engine *en, const int *seen, struct text *to)
{
    int n = 0, n_told = 0;

    for (int i = 0; i < en->n_cylinders; i++)
        n += seen[i] == 0;
    for (int i = 0; i < en->n_cylinders && n_told < (n > MISSING_TOLD ? MISSING_TOLD - 1 : n); i++)
        if (seen[i] == 0) {
            text_addf(to, "%s%s", to->n_bytes == 0 ? "" : n_told > 0 && n_told + 1 == n ? " and " : ", ", en->cylinders[i].label);
            n_told++;
        }
    if (n > n_told)
        text_addf(to, " and %d more", n - n_told);
    if (n > 0)
        text_add(to, n > 1 ? " are missing" : " is missing");
}

bool engine_check_order(const struct engine *en, const int *order, int n, struct err *e)
{
    int seen[ENGINE_MAX_CYLINDERS] = {0};
    struct text trouble = {0};
    bool fine;

    for (int i = 0; i < n; i++) {
        assert(order[i] >= 0 && order[i] < en->n_cylinders);
        seen[order[i]]++;
    }
    for (int i = 0; i < en->n_cylinders; i++)
        if (seen[i] > 1)
            text_addf(&trouble, "%s%s appears %s", trouble.n_bytes ? ", " : "",
                      en->cylinders[i].label, seen[i] == 2 ? "twice" : "several times");
    add_missing(en, seen, &trouble);
    fine = trouble.n_bytes == 0;
    if (!fine)
        err_set(e, ERR_BADARG, "Firing order: %s.", text_get(&trouble));
    text_release(&trouble);
    return fine;
}

static bool check_intervals(struct engine *en, struct err *e)
{
    double cycle = engine_cycle_deg(en), sum = 0;

    if (!en->intervals_given) {
        for (int i = 0; i < en->n_cylinders; i++)
            en->interval_deg[i] = cycle / en->n_cylinders;
        return true;
    }
    for (int i = 0; i < en->n_cylinders; i++) {
        if (!(en->interval_deg[i] >= 0) || en->interval_deg[i] > cycle)
            return err_set(e, ERR_BADARG, "An interval of %g° cannot be: it must lie between 0 and %g°.",
                           en->interval_deg[i], cycle);
        sum += en->interval_deg[i];
    }
    /* Makers print 102.857 or 51.4: rounding of a twentieth of a degree
     * an interval is let through. */
    if (fabs(sum - cycle) > 0.05 * en->n_cylinders + 0.01)
        return err_set(e, ERR_BADARG,
                       "The intervals add up to %g°; a %s-stroke engine turns %g° for one cycle.",
                       round(sum * 10) / 10, en->strokes == 2 ? "two" : "four", cycle);
    return true;
}

static bool check_layout(const struct engine *en, struct err *e)
{
    int n = en->n_cylinders, b = en->n_banks;

    switch (en->layout) {
    case ENGINE_SINGLE:
        if (n != 1)
            return err_set(e, ERR_BADARG, "A single has one cylinder; %d are written.", n);
        break;
    case ENGINE_TWIN:
        if (n != 2)
            return err_set(e, ERR_BADARG, "A twin has two cylinders; %d are written.", n);
        break;
    case ENGINE_INLINE:
    case ENGINE_NARROW_V:
        if (b != 1)
            return err_set(e, ERR_BADARG,
                           "%s has one bank (one cover); %d are written. Put all cylinders in one "
                           "row, front to rear.",
                           en->layout == ENGINE_INLINE ? "An inline engine" : "A narrow-angle V", b);
        break;
    case ENGINE_V:
    case ENGINE_FLAT:
        if (b != 2)
            return err_set(e, ERR_BADARG,
                           "A %s engine has two banks; %d %s written. Separate them with a slash: "
                           "1 3 5 7 / 2 4 6 8.",
                           en->layout == ENGINE_V ? "V" : "flat", b, b == 1 ? "is" : "are");
        break;
    case ENGINE_W:
        if (b < 2 || b > 4)
            return err_set(e, ERR_BADARG, "A W engine has two to four banks; %d %s written.", b,
                           b == 1 ? "is" : "are");
        break;
    case ENGINE_RADIAL:
        if (b > 4)
            return err_set(e, ERR_BADARG, "A radial has one bank for each row; %d are written.", b);
        for (int i = 0; i < b; i++)
            if (en->banks[i].n_cylinders < 3)
                return err_set(e, ERR_BADARG,
                               "A row of a radial has at least three cylinders; row %s has %d.",
                               en->banks[i].name, en->banks[i].n_cylinders);
        break;
    case ENGINE_LAYOUT_COUNT:
        assert(false && "layout");
    }
    return true;
}

bool engine_finish(struct engine *en, struct err *e)
{
    if (en->n_cylinders == 0)
        return err_set(e, ERR_BADARG, "Write the cylinders of each bank, front to rear.");
    if (en->strokes != 2 && en->strokes != 4)
        return err_set(e, ERR_BADARG, "Strokes must be 2 or 4, not %d.", en->strokes);
    if (en->n_positions < 1 || en->n_positions > ENGINE_MAX_POSITIONS)
        return err_set(e, ERR_BADARG, "A cylinder has 1 to %d plugs here, not %d.",
                       ENGINE_MAX_POSITIONS, en->n_positions);
    if (!check_layout(en, e) || !engine_check_order(en, en->firing, en->n_cylinders, e) || !check_intervals(en, e))
        return false;
    if (en->plug.gap_min_mm > 0 && en->plug.gap_max_mm > 0 && en->plug.gap_min_mm > en->plug.gap_max_mm)
        return err_set(e, ERR_BADARG, "The gap range runs from %.2f to %.2f mm (%.3f to %.3f in): the smaller comes first.", en->plug.gap_min_mm,
                       en->plug.gap_max_mm, en->plug.gap_min_mm / MM_PER_INCH, en->plug.gap_max_mm / MM_PER_INCH);
    if (en->plug.gap_limit_mm > 0 && en->plug.gap_max_mm > 0 &&
        en->plug.gap_limit_mm < en->plug.gap_max_mm)
        return err_set(e, ERR_BADARG, "The gap limit of %.2f mm (%.3f in) lies below the largest gap to set, %.2f mm (%.3f in).", en->plug.gap_limit_mm,
                       en->plug.gap_limit_mm / MM_PER_INCH, en->plug.gap_max_mm, en->plug.gap_max_mm / MM_PER_INCH);
    if (en->n_positions > 1)
        for (int i = 0; i < en->n_positions; i++)
            if (en->position_names[i][0] == '\0') {
                static const char *const usual[] = {"top", "bottom", "third", "fourth"};

                text_copy(en->position_names[i], sizeof en->position_names[i], usual[i]);
            }
    if (en->ignition != ENGINE_SHARED_COIL && !en->coil_groups_given)
        en->n_coil_groups = 0;
    if (en->ignition == ENGINE_SHARED_COIL && !en->coil_groups_given) {
        engine_set done = 0;

        en->n_coil_groups = 0;
        for (int i = 0; i < en->n_cylinders; i++) { /* in firing order, as the reference writes them */
            int c = en->firing[i];
            engine_set pair = engine_kin(en, c, ENGINE_KIN_COMPANION);

            if (pair != 0 && (done >> c & 1u) == 0) {
                en->coil_groups[en->n_coil_groups++] = pair | (engine_set)1 << c;
                done |= pair | (engine_set)1 << c;
            }
        }
    }
    return true;
}
