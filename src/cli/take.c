/* take.c - sootbook take LOGBOOK FILE...: written cases become engines of the logbook, tables readings of one,
 * folders of photos its visits. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "cli/cli.h"
#include "engine/engine.h"
#include "logbook/logbook.h"
#include "placing/old_photos.h"
#include "takeover/plan.h"
#include "takeover/takeover.h"

#define MOST 64

enum { O_ENGINE, O_LAYOUT, O_VISIT, O_COLUMNS, O_DATES, O_LEAVE_OUT, O_CHECK, N_OPTIONS };

/* ---- tables ---- */

static void print_columns(const struct take_table *t)
{
    char heading[80];

    for (int i = 0; i < t->n_columns; i++) {
        const struct take_column *c = &t->columns[i];

        if (c->field == TAKE_NOTHING)
            printf("  %s: not taken\n", take_table_heading(t, i, heading, sizeof heading));
        else
            printf("  %s: %s%s%s%s%s%s%s%s\n", take_table_heading(t, i, heading, sizeof heading), take_field(c->field)->label, c->sign >= 0 ? ", " : "",
                   c->sign >= 0 ? sign_row((enum sign)c->sign)->label : "", c->plug[0] ? " of " : "", c->plug, c->unit[0] ? ", " : "",
                   c->unit[0] ? c->unit : "", c->unit_guessed && c->field == TAKE_ODOMETER && take_plan_asks_distance(t) ? " or another (to be said)" : c->unit_guessed ? " (guessed)" : c->how == TAKE_BY_FIGURES ? " (by its figures)" : "");
    }
}

static void print_troubles(const struct take_table *t, const struct take_plan *p)
{
    char heading[80];

    for (size_t i = 0; i < p->n_troubles; i++) {
        const struct take_trouble *x = &p->troubles[i];

        fprintf(stderr, "%s, line %zu%s%s: %s\n", t->name, x->line, x->column >= 0 ? ", " : "", x->column >= 0 ? take_table_heading(t, x->column, heading, sizeof heading) : "", x->text);
    }
}

static bool set_dates(struct take_table *t, const char *dates, struct err *e)
{
    if (dates == NULL)
        return true;
    if (strcmp(dates, "dmy") != 0 && strcmp(dates, "mdy") != 0)
        return err_set(e, ERR_BADARG, "--dates is dmy (day first) or mdy (month first), not “%s”.", TEXT_SHORT(dates, 20));
    if (t->dates_asked)
        t->dates = dates[0] == 'd' ? TAKE_DAY_FIRST : TAKE_MONTH_FIRST;
    return true;
}

static bool plan_table(struct logbook *lb, struct take_table *t, const struct cli_option *o, struct take_target *target, struct arena *a, struct take_plan *p, struct err *e)
{
    char visit[UUID_BYTES] = "", name[64];

    cli_visit_name(o[O_VISIT].value, name, sizeof name);
    take_table_match(t, NULL);
    if (!take_target_find(lb, t, o[O_ENGINE].value, o[O_LAYOUT].value, "", "", target, e))
        return false;
    if (target->known)
        take_table_match(t, &target->engine);
    if (o[O_VISIT].value != NULL) {
        if (target->engine_id[0] == '\0')
            return err_set(e, ERR_BADARG, "--visit names a visit of an engine that is there; this one is new. Leave --visit away and give the table a column of dates.");
        if (!logbook_find_visit(lb, target->engine_id, name, visit, e))
            return false;
        text_copy(target->visit_id, sizeof target->visit_id, visit);
    }
    return take_table_columns(t, o[O_COLUMNS].value != NULL ? o[O_COLUMNS].value : "", e) && set_dates(t, o[O_DATES].value, e) && take_plan_make(lb, t, target, NULL, a, p, e);
}

/* Which option answers a question. */
static const char *answer(const struct take_table *t, const struct take_target *target)
{
    return take_table_oil_somewhere(t) >= 0 ? "Say it with --columns COLUMN=well, =firing_end or =threads; COLUMN=- leaves it out." : t->dates == TAKE_DATES_UNSURE ? "Say it with --dates dmy or --dates mdy." : take_plan_asks_distance(t) ? "Say it in the heading, as in “odometer (mi)”, or with --columns COLUMN=odometer:mi, :km or :h." : !target->known ? "Say it with --engine NAME or --layout ID." : "Say it with --columns COLUMN=FIELD,… or --visit DATE.";
}

