/* engine_kin.c - crank angles, neighbours, places on the drawing, and the words for them. */
#include "engine/engine.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/text.h"

#define BIT(i) ((engine_set)1 << (i))

double engine_cycle_deg(const struct engine *en)
{
    return en->strokes == 2 ? 360.0 : 720.0;
}

int engine_firing_position(const struct engine *en, int cylinder)
{
    for (int i = 0; i < en->n_cylinders; i++)
        if (en->firing[i] == cylinder)
            return i;
    assert(false && "every cylinder fires");
    return 0;
}

double engine_firing_angle_deg(const struct engine *en, int cylinder)
{
    int position = engine_firing_position(en, cylinder);
    double angle = 0;

    for (int i = 0; i < position; i++)
        angle += en->interval_deg[i];
    return angle;
}

bool engine_is_odd_fire(const struct engine *en)
{
    for (int i = 1; i < en->n_cylinders; i++)
        if (fabs(en->interval_deg[i] - en->interval_deg[0]) > 0.5)
            return true;
    return false;
}

static bool is_ring(const struct engine *en)
{
    return en->layout == ENGINE_RADIAL;
}

static engine_set adjacent(const struct engine *en, int c)
{
    const struct engine_bank *bank = &en->banks[en->cylinders[c].bank];
    int n = bank->n_cylinders, place = en->cylinders[c].place;
    engine_set set = 0;

    if (place > 0)
        set |= BIT(c - 1);
    else if (is_ring(en) && n > 2)
        set |= BIT(bank->first + n - 1);
    if (place + 1 < n)
        set |= BIT(c + 1);
    else if (is_ring(en) && n > 2)
        set |= BIT(bank->first);
    return set;
}

/* Facing it: the same place on the other banks; in a two-row radial the two of the other row that
 * look through the gaps. */
static engine_set across(const struct engine *en, int c)
{
    int place = en->cylinders[c].place;
    engine_set set = 0;

    for (int b = 0; b < en->n_banks; b++) {
        const struct engine_bank *bank = &en->banks[b];

        if (b == en->cylinders[c].bank)
            continue;
        if (is_ring(en)) {
            int n = bank->n_cylinders;
            int other = b > en->cylinders[c].bank ? (place + n - 1) % n : (place + 1) % n;

            if (place < n)
                set |= BIT(bank->first + place) | BIT(bank->first + other);
        } else if (place < bank->n_cylinders) {
            set |= BIT(bank->first + place);
        }
    }
    return set;
}

static engine_set companions(const struct engine *en, int c)
{
    engine_set set = 0;
    double mine;

    if (en->strokes != 4)
        return 0;
    mine = engine_firing_angle_deg(en, c);
    for (int i = 0; i < en->n_cylinders; i++)
        if (i != c && fabs(fabs(engine_firing_angle_deg(en, i) - mine) - 360.0) < 0.5)
            set |= BIT(i);
    return set;
}

static engine_set others_of(const engine_set *groups, int n, int c)
{
    for (int g = 0; g < n; g++)
        if ((groups[g] & BIT(c)) != 0)
            return groups[g] & ~BIT(c);
    return 0;
}

engine_set engine_kin(const struct engine *en, int c, enum engine_kin kind)
{
    int at;

    assert(c >= 0 && c < en->n_cylinders);
    switch (kind) {
    case ENGINE_KIN_BANK:
        return engine_bank_set(en, en->cylinders[c].bank) & ~BIT(c);
    case ENGINE_KIN_ADJACENT:
        return adjacent(en, c);
    case ENGINE_KIN_ACROSS:
        return across(en, c);
    case ENGINE_KIN_FIRING:
        at = engine_firing_position(en, c);
        return (BIT(en->firing[(at + 1) % en->n_cylinders]) |
                BIT(en->firing[(at + en->n_cylinders - 1) % en->n_cylinders])) & ~BIT(c);
    case ENGINE_KIN_COMPANION:
        return companions(en, c);
    case ENGINE_KIN_COIL:
        return others_of(en->coil_groups, en->n_coil_groups, c);
    case ENGINE_KIN_MIXTURE:
        return others_of(en->mixture_groups, en->n_mixture_groups, c);
    case ENGINE_KIN_COUNT:
        break;
    }
    assert(false && "kind");
    return 0;
}

const char *engine_kin_words(enum engine_kin kind)
{
    static const char *const words[] = {"the others of its bank",
                                        "its neighbours along the bank",
                                        "the cylinder facing it",
                                        "those that fire just before and after",
                                        "its 360° companion",
                                        "the other plug of its coil",
                                        "the others of its mixture group"};

    _Static_assert(sizeof words / sizeof words[0] == ENGINE_KIN_COUNT, "words for each kind");
    return words[kind];
}

