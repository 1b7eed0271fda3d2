/* job_answer.c - which steps and parts of a job a piece of work answers: what was renewed is neither to be done
 * nor to be bought again. Steps that repair a cause ask for the work of their row in assets/job-causes.csv; those
 * of single plugs, and of what sits on them, are in assets/job-answers.csv; a swap a cause is settled by is one its table gives weight to. */
#include <pthread.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/text.h"
#include "reading/cause_table.h"
#include "reading/job.h"
#include "reading/job_work.h"
#include "reading/refit.h"
#include "record/seated.h"

#define MOST_ROWS 24
#define SWAP_SETTLES_DB 20.0 /* a swap that shifts a cause by so much settles it */

struct answer_row {
    char key[24], work[48], ticked[48], part[48], part_note[64]; /* work: one of several, "|" between them; part: may be wanted with it */
    bool gap_left;
};

struct settled_row { /* row of job-settled.csv: what is left to do when a swap has told */
    char cause[32], repair[160], renewed[48]; /* renewed: works any of which puts a new part in its place */
    bool swap_first; /* the repair of its row in job-causes.csv begins with the swap */
};

static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct answer_row rows[MOST_ROWS];
static struct settled_row settled[MOST_ROWS];
static int n_rows, n_settled;

static void load(void)
{
    struct csv c;

    asset_table_must("job-answers.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct answer_row *r = &rows[n_rows++];

        text_copy(r->key, sizeof r->key, csv_named(&c, i, "key"));
        text_copy(r->work, sizeof r->work, csv_named(&c, i, "work"));
        text_copy(r->ticked, sizeof r->ticked, csv_named(&c, i, "ticked"));
        text_copy(r->part, sizeof r->part, csv_named(&c, i, "part"));
        text_copy(r->part_note, sizeof r->part_note, csv_named(&c, i, "part_note"));
        r->gap_left = strcmp(csv_named(&c, i, "gap_left"), "yes") == 0;
    }
    csv_release(&c);
    asset_table_must("job-settled.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct settled_row *r = &settled[n_settled++];

        text_copy(r->cause, sizeof r->cause, csv_named(&c, i, "cause"));
        text_copy(r->repair, sizeof r->repair, csv_named(&c, i, "repair"));
        text_copy(r->renewed, sizeof r->renewed, csv_named(&c, i, "renewed"));
        r->swap_first = strcmp(csv_named(&c, i, "swap_first"), "yes") == 0;
    }
    csv_release(&c);
}

static const struct settled_row *settled_row(const char *cause)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_settled; i++)
        if (strcmp(settled[i].cause, cause) == 0)
            return &settled[i];
    return NULL;
}

const char *job_settled_repair(const char *cause)
{
    const struct settled_row *r = settled_row(cause);

    return r != NULL ? r->repair : NULL;
}

static const struct answer_row *row_of(const char *what)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_rows; i++)
        if (strcmp(rows[i].key, what) == 0)
            return &rows[i];
    return NULL;
}

engine_set job_worked_at(const struct visit *v, const char *work)
{
    char verb[24];
    size_t n = strcspn(work, ":");

    if (work[n] == '\0')
        return 0;
    text_format(verb, sizeof verb, "%.*s", (int)n, work);
    return visit_worked_at(v, verb, work + n + 1);
}

/* Cylinders at which one of a list's works was done: renews, those alone that fit something new. */
static engine_set listed_at(const struct visit *v, const char *list, bool renews)
{
    engine_set set = 0;
    char work[48];

    while ((list = job_next_of(list, work, sizeof work)) != NULL)
        set |= !renews || text_starts(work, "replaced:") ? job_worked_at(v, work) : 0;
    return set;
}

/* "plugs 2, 4", "cylinder 3": all of its plugs. False: it names none. */
static bool plugs_of(const struct engine *en, const char *place, bool marked[ENGINE_MAX_PLUGS])
{
    engine_set cylinders;

    if (engine_plugs_parse(en, place, marked))
        return true;
    cylinders = job_place(en, place);
    for (int i = 0; i < record_plug_count(en); i++)
        marked[i] = (cylinders >> (i / en->n_positions) & 1u) != 0;
    return cylinders != 0;
}

