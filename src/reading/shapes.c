#include "reading/shapes.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"

#define BIT(i) ((engine_set)1 << (i))

static int cylinder_of(const struct shapes *s, int i)
{
    return s->m->plug[i] / s->r->engine.n_positions;
}

static int position_of(const struct shapes *s, int i)
{
    return s->m->plug[i] % s->r->engine.n_positions;
}

/* A place whose profile over the plugs read is `at`: centred and brought to length 1. A flat profile
 * is no place. */
static void add_profile(struct shapes *s, enum pattern_shape shape, struct shape_place place, const double *at, int way)
{
    double mean = 0, length = 0;
    struct arrange_place *p;

    for (int i = 0; i < s->m->n; i++)
        mean += at[i] / s->m->n;
    for (int i = 0; i < s->m->n; i++)
        length += (at[i] - mean) * (at[i] - mean);
    if (!(length > 1e-9))
        return;
    if (s->n == s->n_room) {
        int n_room = s->n_room ? 2 * s->n_room : 64;
        struct arrange_place *weights = arena_alloc(s->memory, (size_t)n_room, sizeof *weights);
        struct shape_place *places = arena_alloc(s->memory, (size_t)n_room, sizeof *places);

        if (s->n > 0) {
            memcpy(weights, s->weights, (size_t)s->n * sizeof *weights);
            memcpy(places, s->places, (size_t)s->n * sizeof *places);
        }
        s->weights = weights;
        s->places = places;
        s->n_room = n_room;
    }
    p = &s->weights[s->n];
    s->places[s->n++] = place;
    p->shape = (int)shape;
    for (int i = 0; i < s->m->n; i++)
        p->weight[i] = way * (at[i] - mean) / sqrt(length);
}

static bool in_place(const struct shapes *s, const struct shape_place *place, int i)
{
    return (place->cover == 0 || (place->cover & BIT(cylinder_of(s, i))) != 0) &&
           (place->position < 0 || place->position == position_of(s, i));
}

bool shapes_covers(const struct shapes *s, int place, int i)
{
    assert(place >= 0 && place < s->n);
    return in_place(s, &s->places[place], i);
}

/* Inside against the rest. */
static void add_cover(struct shapes *s, enum pattern_shape shape, engine_set cover, int position)
{
    struct shape_place place = {cover, position};
    double at[ENGINE_MAX_PLUGS];

    for (int i = 0; i < s->m->n; i++)
        at[i] = in_place(s, &place, i);
    add_profile(s, shape, place, at, s->m->worse < 0 ? -1 : 1);
}

/* Every pair once, whichever of the two is asked. */
static void add_pairs(struct shapes *s, enum pattern_shape shape, enum engine_kin kind)
{
    const struct engine *en = &s->r->engine;

    for (int c = 0; c < en->n_cylinders; c++) {
        engine_set kin = engine_kin(en, c, kind);

        for (int d = c + 1; d < en->n_cylinders; d++)
            if ((kin & BIT(d)) != 0)
                add_cover(s, shape, BIT(c) | BIT(d), -1);
    }
}

static void add_rows_and_plugs(struct shapes *s)
{
    const struct engine *en = &s->r->engine;

    /* one magneto or one row of coils fires the plugs of one position */
    for (int p = 0; p < en->n_positions; p++)
        add_cover(s, SHAPE_COIL_GROUP, 0, p);
    for (int c = 0; c < en->n_cylinders; c++)
        for (int p = 0; p < en->n_positions; p++)
            add_cover(s, SHAPE_ONE_CYLINDER, BIT(c), p);
}

static void add_trends(struct shapes *s)
{
    const struct engine *en = &s->r->engine;
    const struct visit *v = record_current(s->r);
    struct shape_place whole = {0, -1};
    double at[ENGINE_MAX_PLUGS];
    int longest = 0;
    bool all_drawn = v->n_removal > 2 && s->m->kind == MEASURE_SIGN;

    for (int b = 0; b < en->n_banks; b++)
        longest = en->banks[b].n_cylinders > longest ? en->banks[b].n_cylinders : longest;
    if (en->layout != ENGINE_RADIAL && longest > 2) {
        for (int i = 0; i < s->m->n; i++)
            at[i] = en->cylinders[cylinder_of(s, i)].place;
        /* either end may be the worse one: two places of one shape */
        add_profile(s, SHAPE_FRONT_REAR, whole, at, 1);
        if (s->m->worse != 0)
            add_profile(s, SHAPE_FRONT_REAR, whole, at, -1);
    }
    for (int i = 0; i < s->m->n && all_drawn; i++) {
        int found = visit_find_drawn(v, cylinder_of(s, i), position_of(s, i));

        all_drawn = found >= 0;
        at[i] = found;
    }
    if (all_drawn) /* carried oil fades along the order; a rise is no carry-over */
        add_profile(s, SHAPE_REMOVAL_ORDER, whole, at, -1);
}

void shapes_build(struct shapes *s, const struct record *r, const struct measure *m, struct arena *memory)
{
    const struct engine *en = &r->engine;

    *s = (struct shapes){.m = m, .r = r, .memory = memory};
    for (int c = 0; c < en->n_cylinders; c++)
        add_cover(s, SHAPE_ONE_CYLINDER, BIT(c), -1);
    if (en->n_positions > 1)
        add_rows_and_plugs(s);
    if (en->n_banks > 1)
        for (int b = 0; b < en->n_banks; b++)
            add_cover(s, SHAPE_ONE_BANK, engine_bank_set(en, b), -1);
    add_pairs(s, SHAPE_ADJACENT_PAIR, ENGINE_KIN_ADJACENT);
    add_pairs(s, SHAPE_COMPANION_PAIR, ENGINE_KIN_COMPANION);
    if (en->n_cylinders > 2)
        add_pairs(s, SHAPE_FIRING_NEIGHBOURS, ENGINE_KIN_FIRING);
    for (int g = 0; g < en->n_coil_groups; g++)
        add_cover(s, SHAPE_COIL_GROUP, en->coil_groups[g], -1);
    for (int g = 0; g < en->n_mixture_groups; g++)
        add_cover(s, SHAPE_MIXTURE_GROUP, en->mixture_groups[g], -1);
    add_trends(s);
}

int shapes_edges(const struct record *r, const struct measure *m, struct arrange_edge *to, int n_room)
{
    int n = 0, n_positions = r->engine.n_positions;

    for (int i = 0; i < m->n; i++)
        for (int k = i + 1; k < m->n && n < n_room; k++) {
            int c = m->plug[i] / n_positions, d = m->plug[k] / n_positions;

            if (m->plug[i] % n_positions == m->plug[k] % n_positions && c != d &&
                (engine_kin(&r->engine, c, ENGINE_KIN_ADJACENT) & BIT(d)) != 0)
                to[n++] = (struct arrange_edge){(uint8_t)i, (uint8_t)k};
        }
    return n;
}