/* ---- drawing places ---- */

#define PI 3.14159265358979323846

/* Radius at which n bores of pitch 1 stand clear of each other. */
static double ring_radius(int n)
{
    double r = 0.55 / sin(PI / (n > 2 ? n : 3));

    return r < 0.9 ? 0.9 : r;
}

static double widest_ring(const struct engine *en)
{
    double r = 0;

    for (int b = 0; b < en->n_banks; b++)
        r = fmax(r, ring_radius(en->banks[b].n_cylinders) + 1.05 * (en->n_banks - 1 - b));
    return r;
}

struct engine_spot engine_spot(const struct engine *en, int c)
{
    int bank = en->cylinders[c].bank, place = en->cylinders[c].place;
    struct engine_spot spot = {0.5, 0.5};

    switch (en->layout) {
    case ENGINE_RADIAL: {
        double middle = widest_ring(en) + 0.5;
        double r = ring_radius(en->banks[bank].n_cylinders) + 1.05 * (en->n_banks - 1 - bank);
        int n = en->banks[bank].n_cylinders;
        double turn = 2 * PI * (place + (bank % 2 ? 0.5 : 0.0)) / n;

        spot.x = middle + r * sin(turn);
        spot.y = middle - r * cos(turn);
        break;
    }
    case ENGINE_NARROW_V:
        spot.x = 0.5 + place * 0.75;
        spot.y = place % 2 ? 1.55 : 0.5;
        break;
    case ENGINE_SINGLE:
    case ENGINE_TWIN:
    case ENGINE_INLINE:
    case ENGINE_V:
    case ENGINE_FLAT:
    case ENGINE_W:
    case ENGINE_LAYOUT_COUNT:
        spot.x = 0.5 + place;
        spot.y = 0.5 + 1.5 * (en->n_banks - 1 - bank);
        break;
    }
    return spot;
}

struct engine_spot engine_extent(const struct engine *en)
{
    struct engine_spot size = {0, 0};

    for (int i = 0; i < en->n_cylinders; i++) {
        struct engine_spot s = engine_spot(en, i);

        size.x = fmax(size.x, s.x + 0.5);
        size.y = fmax(size.y, s.y + 0.5);
    }
    if (en->layout == ENGINE_RADIAL)
        size.x = size.y = 2 * (widest_ring(en) + 0.5);
    return size;
}

/* ---- words ---- */

void engine_plug_label(const struct engine *en, int c, int position, char *to, size_t n_room)
{
    if (en->n_positions > 1)
        text_format(to, n_room, "%s %s", en->cylinders[c].label, en->position_names[position]);
    else
        text_copy(to, n_room, en->cylinders[c].label);
}

static const char *ending(int n)
{
    if (n % 100 >= 11 && n % 100 <= 13)
        return "th";
    return n % 10 == 1 ? "st" : n % 10 == 2 ? "nd" : n % 10 == 3 ? "rd" : "th";
}

static void ordinal(int n, char *to, size_t n_room)
{
    static const char *const words[] = {"first", "second", "third", "fourth", "fifth",
                                        "sixth", "seventh", "eighth", "ninth", "tenth"};

    if (n >= 1 && n <= 10)
        text_copy(to, n_room, words[n - 1]);
    else
        text_format(to, n_room, "%d%s", n, ending(n));
}