static bool take_table(struct logbook *lb, const char *path, const struct cli_option *o, struct err *e)
{
    struct arena *a = arena_create();
    struct take_target target;
    struct take_plan p = {0};
    struct take_table t;
    struct text assumed = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES], words[300], left_out[80];
    bool fine;

    if (!take_table_read(path, &t, e)) {
        arena_destroy(a);
        return false;
    }
    fine = plan_table(lb, &t, o, &target, a, &p, e);
    if (fine) {
        take_plan_words(&p, words, sizeof words);
        if (o[O_CHECK].value != NULL || p.question[0] != '\0')
            print_columns(&t);
        print_troubles(&t, &p);
        if (p.question[0] != '\0')
            fine = err_set(e, ERR_BADARG, "%s: %s %s", t.name, p.question, answer(&t, &target));
        else if (take_plan_left_out(&p, left_out, sizeof left_out) && o[O_LEAVE_OUT].value == NULL)
            fine = err_set(e, ERR_BADARG, "%s: nothing was taken over: %s cannot be read. Mend them, or take the rest with --leave-out.", t.name, left_out);
        else if (o[O_CHECK].value == NULL)
            fine = take_plan_write(lb, &t, &p, &target, NULL, engine, visit, e);
    }
    if (fine) {
        printf("%s: %s. %s: %s\n", t.name, target.why, o[O_CHECK].value != NULL ? "Would be taken over" : "Taken over", words);
        take_plan_assumed(&t, &p, false, &assumed);
        if (assumed.n_bytes > 0)
            printf("%s: %s\n", t.name, text_get(&assumed));
    }
    text_release(&assumed);
    take_table_release(&t);
    arena_destroy(a);
    return fine;
}

/* ---- folders of photos ---- */

static void print_proposal(const struct engine *en, const struct old_photos *p)
{
    for (size_t i = 0; i < p->n; i++) {
        const struct old_photo *x = &p->photos[i];
        char plug[48] = "no plug named";

        if (x->visit < 0) {
            printf("  %s: no date in its name, its folder or its camera's notes; stays out\n", x->shown);
            continue;
        }
        if (x->cylinder >= 0)
            engine_plug_label(en, x->cylinder, x->position, plug, sizeof plug);
        printf("  %s: %s%s, %s%s%s\n", x->shown, p->visits[x->visit].date, p->visits[x->visit].id[0] ? "" : " (new)", plug, x->cylinder >= 0 ? ", " : "", x->cylinder >= 0 ? zone_row((enum zone)x->zone)->label : "");
    }
}

struct into_visits {
    struct logbook *lb;
    const char *engine;
    struct old_photos *photos;
    size_t n_taken;
};

static bool record_old(void *ctx, size_t i, const struct photo_result *r, struct err *e)
{
    struct into_visits *v = ctx;
    bool taken, fine = old_photos_record(v->lb, v->engine, v->photos, &v->photos->photos[i], r, (int64_t)i + 1, &taken, e);

    v->n_taken += fine && taken;
    return fine;
}

static bool import_photos(struct logbook *lb, const char *engine, struct old_photos *p, size_t *n_taken, size_t *n_failed, struct err *e)
{
    const char **paths = mem_alloc(p->n, sizeof *paths);
    struct into_visits v = {lb, engine, p, 0};
    bool fine;

    for (size_t i = 0; i < p->n; i++)
        paths[i] = p->photos[i].visit >= 0 ? p->photos[i].path : NULL;
    fine = cli_import(lb, "Old photos taken over", paths, p->n, record_old, &v, n_failed, e);
    free(paths);
    *n_taken = v.n_taken;
    return fine;
}

static bool take_folder(struct logbook *lb, const char *path, const struct cli_option *o, struct err *e)
{
    struct arena *a = arena_create();
    struct old_photos p;
    struct engine en;
    char id[UUID_BYTES], words[200];
    size_t n_taken = 0, n_failed = 0;
    bool fine = logbook_find_engine(lb, o[O_ENGINE].value != NULL ? o[O_ENGINE].value : "", id, e) && logbook_load_engine(lb, id, &en, e) && old_photos_find(lb, id, &en, path, NULL, a, &p, e);

    if (fine) {
        old_photos_words(&p, words, sizeof words);
        printf("%s: %s\n", path, words);
        if (o[O_CHECK].value != NULL || p.n_undated > 0)
            print_proposal(&en, &p);
        if (o[O_CHECK].value == NULL)
            fine = import_photos(lb, id, &p, &n_taken, &n_failed, e);
        if (fine && o[O_CHECK].value == NULL)
            printf("%zu photos taken in; %zu were there already\n", n_taken, p.n - p.n_undated - n_taken - n_failed);
        if (fine && n_failed > 0)
            fine = err_set(e, ERR_FORMAT, "%zu files of %s were not taken in or cannot be shown; the others are in.", n_failed, path);
    }
    arena_destroy(a);
    return fine;
}

