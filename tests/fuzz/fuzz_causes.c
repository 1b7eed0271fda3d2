/* A table of causes of any bytes: refused with a line, or parsed and used on an engine with something
 * to see in every zone, which must give probabilities between 0 and 1. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "reading/cause_table.h"
#include "reading/findings.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

static void make(struct record *r)
{
    struct err e = {0};
    struct visit *v;

    record_init(r);
    r->engine.layout = ENGINE_V;
    r->engine.ignition = ENGINE_SHARED_COIL;
    if (!engine_parse_banks(&r->engine, "1 3 / 2 4", &e) || !engine_parse_firing(&r->engine, "1 3 4 2", &e) ||
        !engine_parse_groups(&r->engine, "1+3 2+4", r->engine.mixture_groups, &r->engine.n_mixture_groups, &e) ||
        !engine_finish(&r->engine, &e))
        abort();
    for (int k = 0; k < 2; k++) {
        v = record_add_visit(r);
        visit_add_code(v, "P0303", NULL);
        for (int s = 0; s < SIGN_COUNT; s++)
            reading_note(visit_reading(v, &r->engine, s % 4, 0), (enum sign)s, s % 4);
        v->readings[1].compression_kpa = MAYBE(1100);
        v->readings[2].compression_kpa = MAYBE(600);
        v->readings[2].gap_mm = MAYBE(1.4);
        v->complaints_given = true;
        v->complaints[v->n_complaints++] = 1 + k;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    static struct record r;
    struct cause_table *t;
    struct findings f;
    struct reading_options o = {0};
    struct err e = {0};

    if (r.n_visits == 0)
        make(&r);
    if (n_bytes > 65536)
        return 0;
    if (!cause_table_parse((const char *)data, n_bytes, &t, &e)) {
        if (e.text[0] == '\0' || t != NULL)
            abort();
        return 0;
    }
    o.causes = t;
    o.first_answer = true;
    if (!reading_run(&r, &o, &f, &e))
        abort();
    for (int i = 0; i < f.n_causes; i++)
        if (!(f.causes[i].probability >= 0 && f.causes[i].probability <= 1))
            abort();
    findings_release(&f);
    cause_table_destroy(t);
    return 0;
}
