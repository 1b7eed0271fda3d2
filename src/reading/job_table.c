/* The tables behind the job: its steps and their occasions, its cautions, what belongs to a cause, and the words that differ by engine. */
#include "reading/job.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/text.h"
#include "reading/job_work.h"

#define MOST_ROWS 64
#define WORDS_MOST_CHECKS 64

static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct job_caution cautions[MOST_ROWS];
static struct job_cause rows[MOST_ROWS];
static struct job_begin begins[MOST_ROWS];
static char checks[WORDS_MOST_CHECKS]
                  [100]; /* by complaint: what shows it where a warm idle does not, "" it does */
static bool driven[WORDS_MOST_CHECKS];
static struct {
    char several[100], one[100];
} of_one[MOST_ROWS];
static struct {
    bool (*holds)(const struct engine *en);
    char common[100], own[100];
} of_engine[MOST_ROWS];
static uint64_t plugs_stay; /* bits of WORDS_DONE_PART: work on it leaves the plugs in (plugs-stay.csv) */
static int n_of_one, n_of_engine, n_cautions, n_rows, n_begins;

static double km_to_m(const struct csv *c, size_t row, const char *column)
{
    double km = 0;

    text_to_double(csv_named(c, row, column), &km); /* empty: none */
    return km * 1000;
}

const char *job_next_of(const char *list, char *one, size_t n_room)
{
    size_t n = strcspn(list, " |");

    if (n == 0)
        return NULL;
    text_format(one, n_room, "%.*s", (int)n, list);
    return list + n + strspn(list + n, " |");
}

/* "coil.cracked | coil.tracked" */
static void load_signs(const char *list, bool signs[SIGN_COUNT])
{
    char one[64];

    while ((list = job_next_of(list, one, sizeof one)) != NULL)
        for (int s = 0; s < SIGN_COUNT; s++) {
            char name[64];

            sign_measure((enum sign)s, name, sizeof name);
            signs[s] = signs[s] || strcmp(name, one) == 0;
        }
}

static bool has_magneto(const struct engine *en)
{
    return en->ignition == ENGINE_MAGNETO;
}

static bool has_two_magnetos(const struct engine *en)
{
    return has_magneto(en) && en->n_positions == 2;
}

static bool has_no_leads(const struct engine *en)
{
    return !engine_may_have_leads(en);
}

static bool has_distributor(const struct engine *en)
{
    return en->ignition == ENGINE_DISTRIBUTOR;
}

static void load_words_of_engine(void)
{
    static const struct {
        const char *of;
        bool (*holds)(const struct engine *en);
    } kinds[] = {{"magneto", has_magneto}, {"two-magnetos", has_two_magnetos}, {"distributor", has_distributor}, {"coil-per-plug", has_no_leads}, {"propeller", engine_is_propeller_like}};
    struct csv c;

    asset_table_must("words-of-engine.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        const bool fits = text_copy(of_engine[n_of_engine].common, sizeof of_engine[0].common, csv_named(&c, i, "common")) &&
                          text_copy(of_engine[n_of_engine].own, sizeof of_engine[0].own, csv_named(&c, i, "own"));

        assert(fits);
        (void)fits;
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
            if (strcmp(csv_named(&c, i, "of"), kinds[k].of) == 0)
                of_engine[n_of_engine].holds = kinds[k].holds;
        assert(of_engine[n_of_engine].holds != NULL);
        n_of_engine++;
    }
    csv_release(&c);
}

