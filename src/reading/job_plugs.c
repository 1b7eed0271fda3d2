/* Plugs that do not go in again, and the gaps before the others do. */
#include "reading/job.h"

#include <string.h>

#include "base/text.h"
#include "reading/job_work.h"
#include "reading/refit.h"
#include "record/seated.h"

/* Which row of job-steps.csv a plug's gap calls for; NULL: none. Of a plug that is scrap it is left alone. A new plug's is measured before it goes in; a
 * gap within the range is left alone; fine wire breaks when it is bent. */
static const char *gap_calls_for(const struct record *r, const struct reading *q)
{
    const struct engine_plug_spec *spec = &r->engine.plug;
    bool fine_wire = spec->electrode == ENGINE_PLATINUM || spec->electrode == ENGINE_IRIDIUM;
    struct maybe gap = refit_gap(r, q);
    enum gap_verdict verdict;

    if (refit_scrap(r, q)[0] != '\0')
        return NULL;
    if (!gap.given)
        return "gaps:unmeasured";
    verdict = gap_against(spec, gap.value);
    if (refit_is_worn(spec, gap.value))
        return "gaps:past";
    if (verdict == GAP_OVER || verdict == GAP_UNDER || (spec->gap_max_mm <= 0 && gap.value > spec->gap_min_mm + 0.0501))
        return fine_wire ? "gaps:fine" : "gaps:set";
    return NULL;
}

/* The key is its step's: they are closed together. */
static struct job_part *add_plugs(const struct record *r, const char *key, const char *where, int n, struct job *j)
{
    struct job_part *p;

    if (j->n_parts == JOB_MAX)
        return NULL;
    p = &j->parts[j->n_parts++];
    memset(p, 0, sizeof *p);
    text_format(p->key, sizeof p->key, "%s@%s", key, where);
    text_format(p->text, sizeof p->text, n == 1 ? "Spark plug of the maker's book, %s" : "Spark plugs of the maker's book, %s", TEXT_SHORT(where, 100));
    job_name_plug(&r->engine, p);
    p->quantity = n;
    return p;
}

/* Cylinders for which an accepted cause brings a new part of that name, also where it is not all of its repair. */
engine_set job_renewed_by_repair(const struct record *r, const struct job *j, const char *part)
{
    engine_set set = 0;

    for (int i = 0; i < j->n_steps; i++) {
        const char *place;
        const struct job_cause *row = job_cause_of(j->steps[i].key, &place);

        if (row != NULL && text_starts(row->part, part))
            set |= job_place(&r->engine, place);
    }
    return set;
}

/* A whole set of plugs is fitted by an accepted cause. */
static bool set_is_renewed(const struct job *j)
{
    for (int i = 0; i < j->n_steps; i++) {
        const char *place;
        const struct job_cause *row = job_cause_of(j->steps[i].key, &place);

        if (row != NULL && row->per == JOB_PER_SET && strcmp(row->done, "replaced:plug") == 0)
            return true;
    }
    return false;
}

/* A cause's own new plug, where these cylinders all get one anyway, is not bought besides. */
static void drop_single_plugs(const struct record *r, engine_set renewed, struct job *j)
{
    int n = 0;

    for (int i = 0; i < j->n_parts; i++) {
        const char *place;
        const struct job_cause *row = job_cause_of(j->parts[i].key, &place);
        const engine_set set = row != NULL ? job_place(&r->engine, place) : 0;
        const bool single = row != NULL && row->per == JOB_PER_CYLINDER && strcmp(row->done, "replaced:plug") == 0 && set != 0 && (set & ~renewed) == 0;

        if (!single)
            j->parts[n++] = j->parts[i];
    }
    j->n_parts = n;
}

/* "electrodes worn at 2, insulator cracked at 4"; where it is the same at all of them, just that. */
static void scrap_words(const struct record *r, const bool marked[ENGINE_MAX_PLUGS], char *to, size_t n_room)
{
    bool told[ENGINE_MAX_PLUGS] = {false}, alike = true;
    int n_plugs = record_plug_count(&r->engine);
    const char *first = "";
    struct text t = {0};

    for (int i = 0; i < n_plugs; i++) {
        const char *why = marked[i] ? refit_scrap(r, &record_current(r)->readings[i]) : "";

        first = first[0] == '\0' ? why : first;
        alike = alike && (why[0] == '\0' || strcmp(why, first) == 0);
    }
    for (int i = 0; i < n_plugs && !alike; i++) {
        const char *why = marked[i] && !told[i] ? refit_scrap(r, &record_current(r)->readings[i]) : "";

        if (why[0] == '\0')
            continue;
        text_addf(&t, "%s%s at ", t.n_bytes > 0 ? ", " : "", why);
        for (int k = i, n = 0; k < n_plugs; k++) {
            char label[48];

            if (!marked[k] || strcmp(why, refit_scrap(r, &record_current(r)->readings[k])) != 0)
                continue;
            told[k] = true;
            engine_plug_label(&r->engine, k / r->engine.n_positions, k % r->engine.n_positions, label, sizeof label);
            text_addf(&t, "%s%s", n++ > 0 ? ", " : "", label);
        }
    }
    text_copy(to, n_room, alike ? first : text_get(&t));
    text_release(&t);
}