void engine_describe_cylinder(const struct engine *en, int c, char *to, size_t n_room)
{
    const struct engine_bank *bank = &en->banks[en->cylinders[c].bank];
    int place = en->cylinders[c].place, at = engine_firing_position(en, c), n = en->n_cylinders;
    char where[48];
    struct text t = {0};

    if (n == 1) {
        text_copy(to, n_room, "the only cylinder");
        return;
    }
    if (en->n_banks > 1)
        text_addf(&t, "%s %s", en->layout == ENGINE_RADIAL ? "row" : "bank", bank->name);
    if (bank->n_cylinders > 1) {
        ordinal(place + 1, where, sizeof where);
        text_addf(&t, "%s%s %s", t.n_bytes ? ", " : "", where,
                  en->layout == ENGINE_RADIAL ? "clockwise from the top" : "from front");
    }
    text_addf(&t, "%sfires %d%s", t.n_bytes ? " · " : "", at + 1, ending(at + 1));
    if (n > 2)
        text_addf(&t, ", after %s, before %s", en->cylinders[en->firing[(at + n - 1) % n]].label,
                  en->cylinders[en->firing[(at + 1) % n]].label);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* The number a label is, -1 when it is not all digits. */
static long label_number(const char *label)
{
    long x;

    return label[strspn(label, "0123456789")] == '\0' && text_to_long(label, &x) ? x : -1;
}

int engine_set_list(const struct engine *en, engine_set set, int *cylinders)
{
    int n = 0;

    for (int i = 0; i < en->n_cylinders; i++)
        if ((set >> i & 1u) != 0) {
            long number = label_number(en->cylinders[i].label);
            int k = n++;

            for (; k > 0 && number >= 0 && label_number(en->cylinders[cylinders[k - 1]].label) > number; k--)
                cylinders[k] = cylinders[k - 1];
            cylinders[k] = i;
        }
    return n;
}

void engine_set_labels(const struct engine *en, engine_set set, struct text *to)
{
    int cylinders[ENGINE_MAX_CYLINDERS], n = engine_set_list(en, set, cylinders);

    for (int i = 0; i < n; i++)
        text_addf(to, "%s%s", i > 0 ? ", " : "", en->cylinders[cylinders[i]].label);
}

void engine_set_words(const struct engine *en, engine_set set, char *to, size_t n_room)
{
    struct text t = {0};
    int cylinders[ENGINE_MAX_CYLINDERS], n = engine_set_list(en, set, cylinders);

    text_add(&t, n == 1 ? "cylinder " : n == 0 ? "no cylinder" : "cylinders ");
    for (int i = 0; i < n; i++)
        text_addf(&t, "%s%s", i == 0 ? "" : i + 1 == n ? " and " : ", ", en->cylinders[cylinders[i]].label);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void engine_plugs_words(const struct engine *en, const bool marked[ENGINE_MAX_PLUGS], char *to, size_t n_room)
{
    struct text t = {0};
    int n_all = en->n_cylinders * en->n_positions, n = 0, said = 0, order[ENGINE_MAX_CYLINDERS];
    int n_cylinders = engine_set_list(en, ~(engine_set)0 >> (8 * sizeof(engine_set) - (size_t)en->n_cylinders), order);
    char label[48];

    for (int i = 0; i < n_all; i++)
        n += marked[i];
    if (n == n_all && n > 2)
        text_addf(&t, "all %d plugs", n);
    else
        text_add(&t, n == 1 ? "plug " : n == 0 ? "no plug" : "plugs ");
    for (int k = 0; k < n_cylinders * en->n_positions && !(n == n_all && n > 2); k++) {
        int c = order[k / en->n_positions], p = k % en->n_positions;

        if (!marked[c * en->n_positions + p])
            continue;
        engine_plug_label(en, c, p, label, sizeof label);
        text_addf(&t, "%s%s", said++ ? ", " : "", label);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

bool engine_plugs_parse(const struct engine *en, const char *words, bool marked[ENGINE_MAX_PLUGS])
{
    const char *at = text_starts(words, "plugs ") ? words + 6 : text_starts(words, "plug ") ? words + 5 : NULL;
    int n_all = en->n_cylinders * en->n_positions;
    bool all = text_starts(words, "all ");

    for (int i = 0; i < ENGINE_MAX_PLUGS; i++)
        marked[i] = all && i < n_all;
    if (all || at == NULL)
        return all;
    while (*at != '\0') {
        size_t n = strcspn(at, ",");
        char label[48];
        int found = -1;

        for (int i = 0; i < n_all && found < 0; i++) {
            engine_plug_label(en, i / en->n_positions, i % en->n_positions, label, sizeof label);
            if (strlen(label) == n && strncmp(label, at, n) == 0)
                found = i;
        }
        if (found < 0)
            return false;
        marked[found] = true;
        at += n + (at[n] == ',');
        at += strspn(at, " ");
    }
    return true;
}

bool engine_may_have_wells(const struct engine *en)
{
    return en->access != ENGINE_ACCESS_OPEN;
}

bool engine_may_have_leads(const struct engine *en)
{
    return en->ignition != ENGINE_COIL_PER_PLUG;
}

bool engine_may_have_own_coils(const struct engine *en)
{
    return en->ignition != ENGINE_DISTRIBUTOR && en->ignition != ENGINE_MAGNETO;
}

bool engine_is_without_injectors(const struct engine *en)
{
    return en->fuel == ENGINE_CARBURETTOR || en->fuel == ENGINE_SINGLE_POINT;
}

bool engine_is_propeller_like(const struct engine *en)
{
    /* one plug each: a mower, a motorcycle */
    if (en->ignition == ENGINE_MAGNETO && en->n_positions == 1 && (en->n_cylinders == 1 || (en->n_cylinders == 2 && en->layout != ENGINE_FLAT)))
        return false;
    return en->ignition == ENGINE_MAGNETO ||
           (en->n_positions > 1 && (en->layout == ENGINE_FLAT || en->layout == ENGINE_RADIAL));
}