static void load(void)
{
    struct csv c;

    load_words_of_engine();
    asset_table_must("cautions.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct job_caution *k = &cautions[n_cautions++];

        text_copy(k->id, sizeof k->id, csv_named(&c, i, "id"));
        text_copy(k->text, sizeof k->text, csv_named(&c, i, "text"));
        text_copy(k->source, sizeof k->source, csv_named(&c, i, "source"));
        k->propeller = strcmp(csv_named(&c, i, "propeller"), "yes") == 0;
    }
    csv_release(&c);
    asset_table_must("job-causes.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct job_cause *r = &rows[n_rows++];
        const char *per = csv_named(&c, i, "per");

        text_copy(r->cause, sizeof r->cause, csv_named(&c, i, "cause"));
        text_copy(r->repair, sizeof r->repair, csv_named(&c, i, "repair"));
        text_copy(r->caution, sizeof r->caution, csv_named(&c, i, "caution"));
        text_copy(r->part, sizeof r->part, csv_named(&c, i, "part"));
        text_copy(r->done, sizeof r->done, csv_named(&c, i, "done"));
        text_copy(r->watch, sizeof r->watch, csv_named(&c, i, "watch"));
        text_copy(r->source, sizeof r->source, csv_named(&c, i, "source"));
        r->settles_running = strcmp(csv_named(&c, i, "settle_at"), "running") == 0;
        text_copy(r->settle_caution, sizeof r->settle_caution, csv_named(&c, i, "settle_caution"));
        text_copy(r->seen_settles, sizeof r->seen_settles, csv_named(&c, i, "seen_settles"));
        text_copy(r->seen_repair, sizeof r->seen_repair, csv_named(&c, i, "seen_repair"));
        load_signs(csv_named(&c, i, "seen"), r->seen);
        r->harms = strcmp(csv_named(&c, i, "harms"), "yes") == 0;
        load_signs(csv_named(&c, i, "harms"), r->harms_with);
        r->driven = strcmp(csv_named(&c, i, "driven"), "yes") == 0;
        r->per = strcmp(per, "cylinder") == 0 ? JOB_PER_CYLINDER : strcmp(per, "set") == 0 ? JOB_PER_SET : JOB_PER_ONE;
        r->again_m = km_to_m(&c, i, "again_km");
    }
    csv_release(&c);
    asset_table_must("words-of-one.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        text_copy(of_one[n_of_one].several, sizeof of_one[0].several, csv_named(&c, i, "several"));
        text_copy(of_one[n_of_one++].one, sizeof of_one[0].one, csv_named(&c, i, "one"));
    }
    csv_release(&c);
    asset_table_must("complaint-checks.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        int of = words_find(WORDS_COMPLAINT, csv_named(&c, i, "complaint"));

        assert(of > 0 && of < WORDS_MOST_CHECKS);
        text_copy(checks[of], sizeof checks[of], csv_named(&c, i, "then"));
        driven[of] = strcmp(csv_named(&c, i, "driven"), "yes") == 0;
    }
    csv_release(&c);
    asset_table_must("job-steps.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct job_begin *b = &begins[n_begins++];

        text_copy(b->at, sizeof b->at, csv_named(&c, i, "at"));
        text_copy(b->key, sizeof b->key, csv_named(&c, i, "key"));
        text_copy(b->text, sizeof b->text, csv_named(&c, i, "text"));
        text_copy(b->caution, sizeof b->caution, csv_named(&c, i, "caution"));
        text_copy(b->does, sizeof b->does, csv_named(&c, i, "does"));
        text_copy(b->before, sizeof b->before, csv_named(&c, i, "before"));
        text_copy(b->too_late, sizeof b->too_late, csv_named(&c, i, "too_late"));
        b->plugs = strcmp(csv_named(&c, i, "plugs"), "with") == 0 ? JOB_PLUGS_WITH : strcmp(csv_named(&c, i, "plugs"), "asks") == 0 ? JOB_PLUGS_ASKS : JOB_PLUGS_NOTHING;
        b->after_m = km_to_m(&c, i, "after_km");
    }
    csv_release(&c);
    asset_table_must("plugs-stay.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        int part = words_find(WORDS_DONE_PART, csv_named(&c, i, "part"));

        assert(part > 0 && part < 64);
        plugs_stay |= (uint64_t)1 << part;
    }
    csv_release(&c);
}

void job_words_of_engine(const struct engine *en, char *text, size_t n_room)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_of_one && record_plug_count(en) == 1; i++)
        text_put_for(text, n_room, of_one[i].several, of_one[i].one);
    for (int i = 0; i < n_of_engine; i++)
        if (of_engine[i].holds(en))
            text_put_for(text, n_room, of_engine[i].common, of_engine[i].own);
}

const struct job_caution *job_cautions(int *n)
{
    pthread_once(&once, load);
    *n = n_cautions;
    return cautions;
}

const struct job_caution *job_caution_find(const char *id)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_cautions; i++)
        if (strcmp(cautions[i].id, id) == 0)
            return &cautions[i];
    return NULL;
}

int job_cautions_of(const char *ids, const struct job_caution *list[JOB_MOST_CAUTIONS])
{
    int n = 0;

    while (*ids != '\0' && n < JOB_MOST_CAUTIONS) {
        size_t len = strcspn(ids, "+");
        char id[24];

        text_format(id, sizeof id, "%.*s", (int)len, ids);
        list[n] = job_caution_find(id);
        n += list[n] != NULL;
        ids += len + (ids[len] == '+');
    }
    return n;
}

const struct job_cause *job_causes(int *n)
{
    pthread_once(&once, load);
    *n = n_rows;
    return rows;
}

const struct job_cause *job_cause_find(const char *cause)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_rows; i++)
        if (strcmp(rows[i].cause, cause) == 0)
            return &rows[i];
    return NULL;
}

const char *job_key_split(const char *key, char what[32])
{
    size_t n = strcspn(key, "@");

    if (key[n] == '\0' || n >= 32)
        return NULL;
    text_format(what, 32, "%.*s", (int)n, key);
    return key + n + 1;
}

const struct job_cause *job_cause_of(const char *key, const char **place)
{
    char cause[32];

    *place = job_key_split(key, cause);
    return *place != NULL ? job_cause_find(cause) : NULL;
}

enum job_plugs job_plugs_of(const char *source)
{
    size_t n = strcspn(source, "@");
    const struct job_cause *c;
    const char *place;

    pthread_once(&once, load);
    for (int i = 0; n > 0 && i < n_begins; i++)
        if (strlen(begins[i].key) == n && strncmp(begins[i].key, source, n) == 0)
            return begins[i].plugs;
    if (source[n] == '\0' || text_starts(source, "again:"))
        return JOB_PLUGS_NOTHING;
    c = job_cause_of(source + (text_starts(source, "settle:") ? strlen("settle:") : 0), &place);
    if (c == NULL)
        return JOB_PLUGS_NOTHING;
    return c->done[0] != '\0' && (plugs_stay >> words_find(WORDS_DONE_PART, strchr(c->done, ':') + 1) & 1u) != 0 ? JOB_PLUGS_STAY : JOB_PLUGS_ASKS;
}

const struct job_begin *job_begins(int *n)
{
    pthread_once(&once, load);
    *n = n_begins;
    return begins;
}

const char *job_complaint_then(int complaint)
{
    pthread_once(&once, load);
    return checks[complaint];
}

bool job_complaint_driven(int complaint)
{
    pthread_once(&once, load);
    return driven[complaint];
}