/* Of how many of its plugs it is answered, or its part fitted; of: how many they are. */
static int plugs_answered(const struct record *r, const struct visit *v, const bool *renewed, const struct answer_row *row, const char *place, bool is_part, int *of)
{
    const struct engine *en = &r->engine;
    const bool of_plug = strstr(row->work, ":plug") != NULL;
    const engine_set worked = of_plug ? 0 : listed_at(v, row->work, is_part);
    const engine_set cleaned = strcmp(row->work, "cleaned:plug") == 0 ? job_worked_at(v, row->work) : 0;
    bool marked[ENGINE_MAX_PLUGS];
    int n = 0;

    *of = 0;
    (void)plugs_of(en, place, marked);
    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i], *plug = seated_plug(v, q);
        const struct maybe left = seated_gap_left(v, record_plug_count(en), q);
        enum gap_verdict verdict = left.given ? gap_against(&en->plug, left.value) : GAP_OVER;
        bool fresh = plug == NULL || (renewed != NULL && renewed[i]); /* a new one is clean */

        if (!marked[i])
            continue;
        ++*of;
        n += (of_plug && (fresh || (cleaned >> plug->cylinder & 1u) != 0)) || (worked >> q->cylinder & 1u) != 0 ||
             (row->gap_left && (verdict == GAP_IN_RANGE || verdict == GAP_HAIR_OVER));
    }
    return n;
}

int job_answered_plugs(const struct record *r, const struct visit *v, const char *key, int *of)
{
    char what[32];
    const char *place = job_key_split(key, what);
    const struct answer_row *row = place != NULL ? row_of(what) : NULL;

    *of = 0;
    return row != NULL ? plugs_answered(r, v, NULL, row, place, false, of) : 0;
}

bool job_step_within(const struct engine *en, const char *key, const char *other)
{
    char what[32], whole[32];
    const char *place = job_key_split(key, what), *in = job_key_split(other, whole);
    bool marked[ENGINE_MAX_PLUGS], all[ENGINE_MAX_PLUGS];

    if (place == NULL || in == NULL || strcmp(what, whole) != 0 || row_of(what) == NULL || !plugs_of(en, place, marked) || !plugs_of(en, in, all))
        return false;
    for (int i = 0; i < record_plug_count(en); i++)
        if (marked[i] && !all[i])
            return false;
    return true;
}

bool job_key_moved(const struct engine *en, const char *key, const struct plug_move *moves, int n, char *to, size_t n_room)
{
    char what[32], where[200];
    const char *place = job_key_split(key, what);
    bool marked[ENGINE_MAX_PLUGS], after[ENGINE_MAX_PLUGS];

    if (place == NULL || row_of(what) == NULL || !engine_plugs_parse(en, place, marked))
        return false;
    memcpy(after, marked, sizeof after);
    for (int i = 0; i < n; i++)
        after[record_plug_index(en, moves[i].to.cylinder, moves[i].to.position)] = marked[record_plug_index(en, moves[i].from.cylinder, moves[i].from.position)];
    if (memcmp(after, marked, (size_t)record_plug_count(en) * sizeof marked[0]) == 0)
        return false;
    engine_plugs_words(en, after, where, sizeof where);
    return text_format(to, n_room, "%s@%s", what, where);
}

/* The parts whose swap tells whether it is this cause, as bits of WORDS_DONE_PART. */
static uint64_t settling_swaps(const char *cause)
{
    const struct cause_table *t = cause_table_builtin();
    int at = cause_table_find(t, cause);
    uint64_t parts = 0;

    for (int i = 0; at >= 0 && i < t->causes[at].n_terms; i++) {
        const struct cause_term *m = &t->terms[t->causes[at].first_term + i];

        if (m->fact.n > 0 && m->fact.atoms[0].kind == FACT_SWAP && m->yes_db >= SWAP_SETTLES_DB)
            parts |= m->fact.atoms[0].mask;
    }
    return parts;
}

static bool swap_made(const struct visit *v, uint64_t parts, engine_set set)
{
    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].from >= 0 && (parts >> v->done[i].part & 1u) != 0 && (v->done[i].cylinders & set) != 0)
            return true;
    return false;
}

/* Where the part that was in the cylinder is now, by the swaps of all visits. */
static engine_set moved(const struct record *r, const char *work, engine_set set)
{
    const char *part = strchr(work, ':');
    int which = part != NULL ? words_find(WORDS_DONE_PART, part + 1) : 0;
    int c = set != 0 && (set & (set - 1)) == 0 ? __builtin_ctz(set) : -1;

    for (int i = 0; i < r->n_visits && c >= 0; i++)
        for (int k = 0; k < r->visits[i].n_done; k++) {
            const struct visit_done *d = &r->visits[i].done[k];

            if (d->part == which && d->from >= 0)
                c = c == d->from ? d->to : c == d->to ? d->from : c;
        }
    return c >= 0 ? (engine_set)1 << c : 0;
}

/* The work the cause asks for was done at all of its cylinders at v; of a part that several share, at one of them. */
static bool repaired_at(const struct visit *v, const struct job_cause *cause, engine_set set)
{
    const struct settled_row *row = settled_row(cause->cause);
    engine_set worked = job_worked_at(v, cause->done) | (row != NULL ? listed_at(v, row->renewed, true) : 0);

    return row != NULL && cause->per == JOB_PER_ONE ? (set & worked) != 0 : (set & ~worked) == 0;
}

