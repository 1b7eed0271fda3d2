#include "reading/job.h"

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/cause_at.h"
#include "reading/cause_table.h"
#include "reading/refit.h"
#include "record/ready.h"
#include "record/seated.h"
#include "record/stops.h"

#define MOST_ROWS 64
#define WORDS_MOST_CHECKS 64

struct begin { /* row of job-steps.csv; its last two columns: record/steps.h */
    char at[24], key[24], text[200], caution[32], does[8];
    enum job_plugs plugs;
    double after_m;
};

static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct job_caution cautions[MOST_ROWS];
static struct job_cause rows[MOST_ROWS];
static struct begin begins[MOST_ROWS];
static char checks[WORDS_MOST_CHECKS]
                  [100]; /* by complaint: what shows it where a warm idle does not, "" it does */
static struct {
    char several[100], one[100];
} of_one[MOST_ROWS];
static struct {
    bool (*holds)(const struct engine *en);
    char common[100], own[100];
} of_engine[MOST_ROWS];
static uint64_t plugs_stay; /* bits of WORDS_DONE_PART: work on it leaves the plugs in (plugs-stay.csv) */
static int n_of_one, n_of_engine, n_cautions, n_rows, n_begins;

/* ---- the tables ---- */

static double km_to_m(const struct csv *c, size_t row, const char *column)
{
    double km = 0;

    text_to_double(csv_named(c, row, column), &km); /* empty: none */
    return km * 1000;
}