/* ---- all of them ---- */

static bool take_one(struct logbook *lb, const char *path, const struct cli_option *o, struct err *e)
{
    char name[ENGINE_NAME_BYTES], engine[UUID_BYTES];
    int n_visits;

    if (files_is_folder(path))
        return take_folder(lb, path, o, e);
    if (take_is_table(path))
        return take_table(lb, path, o, e);
    if (files_exists(path) && !takeover_is_case(path))
        return err_set(e, ERR_BADARG, "%s is neither a case (.json) nor a table (.csv, .tsv, .txt). Photos are taken over by their folder, or read with sootbook place.", files_name(path));
    if (!takeover_case(o[O_CHECK].value != NULL ? NULL : lb, path, engine, name, sizeof name,
                       &n_visits, e))
        return false;
    printf("%s: %d visit%s%s\n", name, n_visits, n_visits == 1 ? "" : "s",
           o[O_CHECK].value != NULL ? " would be taken over" : "");
    return true;
}

/* An empty logbook in a folder of its own, to be taken away again. */
static bool empty_aside(char *to, size_t n_room, struct err *e)
{
    const char *place = getenv("TMPDIR");

    text_format(to, n_room, "%s/sootbook-check-XXXXXX",
                place != NULL && place[0] != '\0' ? place : "/tmp");
    if (mkdtemp(to) == NULL || !logbook_create(to, e)) {
        if (e->text[0] == '\0')
            err_set(
                e, ERR_IO,
                "%s: there is no room for the check. Set TMPDIR to a folder that can be written.",
                to);
        to[0] = '\0';
        return false;
    }
    return true;
}

int cli_take(int argc, char **argv)
{
    struct cli_option o[N_OPTIONS] = {[O_ENGINE] = {.name = "--engine"}, [O_LAYOUT] = {.name = "--layout"}, [O_VISIT] = {.name = "--visit"}, [O_COLUMNS] = {.name = "--columns"},
                                      [O_DATES] = {.name = "--dates"}, [O_LEAVE_OUT] = {.name = "--leave-out", .flag = true}, [O_CHECK] = {.name = "--check", .flag = true}};
    const char *names[1 + MOST];
    int n, taken = 0;
    bool check, made, fine = true;
    struct err e = {0};
    struct logbook *lb;
    char aside[FILES_PATH_BYTES] = "";

    if (!cli_options(argc, argv, o, N_OPTIONS, names, 1 + MOST, &n))
        return 2;
    if (n < 2)
        return cli_wrong("take", "name the logbook and the files to take over");
    check = o[O_CHECK].value != NULL;
    if (check && !files_exists(names[0]) &&
        !empty_aside(aside, sizeof aside,
                     &e)) /* nothing is written: what would become the logbook neither */
        return cli_failed(&e);
    made = !check && !files_exists(names[0]);
    if (made && !logbook_create(names[0], &e))
        return cli_failed(&e);
    lb = check && aside[0] == '\0'
             ? cli_open(names[0])
             : logbook_open(aside[0] != '\0' ? aside : names[0], LOGBOOK_WRITE, &e);
    if (lb == NULL && check && aside[0] == '\0')
        return 1; /* told already */
    for (int i = 1; i < n && lb != NULL && fine; i++) {
        fine = take_one(lb, names[i], o, &e);
        taken += fine;
    }
    logbook_close(lb);
    if (aside[0] != '\0')
        cli_remove_tree(aside);
    if (made && taken == 0) /* a name mistyped leaves nothing behind */
        cli_remove_tree(names[0]);
    else if (made && lb != NULL)
        printf("%s was not there: it is a new logbook now.\n", names[0]);
    if (lb == NULL)
        return cli_failed(&e);
    if (!fine) {
        if (taken > 0 && !check)
            fprintf(stderr, "sootbook: %d file%s before it %s taken over.\n", taken,
                    taken == 1 ? "" : "s", taken == 1 ? "was" : "were");
        return cli_failed(&e);
    }
    return cli_printed();
}