/* A new plug in place of each that is scrap, but for those an accepted cause renews. */
static void add_scrap(const struct record *r, engine_set covered, struct job *j)
{
    bool marked[ENGINE_MAX_PLUGS] = {false};
    int n_plugs = record_plug_count(&r->engine), n = 0, n_worn = 0;
    struct job_part *p;
    char where[200], why[120];

    for (int i = 0; i < n_plugs; i++) {
        const struct reading *q = &record_current(r)->readings[i], *plug = seated_plug(record_current(r), q);

        marked[i] = (covered >> q->cylinder & 1u) == 0 && refit_scrap(r, q)[0] != '\0';
        n += marked[i];
        n_worn += marked[i] && plug->electrode != 0 && plug->electrode == words_find(WORDS_ELECTRODE, "eroded");
    }
    if (n == 0)
        return;
    engine_plugs_words(&r->engine, marked, where, sizeof where);
    scrap_words(r, marked, why, sizeof why);
    job_add_begins_why(r, "gaps:scrap", where, why, j);
    p = add_plugs(r, "scrap", where, n, j);
    if (p == NULL || n_plugs == 1)
        return;
    if (n_worn == n)
        text_format(p->note, sizeof p->note, "%d of %d worn%s", n, n_plugs, n < n_plugs ? ": a whole set wears alike" : "");
    else
        text_format(p->note, sizeof p->note, n == 1 ? "%d of %d affected: one is enough" : "%d of %d affected: one set may be cheaper", n, n_plugs);
}

void job_key_text(const struct record *r, const char *key, char *to, size_t n_room)
{
    const size_t n = strcspn(key, "@");
    bool marked[ENGINE_MAX_PLUGS];
    char why[120] = "";
    int n_begins;
    const struct job_begin *begins = job_begins(&n_begins);

    to[0] = '\0';
    if (key[n] == '\0' || !engine_plugs_parse(&r->engine, key + n + 1, marked))
        return;
    scrap_words(r, marked, why, sizeof why);
    for (int i = 0; i < n_begins; i++)
        if (strlen(begins[i].key) == n && strncmp(begins[i].key, key, n) == 0)
            job_fill(r, begins[i].text, key + n + 1, why, to, n_room);
    job_words_of_engine(&r->engine, to, n_room);
}

/* A deposit wedged across the gap goes in again as it came out unless it is cleaned out. */
static void add_bridged(const struct record *r, engine_set covered, struct job *j)
{
    bool marked[ENGINE_MAX_PLUGS] = {false};
    char where[200];
    int n = 0;

    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i], *plug = seated_plug(record_current(r), q);

        marked[i] = plug != NULL && plug->present && plug->amount[SIGN_BRIDGED] > 0 && (covered >> q->cylinder & 1u) == 0 && !refit_is_cleaned(r, q) && refit_scrap(r, q)[0] == '\0';
        n += marked[i];
    }
    if (n == 0)
        return;
    engine_plugs_words(&r->engine, marked, where, sizeof where);
    job_add_begins(r, "gaps:bridged", where, j);
}

void job_add_gaps(const struct record *r, struct job *j)
{
    static const char *const occasions[] = {"gaps:past", "gaps:fine", "gaps:unmeasured", "gaps:set"};
    const struct visit *v = record_current(r);
    int n_plugs = record_plug_count(&r->engine);
    const engine_set covered = job_renewed_by_repair(r, j, "Spark plug");
    const bool set = set_is_renewed(j);
    char where[200];

    if (set)
        drop_single_plugs(r, covered, j);
    add_scrap(r, covered, j);
    add_bridged(r, covered, j);
    if (r->engine.plug.gap_min_mm <= 0)
        return;
    for (size_t k = 0; k < sizeof occasions / sizeof occasions[0]; k++) {
        bool marked[ENGINE_MAX_PLUGS] = {false};
        engine_set renewed = 0, kept = 0;
        struct job_part *p;
        int n = 0;

        for (int i = 0; i < n_plugs; i++) {
            const char *calls = gap_calls_for(r, &v->readings[i]);

            marked[i] = calls != NULL && strcmp(calls, occasions[k]) == 0;
            n += marked[i];
            if (marked[i])
                renewed |= (engine_set)1 << v->readings[i].cylinder;
            else
                kept |= (engine_set)1 << v->readings[i].cylinder;
        }
        if (n == 0 || (k == 0 && set)) /* they are fitted, and bought, with the set */
            continue;
        if (k == 0)
            drop_single_plugs(r, renewed & ~kept, j);
        engine_plugs_words(&r->engine, marked, where, sizeof where);
        job_add_begins(r, occasions[k], where, j);
        p = k == 0 ? add_plugs(r, "renew", where, n, j) : NULL;
        if (p != NULL)
            text_format(p->note, sizeof p->note, "%d of %d past the limit%s", n, n_plugs, n < n_plugs ? ": a whole set wears alike" : "");
    }
}