/* "coil.cracked | coil.tracked" */
static void load_signs(const char *list, bool signs[SIGN_COUNT])
{
    while (*list != '\0') {
        size_t n = strcspn(list, " |");

        for (int s = 0; s < SIGN_COUNT; s++) {
            char name[64];

            sign_measure((enum sign)s, name, sizeof name);
            signs[s] = signs[s] || (strlen(name) == n && strncmp(name, list, n) == 0);
        }
        list += n + strspn(list + n, " |");
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

static bool has_distributor(const struct engine *en)
{
    return en->ignition == ENGINE_DISTRIBUTOR;
}

static void load_words_of_engine(void)
{
    static const struct {
        const char *of;
        bool (*holds)(const struct engine *en);
    } kinds[] = {{"magneto", has_magneto}, {"two-magnetos", has_two_magnetos}, {"distributor", has_distributor}, {"propeller", engine_is_propeller_like}};
    struct csv c;

    asset_table_must("words-of-engine.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        text_copy(of_engine[n_of_engine].common, sizeof of_engine[0].common, csv_named(&c, i, "common"));
        text_copy(of_engine[n_of_engine].own, sizeof of_engine[0].own, csv_named(&c, i, "own"));
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
    }
    csv_release(&c);
    asset_table_must("job-steps.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct begin *b = &begins[n_begins++];

        text_copy(b->at, sizeof b->at, csv_named(&c, i, "at"));
        text_copy(b->key, sizeof b->key, csv_named(&c, i, "key"));
        text_copy(b->text, sizeof b->text, csv_named(&c, i, "text"));
        text_copy(b->caution, sizeof b->caution, csv_named(&c, i, "caution"));
        text_copy(b->does, sizeof b->does, csv_named(&c, i, "does"));
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

static void put_in_place(const char *of, const char *words, char *text, size_t n_room)
{
    const char *at = strstr(text, of);
    struct text t = {0};

    if (at == NULL)
        return;
    text_addf(&t, "%.*s%s%s", (int)(at - text), text, words, at + strlen(of));
    text_copy(text, n_room, text_get(&t));
    text_release(&t);
}

void job_words_of_engine(const struct engine *en, char *text, size_t n_room)
{
    pthread_once(&once, load);
    for (int i = 0; i < n_of_one && record_plug_count(en) == 1; i++)
        put_in_place(of_one[i].several, of_one[i].one, text, n_room);
    for (int i = 0; i < n_of_engine; i++)
        if (of_engine[i].holds(en))
            put_in_place(of_engine[i].common, of_engine[i].own, text, n_room);
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

enum job_plugs job_plugs_of(const char *source)
{
    size_t n = strcspn(source, "@");
    const struct job_cause *c;
    char what[32];

    pthread_once(&once, load);
    for (int i = 0; n > 0 && i < n_begins; i++)
        if (strlen(begins[i].key) == n && strncmp(begins[i].key, source, n) == 0)
            return begins[i].plugs;
    if (source[n] == '\0' || text_starts(source, "again:"))
        return JOB_PLUGS_NOTHING;
    source += text_starts(source, "settle:") ? strlen("settle:") : 0;
    text_format(what, sizeof what, "%.*s", (int)strcspn(source, "@"), source);
    c = job_cause_find(what);
    if (c == NULL)
        return JOB_PLUGS_NOTHING;
    return c->done[0] != '\0' && (plugs_stay >> words_find(WORDS_DONE_PART, strchr(c->done, ':') + 1) & 1u) != 0 ? JOB_PLUGS_STAY : JOB_PLUGS_ASKS;
}

/* ---- places ---- */

engine_set job_place(const struct engine *en, const char *place)
{
    return record_place(en, place);
}

void job_done_line(const struct engine *en, const struct job_cause *c, const char *place, char *to, size_t n_room)
{
    char where[100];

    to[0] = '\0';
    if (c->done[0] == '\0' || job_place(en, place) == 0)
        return;
    record_done_place(place, where, sizeof where);
    text_format(to, n_room, "%s:%s", c->done, where);
}

/* ---- proposals ---- */

static struct job_step *add_step(struct job *j, const char *key, const char *text, const char *caution)
{
    struct job_step *s;

    for (int i = 0; i < j->n_steps; i++)
        if (strcmp(j->steps[i].key, key) == 0)
            return NULL;
    if (j->n_steps == JOB_MAX)
        return NULL;
    s = &j->steps[j->n_steps++];
    memset(s, 0, sizeof *s);
    text_copy(s->key, sizeof s->key, key);
    text_copy(s->marked, sizeof s->marked, text);
    unit_tell_words(&j->units, text, s->text, sizeof s->text);
    text_copy(s->caution, sizeof s->caution, caution);
    text_copy(s->state, sizeof s->state, "todo");
    return s;
}

int job_distance_unit(const struct visit *v)
{
    return v->odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h") ? words_find(WORDS_ODOMETER_UNIT, "km") : v->odometer_unit;
}

/* An engine that counts hours is looked at again when it suits; otherwise whole fifties in the unit
 * the odometer counts in: 800 km are 500 mi. */
static struct maybe round_distance(const struct record *r, double metres)
{
    const struct unit *u = visit_odometer_unit(record_current(r)->odometer_unit);
    double step = 50 * (strcmp(u->id, "mi") == 0 ? u->factor : 1000);

    if (job_distance_unit(record_current(r)) != record_current(r)->odometer_unit)
        return (struct maybe){false, 0};
    return MAYBE(fmax(1, round(metres / step)) * step);
}

/* The visit whose complaint is to be asked for: this one where it was asked, also when there is none, or the last before it that was. */
static const struct visit *complaint_of(const struct record *r)
{
    const struct visit *v = record_current(r);

    for (int i = r->n_visits - 2; i >= 0 && !visit_complaint_asked(v); i--)
        if (visit_complaint_asked(&r->visits[i]))
            return &r->visits[i];
    return v;
}

void job_complaint_check(const struct record *r, char *to, size_t n_room)
{
    const struct visit *v = complaint_of(r);

    pthread_once(&once, load);
    to[0] = '\0';
    for (int i = 0; i < v->n_complaints; i++) {
        const char *then = checks[v->complaints[i]];

        if (then[0] != '\0' && strstr(to, then) == NULL && strlen(to) + strlen(then) + 7 < n_room)
            text_format(to + strlen(to), n_room - strlen(to), ", then %s", then);
    }
}

void job_complaint_asked(const struct record *r, char *to, size_t n_room)
{
    const struct visit *v = complaint_of(r);
    char own[120]; /* so much of the person's words; a step holds no more */

    to[0] = '\0';
    if (!visit_complains(v))
        return;
    if (v->complaint_words[0] != '\0') {
        bool whole = text_copy(own, sizeof own, v->complaint_words);

        text_format(to, n_room, "“%s%s”", own, whole ? "" : "…");
    }
    for (int i = 0; i < v->n_complaints && v->complaint_words[0] == '\0'; i++)
        text_format(to + strlen(to), n_room - strlen(to), "%s“%s”", i > 0 ? ", " : "", words_label(WORDS_COMPLAINT, v->complaints[i]));
    text_format(to + strlen(to), n_room - strlen(to), ": gone?");
}

static bool all_drawn(const struct visit *v, int n_plugs)
{
    for (int i = 0; i < n_plugs; i++)
        if (!ready_was_drawn(v, &v->readings[i]))
            return false;
    return n_plugs > 0;
}

/* As the visit says it was done; a plug that is still to be drawn asks for it, of those that are out nothing is claimed. */
static const char *socket_words(const struct record *r)
{
    const struct visit *v = record_current(r);

    if (record_plug_count(&r->engine) == 1)
        return ""; /* it touches no other */
    if (v->socket != 0 && v->socket != words_find(WORDS_SOCKET, "wiped"))
        return words_label(WORDS_SOCKET, v->socket);
    return v->socket == 0 && all_drawn(v, record_plug_count(&r->engine)) ? "" : "socket wiped between them";
}

/* {where}, {why}, {gap}, {limit}, {book}, {electrode}, {then}, {complaint}, {socket} filled in. */
static void fill(const struct record *r, const char *text, const char *where, const char *why, char *to, size_t n_room)
{
    char number[32], asked[200];
    struct text t = {0};

    for (const char *s = text; *s != '\0';) {
        if (text_starts(s, "{where}")) {
            text_add(&t, where);
        } else if (text_starts(s, "{why}")) {
            text_add(&t, why);
        } else if (text_starts(s, "{gap}") || text_starts(s, "{limit}")) {
            unit_mark_length(s[1] == 'g' ? r->engine.plug.gap_min_mm : refit_worn_from_mm(&r->engine.plug), number, sizeof number);
            text_add(&t, number);
        } else if (text_starts(s, "{book}")) {
            text_add(&t, refit_book_words(&r->engine));
        } else if (text_starts(s, "{electrode}")) {
            const char *metal = engine_electrode_id(r->engine.plug.electrode);

            text_addf(&t, "%c%s", metal[0] - 'a' + 'A', metal + 1);
        } else if (text_starts(s, "{then}")) {
            job_complaint_check(r, asked, 100); /* and the complaint: a step holds no more */
            text_add(&t, asked);
        } else if (text_starts(s, "{socket}")) {
            text_addf(&t, "%s%s", socket_words(r)[0] != '\0' ? ", " : "", socket_words(r));
        } else if (text_starts(s, "{complaint}")) {
            job_complaint_asked(r, asked, sizeof asked);
            text_add(&t, asked[0] != '\0' ? asked : "does it run evenly?");
        } else {
            text_addf(&t, "%c", *s++);
            continue;
        }
        s = strchr(s, '}') + 1;
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* The rows of job-steps.csv for one occasion. */
static void add_begins_why(const struct record *r, const char *at, const char *where, const char *why, struct job *j)
{
    for (int i = 0; i < n_begins; i++) {
        const struct begin *b = &begins[i];
        struct job_step *s;
        char key[64], text[256];

        if (strcmp(b->at, at) != 0)
            continue;
        text_format(key, sizeof key, "%s@%s", b->key, where);
        fill(r, b->text, where, why, text, sizeof text);
        s = add_step(j, where[0] && strcmp(at, "wet") != 0 ? key : b->key, text, b->caution);
        if (s == NULL)
            continue;
        text_copy(s->does, sizeof s->does, b->does);
        s->first = text_starts(at, "start");
        s->running = text_starts(at, "found:") && text_starts(b->caution, "engine-run"); /* it runs for this */
        s->last = strcmp(at, "end") == 0 || text_starts(at, "gaps:") || s->running;
        if (b->after_m > 0) {
            s->after_m = round_distance(r, b->after_m);
            text_copy(s->state, sizeof s->state, "later");
        }
    }
}

static void add_begins(const struct record *r, const char *at, const char *where, struct job *j)
{
    add_begins_why(r, at, where, "", j);
}

static int count_bits(engine_set set)
{
    int n = 0;

    for (; set != 0; set &= set - 1)
        n++;
    return n;
}

/* New plugs are those of the book, where its type is written down. */
static void name_plug(const struct engine *en, struct job_part *p)
{
    size_t n = strlen(p->text);

    if (en->plug.type[0] != '\0' && n + strlen(en->plug.type) + 4 <= sizeof p->text)
        text_format(p->text + n, sizeof p->text - n, " (%s)", en->plug.type);
}

static void add_part(const struct record *r, const struct job_cause *row, const char *where, engine_set cylinders, struct job *j)
{
    const struct engine *en = &r->engine;
    struct job_part *p;
    char at[CAUSE_AT_BYTES];
    int affected = count_bits(cylinders != 0 ? cylinders : job_place(en, where));

    if (row->part[0] == '\0' || j->n_parts == JOB_MAX)
        return;
    for (int i = 0; i < j->n_parts; i++) /* one kind of part is one line: how many, and whether as a set */
        if (strncmp(j->parts[i].text, row->part, strlen(row->part)) == 0 && row->per == JOB_PER_SET)
            return;
    p = &j->parts[j->n_parts++];
    memset(p, 0, sizeof *p);
    text_format(p->key, sizeof p->key, "%s@%s", row->cause, where);
    p->quantity = row->per == JOB_PER_CYLINDER ? affected : row->per == JOB_PER_SET ? record_plug_count(en) : 1;
    cause_at_place(en, row->cause, where, at);
    if (row->per == JOB_PER_SET)
        at[0] = '\0';
    text_format(p->text, sizeof p->text, "%s%s%s", row->part, at[0] != '\0' ? ", " : "", at);
    if (strcmp(row->done, "replaced:plug") == 0)
        name_plug(en, p);
    if (en->n_cylinders == 1)
        return;
    if (row->per == JOB_PER_CYLINDER && affected > 1)
        text_format(p->note, sizeof p->note, "%d of %d affected: one set may be cheaper", affected, en->n_cylinders);
    else if (row->per == JOB_PER_CYLINDER)
        text_format(p->note, sizeof p->note, "1 of %d affected: one is enough", en->n_cylinders);
}

/* Several single parts of one kind, each from a cause of its own: one, or the set? */
static void ask_for_sets(const struct record *r, struct job *j)
{
    for (int i = 0; i < j->n_parts; i++) {
        size_t n = strcspn(j->parts[i].text, ",");
        int together = 0;

        if (j->parts[i].note[0] == '\0')
            continue;
        for (int k = 0; k < j->n_parts; k++)
            if (strcspn(j->parts[k].text, ",") == n && strncmp(j->parts[i].text, j->parts[k].text, n) == 0)
                together += j->parts[k].quantity;
        if (together > 1)
            text_format(j->parts[i].note, sizeof j->parts[i].note, "%d of %d affected: one set may be cheaper", together, r->engine.n_cylinders);
    }
}

enum job_state job_judged_as(const struct engine *en, const struct job_judged *judged, int n, const char *cause, const char *place)
{
    engine_set set = job_place(en, place), of[JOB_STATE_COUNT] = {0};

    for (int i = 0; i < n; i++) {
        if (strcmp(judged[i].cause, cause) != 0)
            continue;
        if (strcmp(judged[i].place, place) == 0)
            return judged[i].state;
        of[judged[i].state] |= job_place(en, judged[i].place);
    }
    if (set == 0 || (set & ~(of[JOB_ACCEPTED] | of[JOB_DISMISSED] | of[JOB_REPAIRED])) != 0)
        return JOB_OPEN;
    if ((set & ~of[JOB_DISMISSED]) == 0)
        return JOB_DISMISSED;
    return (set & ~(of[JOB_REPAIRED] | of[JOB_DISMISSED])) == 0 ? JOB_REPAIRED : JOB_ACCEPTED;
}

/* A swap has told that it is this cause, here. */
static bool is_settled(const struct findings *f, const char *cause, const char *where)
{
    for (int i = 0; f != NULL && i < f->n_causes; i++)
        if (strcmp(f->causes[i].id, cause) == 0 && strcmp(f->causes[i].where, where) == 0)
            return f->causes[i].settled;
    return false;
}

static void add_repair(const struct record *r, const struct findings *f, const char *cause, const char *where, engine_set cylinders, struct job *j);

bool job_is_seen(const struct record *r, const struct job_cause *c, engine_set cylinders)
{
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i];

        if (!q->present || (cylinders >> q->cylinder & 1u) == 0)
            continue;
        for (int s = 0; s < SIGN_COUNT; s++)
            if (c->seen[s] && q->amount[s] > 0)
                return true;
        if (c->seen_repair[0] != '\0' && strcmp(c->done, "replaced:plug") == 0 && refit_scrap(r, q)[0] != '\0')
            return true;
    }
    return false;
}

static bool is_seen_at_all(const struct record *r, const struct job_cause *c, engine_set cylinders)
{
    for (int i = 0; i < r->engine.n_cylinders; i++)
        if ((cylinders >> i & 1u) != 0 && !job_is_seen(r, c, (engine_set)1 << i))
            return false;
    return cylinders != 0;
}

/* It runs for this: that comes when the plugs are in again. */
static void mark_running(struct job_step *s)
{
    if (s == NULL)
        return;
    s->running = true;
    s->last = true;
}

static void running_last(struct job *j)
{
    struct job_step *all = mem_alloc((size_t)j->n_steps + 1, sizeof *all);
    int n = 0;

    for (int running = 0; running < 2; running++)
        for (int i = 0; i < j->n_steps; i++)
            if (j->steps[i].running == (running != 0))
                all[n++] = j->steps[i];
    memcpy(j->steps, all, (size_t)n * sizeof *all);
    free(all);
}

/* Checks that settle likely causes nobody judged yet. */
static void add_checks(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, bool running, struct job *out)
{
    for (int i = 0; f != NULL && i < findings_n_on_screen(f); i++) {
        const struct cause *c = &f->causes[i];
        const struct job_cause *row = job_cause_find(c->id);
        struct job_step *s;
        char key[64], text[256], at[CAUSE_AT_BYTES];

        if (!findings_to_settle(c) || job_judged_as(&r->engine, judged, n_judged, c->id, c->where) != JOB_OPEN)
            continue;
        if (c->settled) { /* nothing is left to be found out */
            if (!running)
                add_repair(r, f, c->id, c->where, c->cylinders, out);
            continue;
        }
        /* a plug that is seen to be scrap has its own step */
        if (row != NULL && strcmp(row->done, "replaced:plug") == 0 && job_is_seen(r, row, c->cylinders))
            continue;
        if (row != NULL && row->seen_repair[0] != '\0' && is_seen_at_all(r, row, c->cylinders)) { /* nothing is to be settled first: it is renewed, and bought */
            if (!running)
                add_repair(r, f, c->id, c->where, c->cylinders, out);
            continue;
        }
        /* what is seen is mended with the engine off */
        if ((row != NULL && row->settles_running && !job_is_seen(r, row, c->cylinders)) != running)
            continue;
        text_format(key, sizeof key, "settle:%s@%s", c->id, c->where);
        cause_at_found(&r->engine, c, at);
        text_format(text, sizeof text, "Settle whether: %s. %s", at, c->settles);
        s = add_step(out, key, text, row == NULL ? "" : running && row->settle_caution[0] != '\0' ? row->settle_caution : row->caution);
        if (running)
            mark_running(s);
    }
}

static void add_repair(const struct record *r, const struct findings *f, const char *cause, const char *where, engine_set cylinders, struct job *j)
{
    const struct job_cause *row = job_cause_find(cause);
    struct job_step *s;
    char key[64], text[256], at[CAUSE_AT_BYTES];

    if (row == NULL)
        return;
    cause_at_place(&r->engine, cause, where, at);
    text_format(key, sizeof key, "%s@%s", cause, where);
    text_format(text, sizeof text, "%s%s%s", is_settled(f, cause, where) ? job_settled_repair(cause) : job_is_seen(r, row, cylinders != 0 ? cylinders : job_place(&r->engine, where)) ? row->seen_repair : row->repair, at[0] != '\0' ? ": " : "", at);
    s = add_step(j, key, text, row->caution);
    if (strcmp(row->caution, "engine-run") == 0)
        mark_running(s);
    if (row->again_m > 0) {
        text_format(key, sizeof key, "again:%s@%s", cause, where);
        cause_at_words(&r->engine, cause, where, at);
        text_format(text, sizeof text, "Look again whether it held: %s", at);
        s = add_step(j, key, text, "");
        if (s != NULL) {
            s->after_m = round_distance(r, row->again_m);
            text_copy(s->state, sizeof s->state, "later");
        }
    }
    add_part(r, row, where, cylinders, j);
}

/* ---- plugs that do not go in again, and gaps before the others do ---- */

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
    text_format(p->text, sizeof p->text, n == 1 ? "Spark plug of the maker's book, %.100s" : "Spark plugs of the maker's book, %.100s", where);
    name_plug(&r->engine, p);
    p->quantity = n;
    return p;
}

/* Cylinders for which an accepted cause brings new plugs, also where they are not all of its repair. */
static engine_set renewed_by_repair(const struct record *r, const struct job *j)
{
    engine_set set = 0;

    for (int i = 0; i < j->n_steps; i++) {
        char cause[32];
        size_t n = strcspn(j->steps[i].key, "@");
        const struct job_cause *row;

        text_format(cause, sizeof cause, "%.*s", (int)n, j->steps[i].key);
        row = job_cause_find(cause);
        if (row != NULL && text_starts(row->part, "Spark plug"))
            set |= job_place(&r->engine, j->steps[i].key + n + (j->steps[i].key[n] == '@'));
    }
    return set;
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
    add_begins_why(r, "gaps:scrap", where, why, j);
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

    pthread_once(&once, load);
    to[0] = '\0';
    if (key[n] == '\0' || !engine_plugs_parse(&r->engine, key + n + 1, marked))
        return;
    scrap_words(r, marked, why, sizeof why);
    for (int i = 0; i < n_begins; i++)
        if (strlen(begins[i].key) == n && strncmp(begins[i].key, key, n) == 0)
            fill(r, begins[i].text, key + n + 1, why, to, n_room);
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
    add_begins(r, "gaps:bridged", where, j);
}

static void add_gaps(const struct record *r, struct job *j)
{
    static const char *const occasions[] = {"gaps:past", "gaps:fine", "gaps:unmeasured", "gaps:set"};
    const struct visit *v = record_current(r);
    int n_plugs = record_plug_count(&r->engine);
    const engine_set covered = renewed_by_repair(r, j);
    char where[200];

    add_scrap(r, covered, j);
    add_bridged(r, covered, j);
    if (r->engine.plug.gap_min_mm <= 0)
        return;
    for (size_t k = 0; k < sizeof occasions / sizeof occasions[0]; k++) {
        bool marked[ENGINE_MAX_PLUGS] = {false};
        struct job_part *p;
        int n = 0;

        for (int i = 0; i < n_plugs; i++) {
            const char *calls = gap_calls_for(r, &v->readings[i]);

            marked[i] = calls != NULL && strcmp(calls, occasions[k]) == 0;
            n += marked[i];
        }
        if (n == 0)
            continue;
        engine_plugs_words(&r->engine, marked, where, sizeof where);
        add_begins(r, occasions[k], where, j);
        p = k == 0 ? add_plugs(r, "renew", where, n, j) : NULL;
        if (p != NULL)
            text_format(p->note, sizeof p->note, "%d of %d past the limit%s", n, n_plugs, n < n_plugs ? ": a whole set wears alike" : "");
    }
}

/* ---- tightened too far ---- */

static void add_over(const struct record *r, const struct ready *ready, struct job *j)
{
    char where[200];

    if (ready_over_words(&r->engine, ready, where, sizeof where))
        add_begins(r, "over", where, j);
}

/* ---- what must be looked into before it runs again ---- */

static void add_stops(const struct record *r, const struct ready *ready, struct job *j)
{
    char at[32], where[200];

    for (int k = 0; k < VISIT_STOPS; k++) {
        engine_set set = ready->stops[k] | (r->n_later == 0 ? ready->stops_run[k] : 0); /* also what it was run over, until it is said */

        if (set == 0)
            continue;
        text_format(at, sizeof at, "stop:%s", stop_row(k)->id);
        engine_set_words(&r->engine, set, where, sizeof where);
        add_begins(r, at, where, j);
    }
}

/* Until then nothing is proposed that it would have to run for. */
static void drop_running(struct job *j)
{
    int n = 0;

    for (int i = 0; i < j->n_steps; i++)
        if (!j->steps[i].running && strcmp(j->steps[i].key, "idle") != 0)
            j->steps[n++] = j->steps[i];
    j->n_steps = n;
}

/* ---- where there may be a propeller ---- */

/* Where it runs, what the propeller does then stands in place of belts and fans. */
static void warn_of_propeller(struct job *j)
{
    const struct job_caution *list[JOB_MOST_CAUTIONS];

    for (int i = 0; i < j->n_steps; i++) {
        char *caution = j->steps[i].caution;
        int n = job_cautions_of(caution, list);
        bool asks = false;

        for (int k = 0; k < n; k++)
            asks = asks || (list[k]->propeller && strcmp(list[k]->id, "engine-run") != 0);
        put_in_place("engine-run", "engine-run-prop", caution, sizeof j->steps[i].caution);
        if (asks)
            text_format(caution + strlen(caution), sizeof j->steps[i].caution - strlen(caution), "+propeller");
    }
}

int job_rotation(const struct engine *en, struct plug_move moves[ENGINE_MAX_PLUGS])
{
    int n = 0;

    if (en->n_positions != 2 || en->ignition != ENGINE_MAGNETO || en->n_cylinders < 2)
        return 0;
    for (int i = 0; i < en->n_cylinders; i++)
        for (int p = 0; p < 2; p++)
            moves[n++] = (struct plug_move){{en->firing[i], p}, {en->firing[(i + 1) % en->n_cylinders], 1 - p}};
    return n;
}

static void add_rotation(const struct record *r, struct job *j)
{
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n = job_rotation(&r->engine, moves);
    char text[256] = "Rotate the plugs: ";
    size_t used = strlen(text);

    if (n == 0)
        return;
    record_format_moves(&r->engine, moves, n, text + used, sizeof text - used);
    if (strlen(text) + 1 == sizeof text) /* too many to be said in a step: the scheme stands with the parts */
        text_copy(text, sizeof text, "Rotate the plugs by the scheme written with the parts that change holes");
    add_step(j, "rotate", text, "");
}

/* What the work noted at this visit answers is neither to be done nor to be bought. */
static void drop_answered(const struct record *r, struct job *j)
{
    int n_steps = 0, n_parts = 0;

    for (int i = 0; i < j->n_steps; i++)
        if (!job_answered(r, record_current(r), NULL, j->steps[i].key))
            j->steps[n_steps++] = j->steps[i];
    for (int i = 0; i < j->n_parts; i++)
        if (!job_part_answered(r, record_current(r), NULL, j->parts[i].key))
            j->parts[n_parts++] = j->parts[i];
    j->n_steps = n_steps;
    j->n_parts = n_parts;
}

/* ---- what is over ---- */

/* Each cylinder has a plug at which the zone was looked at. What is noted in a well was seen there; of coils and wiring one thing that
 * is noted leaves the rest unsaid. */
static bool all_seen(const struct record *r, enum zone zone)
{
    const struct engine *en = &r->engine;

    for (int c = 0; c < en->n_cylinders; c++) {
        bool seen = false;

        for (int p = 0; p < en->n_positions; p++)
            seen = seen || visit_reading_const(record_current(r), en, c, p)->zone_seen[zone] || (zone == ZONE_WELL && reading_zone_looked(visit_reading_const(record_current(r), en, c, p), zone));
        if (!seen)
            return false;
    }
    return true;
}

/* Somebody looked into every well, and what stood in one of them is noted as cleaned out. */
static bool wells_empty(const struct record *r)
{
    const struct visit *v = record_current(r);
    engine_set cleaned = job_worked_at(v, "cleaned:well");

    for (int i = 0; i < record_plug_count(&r->engine); i++)
        for (int s = 0; s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == ZONE_WELL && v->readings[i].amount[s] > 0 && (cleaned >> v->readings[i].cylinder & 1u) == 0)
                return false;
    return all_seen(r, ZONE_WELL);
}

bool job_is_over(const struct record *r, const char *key)
{
    enum engine_ignition ig = r->engine.ignition;

    if (r->n_visits == 0)
        return false;
    if (strcmp(key, "look") == 0)
        return all_seen(r, ZONE_WELL);
    if (strcmp(key, "dry") == 0)
        return record_current(r)->state.dried || wells_empty(r);
    if (strcmp(key, "pull") == 0)
        return all_drawn(record_current(r), record_plug_count(&r->engine));
    return strcmp(key, "coils") == 0 && all_seen(r, ZONE_BOOT) && all_seen(r, ZONE_CONNECTOR) && (ig == ENGINE_DISTRIBUTOR || ig == ENGINE_MAGNETO || all_seen(r, ZONE_COIL)) &&
           (ig == ENGINE_COIL_PER_PLUG || all_seen(r, ZONE_LEAD));
}

/* Such a step comes ticked. */
static void tick_over(const struct record *r, struct job *j)
{
    for (int i = 0; i < j->n_steps; i++)
        if (job_is_over(r, j->steps[i].key))
            text_copy(j->steps[i].state, sizeof j->steps[i].state, "done");
}

/* Dry and wet of every cylinder: what taking it again asks for is there. */
static bool compression_is_whole(const struct record *r)
{
    for (int c = 0; c < r->engine.n_cylinders; c++) {
        const struct reading *q = visit_reading_const(record_current(r), &r->engine, c, 0);

        if (!q->compression_kpa.given || !q->compression_wet_kpa.given)
            return false;
    }
    return true;
}

void job_propose(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, const struct unit_choice *units, struct job *out)
{
    static const struct {
        enum stand_out_kind kind;
        const char *at;
    } kinds[] = {{STAND_COMPRESSION, "found:compression"}, {STAND_CARRY_OVER, "found:carry-over"}, {STAND_WEAR, "found:wear"}};
    struct ready_liquid liquid;
    struct ready ready;
    char where[200];

    pthread_once(&once, load);
    memset(out, 0, sizeof *out);
    if (units != NULL)
        out->units = *units;
    if (r->n_visits == 0)
        return;
    if (engine_is_propeller_like(&r->engine))
        add_begins(r, "start:propeller", "", out);
    if (engine_may_have_wells(&r->engine))
        add_begins(r, "start:well", "", out);
    add_begins(r, "start", "", out);
    ready_of(r, &ready);
    add_stops(r, &ready, out);
    for (int i = 0; f != NULL && i < f->n_stand_outs; i++)
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
            if (f->stand_outs[i].kind == kinds[k].kind && (f->stand_outs[i].cylinders != 0 || kinds[k].kind != STAND_WEAR)) { /* of the whole engine there are no others */
                const bool differential = strcmp(f->stand_outs[i].measure, "differential_over_80") == 0;

                if (kinds[k].kind != STAND_COMPRESSION || differential || !compression_is_whole(r))
                    add_begins(r, differential ? "found:differential" : kinds[k].at, f->stand_outs[i].where, out);
            }
    for (int i = 0; f != NULL && i < f->n_stand_outs; i++)
        if (f->stand_outs[i].unexplained)
            add_begins(r, "found:unexplained", f->stand_outs[i].where, out);
    add_checks(r, f, judged, n_judged, false, out);
    for (int i = 0; i < n_judged; i++)
        if (judged[i].state == JOB_ACCEPTED || judged[i].state == JOB_REPAIRED)
            add_repair(r, f, judged[i].cause, judged[i].place, 0, out);
    drop_answered(r, out);
    ask_for_sets(r, out);
    liquid = ready.liquid;
    for (int k = 0; k < READY_LIQUIDS && r->n_later == 0; k++) /* what an earlier visit saw, and nobody turned it since */
        liquid.of[k] |= ready.turn_first.of[k];
    if (ready_liquid_set(&liquid) != 0) {
        ready_liquid_words(&r->engine, &liquid, where, sizeof where);
        add_begins(r, "wet", where, out);
    }
    add_over(r, &ready, out);
    add_rotation(r, out);
    add_gaps(r, out);
    add_begins(r, "end", "", out);
    add_checks(r, f, judged, n_judged, true, out);
    drop_answered(r, out);
    running_last(out);
    if (ready_stops_set(&ready) != 0 || ready_scrap_words(&r->engine, &ready, where, sizeof where))
        drop_running(out);
    tick_over(r, out);
    for (int i = 0; i < out->n_steps; i++) {
        job_words_of_engine(&r->engine, out->steps[i].text, sizeof out->steps[i].text);
        job_words_of_engine(&r->engine, out->steps[i].marked, sizeof out->steps[i].marked);
    }
    for (int i = 0; i < out->n_parts; i++)
        job_words_of_engine(&r->engine, out->parts[i].text, sizeof out->parts[i].text);
    if (engine_is_propeller_like(&r->engine))
        warn_of_propeller(out);
}
