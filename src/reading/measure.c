#include "reading/measure.h"

#include <assert.h>
#include <string.h>

#include "base/colour.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/findings.h"
#include "reading/stats.h"

static const struct {
    enum measure_kind kind;
    const char *id; /* of its row in the thresholds, too */
    bool of_cylinder;
} rows[] = {
    {MEASURE_GAP, "gap", false},
    {MEASURE_NOSE, "nose.L", false},
    {MEASURE_NOSE_DE, "nose.dE", false},
    {MEASURE_NOSE_A, "nose.a", false},
    {MEASURE_NOSE_B, "nose.b", false},
    {MEASURE_COMPRESSION, "compression", true},
    {MEASURE_COMPRESSION_WET, "compression_wet", true},
    {MEASURE_LEAK, "leak_percent", true},
    {MEASURE_DIFFERENTIAL, "differential_over_80", true},
};

static const struct maybe *number_of(const struct reading *r, enum measure_kind kind)
{
    switch (kind) {
    case MEASURE_GAP: return &r->gap_mm;
    case MEASURE_NOSE: return &r->nose_L;
    case MEASURE_NOSE_A: return &r->nose_a;
    case MEASURE_NOSE_B: return &r->nose_b;
    case MEASURE_COMPRESSION: return &r->compression_kpa;
    case MEASURE_COMPRESSION_WET: return &r->compression_wet_kpa;
    case MEASURE_LEAK: return &r->leak_percent;
    case MEASURE_DIFFERENTIAL: return &r->differential_over_80;
    case MEASURE_SIGN:
    case MEASURE_NOSE_DE:
    case MEASURE_GROWTH: break;
    }
    return NULL;
}

void measure_init(struct measure *m, enum measure_kind kind, const char *id)
{
    memset(m, 0, sizeof *m);
    m->kind = kind;
    m->sign = -1;
    text_copy(m->id, sizeof m->id, id);
    m->threshold = threshold_find(id);
    m->label = m->threshold->label;
    m->unit = m->threshold->unit;
    m->n_decimals = m->threshold->n_decimals;
    m->worse = m->threshold->worse;
    m->told_factor = 1;
    m->told_unit = m->unit;
    m->told_decimals = m->n_decimals;
}

void measure_tell_in(struct measure *m, const struct reading_options *o)
{
    const struct unit *from = NULL, *to = NULL;

    if (m->kind == MEASURE_GAP && o->units.inches) {
        from = unit_find("mm");
        to = unit_find("in");
    } else if ((m->kind == MEASURE_COMPRESSION || m->kind == MEASURE_COMPRESSION_WET) && o->units.pressure != NULL) {
        from = unit_find("kPa");
        to = o->units.pressure;
    }
    if (to == NULL)
        return;
    m->told_factor = unit_convert(1, from, to);
    m->told_unit = to->label;
    m->told_decimals = to->n_decimals;
}

void measure_put(struct measure *m, int plug, double value)
{
    assert(m->n < ENGINE_MAX_PLUGS);
    m->plug[m->n] = plug;
    m->value[m->n++] = value;
}

/* How far each nose lies from the middle of the others, by eye. Two noses alone are as far from each
 * other both ways and tell nothing. */
static void colour_differences(const struct visit *v, int n_plugs, struct measure *m)
{
    double lab[ENGINE_MAX_PLUGS][3];
    int plug[ENGINE_MAX_PLUGS], n = 0;

    for (int i = 0; i < n_plugs; i++)
        if (v->readings[i].nose_L.given) {
            lab[n][0] = v->readings[i].nose_L.value;
            lab[n][1] = v->readings[i].nose_a.value;
            lab[n][2] = v->readings[i].nose_b.value;
            plug[n++] = i;
        }
    for (int i = 0; i < n && n >= 3; i++) {
        double middle[3];

        for (int axis = 0; axis < 3; axis++) {
            double others[ENGINE_MAX_PLUGS];
            int n_others = 0;

            for (int k = 0; k < n; k++)
                if (k != i)
                    others[n_others++] = lab[k][axis];
            middle[axis] = stats_median(others, n_others);
        }
        measure_put(m, plug[i], colour_difference(lab[i], middle));
    }
}

int measure_collect(const struct record *r, const struct visit *v, struct measure *out)
{
    int n = 0, n_plugs = record_plug_count(&r->engine);

    for (int s = 0; s < SIGN_COUNT; s++) {
        struct measure *m = &out[n];
        char id[40];
        bool any = false;

        sign_measure((enum sign)s, id, sizeof id);
        measure_init(m, MEASURE_SIGN, id);
        m->sign = s;
        m->label = sign_row((enum sign)s)->sentence;
        for (int i = 0; i < n_plugs; i++)
            if (v->readings[i].amount[s] != AMOUNT_UNSEEN) {
                measure_put(m, i, v->readings[i].amount[s]);
                any = any || v->readings[i].amount[s] > 0;
            }
        n += any;
    }
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct measure *m = &out[n];

        measure_init(m, rows[k].kind, rows[k].id);
        if (rows[k].kind == MEASURE_NOSE_DE)
            colour_differences(v, n_plugs, m);
        for (int i = 0; i < n_plugs && rows[k].kind != MEASURE_NOSE_DE; i++) {
            const struct maybe *x = number_of(&v->readings[i], rows[k].kind);

            /* the cylinder's, noted on any of its plugs: taken once */
            if (x->given && !(rows[k].of_cylinder && m->n > 0 && m->plug[m->n - 1] / r->engine.n_positions == i / r->engine.n_positions))
                measure_put(m, i, x->value);
        }
        n += m->n > 0;
    }
    assert(n <= MEASURE_MAX);
    return n;
}

const struct measure *measure_find(const struct measure *m, int n, const char *id)
{
    for (int i = 0; i < n; i++)
        if (strcmp(m[i].id, id) == 0)
            return &m[i];
    return NULL;
}
