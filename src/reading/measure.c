#include "reading/measure.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

/* Practical thresholds. Amounts: one whole step, since a trace is in the eye of the beholder. Gap: a
 * feeler gauge is read to about 0.03 mm, so two sound plugs may differ by 0.06; 0.08 lies clear of
 * that. L*: 10 is a step anyone sees side by side (common practice, no source). Compression: 8 % of
 * the set's median, inside what cranking speed does from one cylinder to the next. Leak-down: 8
 * points; the published bands for "good" alone run from 5 to 15 %. */
static const struct {
    enum measure_kind kind;
    const char *id, *label, *unit, *why;
    int n_decimals, worse;
    double practical;
} rows[] = {
    {MEASURE_GAP, "gap", "gap", "mm", "a gauge is read to about 0.03 mm, so two sound plugs may differ by 0.06", 2, 0, 0.08},
    {MEASURE_NOSE, "nose.L", "lightness of the nose", "L*", "10 is a step anyone sees side by side", 0, 0, 10},
    {MEASURE_COMPRESSION, "compression", "compression", "kPa", "8 % is within what cranking speed does", 0, -1, 0.08},
    {MEASURE_COMPRESSION_WET, "compression_wet", "wet compression", "kPa", "8 % is within what cranking speed does", 0, -1, 0.08},
    {MEASURE_LEAK, "leak_percent", "leak-down", "%", "published bands for good alone run from 5 to 15 %", 0, 1, 8},
    {MEASURE_DIFFERENTIAL, "differential_over_80", "differential", "/80 psi", "testers differ by a few psi", 0, -1, 6},
};

static const struct maybe *number_of(const struct reading *r, enum measure_kind kind)
{
    switch (kind) {
    case MEASURE_GAP: return &r->gap_mm;
    case MEASURE_NOSE: return &r->nose_L;
    case MEASURE_COMPRESSION: return &r->compression_kpa;
    case MEASURE_COMPRESSION_WET: return &r->compression_wet_kpa;
    case MEASURE_LEAK: return &r->leak_percent;
    case MEASURE_DIFFERENTIAL: return &r->differential_over_80;
    case MEASURE_SIGN: break;
    }
    return NULL;
}

static void put(struct measure *m, int plug, double value)
{
    m->plug[m->n] = plug;
    m->value[m->n++] = value;
}

int measure_collect(const struct record *r, struct measure *out)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    int n = 0, n_plugs = record_plug_count(en);

    for (int s = 0; s < SIGN_COUNT; s++) {
        struct measure *m = &out[n];
        bool any = false;

        memset(m, 0, sizeof *m);
        m->kind = MEASURE_SIGN;
        m->sign = s;
        sign_measure((enum sign)s, m->id, sizeof m->id);
        m->label = sign_row((enum sign)s)->sentence;
        m->unit = "";
        m->worse = 1;
        m->practical = 1;
        m->practical_why = "a trace is in the eye of the beholder";
        for (int i = 0; i < n_plugs; i++)
            if (v->readings[i].amount[s] != AMOUNT_UNSEEN) {
                put(m, i, v->readings[i].amount[s]);
                any = any || v->readings[i].amount[s] > 0;
            }
        n += any; /* a sign nobody saw anywhere is no measure */
    }
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct measure *m = &out[n];

        memset(m, 0, sizeof *m);
        m->kind = rows[k].kind;
        m->sign = -1;
        text_copy(m->id, sizeof m->id, rows[k].id);
        m->label = rows[k].label;
        m->unit = rows[k].unit;
        m->n_decimals = rows[k].n_decimals;
        m->worse = rows[k].worse;
        m->practical = rows[k].practical;
        m->practical_why = rows[k].why;
        for (int i = 0; i < n_plugs; i++) {
            const struct maybe *x = number_of(&v->readings[i], rows[k].kind);

            if (x->given)
                put(m, i, x->value);
        }
        n += m->n > 0;
    }
    return n;
}

const struct measure *measure_find(const struct measure *m, int n, const char *id)
{
    for (int i = 0; i < n; i++)
        if (strcmp(m[i].id, id) == 0)
            return &m[i];
    return NULL;
}