static bool answered(const struct record *r, const struct visit *v, const bool *renewed, const char *key, bool is_part)
{
    bool settles = text_starts(key, "settle:");
    char what[32];
    const char *place = job_key_split(settles ? key + 7 : key, what);
    const struct answer_row *row;
    const struct job_cause *cause;
    engine_set set;
    int of;

    if (place == NULL)
        return false;
    row = settles ? NULL : row_of(what);
    if (row != NULL)
        return plugs_answered(r, v, renewed, row, place, is_part, &of) == of && of > 0;
    cause = job_cause_find(what);
    set = job_place(&r->engine, place);
    if (cause == NULL || set == 0)
        return false;
    if (repaired_at(v, cause, set) || (moved(r, cause->done, set) & job_worked_at(v, cause->done)) != 0)
        return true;
    return !is_part && (settles || (settled_row(what) != NULL && settled_row(what)->swap_first)) && swap_made(v, settling_swaps(what), set);
}

bool job_settle_is_moot(const struct record *r, const struct visit *v, const char *key, char *why, size_t n_room)
{
    char what[32];
    const char *place = text_starts(key, "settle:") ? job_key_split(key + strlen("settle:"), what) : NULL;
    const struct job_cause *cause = place != NULL ? job_cause_find(what) : NULL;
    const struct settled_row *row = cause != NULL ? settled_row(what) : NULL;
    engine_set set = cause != NULL ? job_place(&r->engine, place) : 0;
    char work[48] = "", at[200];

    why[0] = '\0';
    if (set == 0 || !text_starts(cause->done, "replaced:") || !repaired_at(v, cause, set) || swap_made(v, settling_swaps(what), set))
        return false;
    for (const char *list = row != NULL ? row->renewed : cause->done; (list = job_next_of(list, work, sizeof work)) != NULL;)
        if ((job_worked_at(v, work) & set) != 0)
            break;
    engine_set_words(&r->engine, set, at, sizeof at);
    text_format(why, n_room, "%s of %s renewed", words_label(WORDS_DONE_PART, words_find(WORDS_DONE_PART, strchr(work, ':') + 1)), at);
    return true;
}

bool job_answered(const struct record *r, const struct visit *v, const bool renewed[ENGINE_MAX_PLUGS], const char *key)
{
    return answered(r, v, renewed, key, false);
}

bool job_part_answered(const struct record *r, const struct visit *v, const bool renewed[ENGINE_MAX_PLUGS], const char *key)
{
    return answered(r, v, renewed, key, true);
}

bool job_renews(const char *key)
{
    char what[32];
    const char *place = job_key_split(key, what);
    const struct answer_row *row = place != NULL ? row_of(what) : NULL;
    const struct job_cause *cause = place != NULL && row == NULL ? job_cause_find(what) : NULL;

    return text_starts(row != NULL ? row->work : cause != NULL ? cause->done : "", "replaced:");
}

/* Such work, a line for each cylinder of the place all of whose plugs it means. */
static void work_lines(const struct engine *en, const char *work, const char *place, engine_set without, char lines[][80], int n_room, int *n)
{
    bool marked[ENGINE_MAX_PLUGS];

    *n = 0;
    if (work[0] == '\0' || !plugs_of(en, place, marked))
        return;
    for (int c = 0; c < en->n_cylinders && *n < n_room; c++) {
        bool whole = (without >> c & 1u) == 0;

        for (int p = 0; p < en->n_positions; p++)
            whole = whole && marked[record_plug_index(en, c, p)];
        if (whole)
            text_format(lines[(*n)++], 80, "%s:cylinder %s", work, en->cylinders[c].label);
    }
}

void job_ticked_lines(const struct engine *en, const struct visit *v, const char *key, char lines[][80], int n_room, int *n)
{
    char what[32];
    const char *place = job_key_split(key, what);
    const struct answer_row *row = place != NULL ? row_of(what) : NULL;

    *n = 0;
    if (row != NULL) /* what was renewed already is not said to be cleaned as well */
        work_lines(en, row->ticked, place, v != NULL && row->part[0] != '\0' ? listed_at(v, row->work, true) : 0, lines, n_room, n);
}

void job_fitted_lines(const struct engine *en, const char *key, char lines[][80], int n_room, int *n)
{
    char what[32], work[48];
    const char *place = job_key_split(key, what);
    const struct answer_row *row = place != NULL ? row_of(what) : NULL;

    *n = 0;
    for (const char *list = row != NULL && row->part[0] != '\0' ? row->work : ""; (list = job_next_of(list, work, sizeof work)) != NULL;)
        if (text_starts(work, "replaced:"))
            work_lines(en, work, place, 0, lines, n_room, n);
}

const char *job_part_optional(const char *key, const char **note)
{
    char what[32];
    const struct answer_row *row = job_key_split(key, what) != NULL ? row_of(what) : NULL;

    if (row == NULL || row->part[0] == '\0')
        return NULL;
    *note = row->part_note;
    return row->part;
}
