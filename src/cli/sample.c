/* sample.c - writes the sample logbook from the tables of assets/sample and the photos.
 *
 * Everything that can be read back is data: cases in the case format, and tables of steps, parts,
 * facts and of which photo belongs where. Three photos belong to no cylinder yet: they lie in the
 * tray, so that the sample shows placing too. */
#include "cli/sample.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "cli/cli.h"
#include "logbook/logbook.h"

#define MAX_ENGINES 8

struct sample_engine {
    char name[32]; /* of its case: "merrow" */
    char id[UUID_BYTES];
    struct engine engine;
};
struct sample {
    struct logbook *lb;
    char photos[FILES_PATH_BYTES]; /* where the originals come from */
    struct {
        char file[64], id[UUID_BYTES];
    } placed[64];                  /* photos that have a plug: only those carry marks already */
    size_t n_placed;
    int n_engines;
    struct sample_engine engines[MAX_ENGINES];
};

/* ---- where the photos are ---- */

/* The tree above the program that runs: build/sootbook or build/NAME/sootbook. */
static bool beside_program(char *to, size_t n_room, int up)
{
    char exe[PATH_MAX];
    ssize_t n = readlink("/proc/self/exe", exe, sizeof exe - 1);

    if (n <= 0)
        return false;
    exe[n] = '\0';
    for (int i = 0; i <= up; i++) {
        char *slash = strrchr(exe, '/');

        if (slash == NULL)
            return false;
        *slash = '\0';
    }
    return files_join(to, n_room, exe, "samples/photos");
}

static bool holds_photos(const char *folder)
{
    char table[FILES_PATH_BYTES];

    return files_join(table, sizeof table, folder, "places.csv") && files_exists(table);
}

bool sample_find_photos(char *to, size_t n_room, struct err *e)
{
    const char *named = getenv("SOOTBOOK_SAMPLES");

    if (named != NULL && named[0] != '\0') {
        if (text_copy(to, n_room, named) && holds_photos(to))
            return true;
        return err_set(e, ERR_NOTFOUND, "SOOTBOOK_SAMPLES names %s, but there is no places.csv in it; "
                       "unset it or name the folder with the sample photos", named);
    }
    for (int up = 1; up <= 4; up++)
        if (beside_program(to, n_room, up) && holds_photos(to))
            return true;
    if (text_copy(to, n_room, "samples/photos") && holds_photos(to))
        return true;
    if (text_copy(to, n_room, SOOTBOOK_DATADIR "/photos") && holds_photos(to))
        return true;
    return err_set(e, ERR_NOTFOUND, "the sample photos were not found: neither in samples/photos of the source "
                   "tree nor in %s/photos; name their folder in SOOTBOOK_SAMPLES", SOOTBOOK_DATADIR);
}

/* ---- tables ---- */

static const struct sample_engine *engine_named(const struct sample *s, const char *name, struct err *e)
{
    for (int i = 0; i < s->n_engines; i++)
        if (text_equal(s->engines[i].name, name))
            return &s->engines[i];
    err_set(e, ERR_FORMAT, "the sample has no engine “%s”", name);
    return NULL;
}

static bool visit_named(const struct sample *s, const struct csv *c, size_t row, char id[UUID_BYTES], struct err *e)
{
    const struct sample_engine *en = engine_named(s, csv_named(c, row, "case"), e);

    return en != NULL && logbook_find_visit(s->lb, en->id, csv_named(c, row, "visit"), id, e);
}

/* ---- what goes in ---- */

static bool add_engine(struct sample *s, const char *name, const char *subtitle, bool visits, struct err *e)
{
    struct sample_engine *to = &s->engines[s->n_engines];
    char path[64];
    struct asset a;
    struct record r;
    bool ok;

    if (s->n_engines == MAX_ENGINES)
        return err_set(e, ERR_LIMIT, "more than %d engines in engines.csv", MAX_ENGINES);
    text_format(path, sizeof path, "sample/%s.json", name);
    if (!asset_find(path, &a))
        return err_set(e, ERR_NOTFOUND, "the built-in case %s is missing; build Sootbook again", path);
    if (!casefile_parse((const char *)a.data, a.n_bytes, &r, e))
        return err_wrap(e, "%s", path);
    text_copy(r.engine.subtitle, sizeof r.engine.subtitle, subtitle);
    text_copy(to->name, sizeof to->name, name);
    to->engine = r.engine;
    if (visits) {
        ok = logbook_import_record(s->lb, &r, to->id, e);
    } else { /* an engine nobody has pulled a plug of yet */
        uuid_make(to->id);
        ok = logbook_put_engine(s->lb, to->id, &r.engine, e);
    }
    record_release(&r);
    if (ok)
        s->n_engines++;
    return ok;
}

static bool add_engines(struct sample *s, struct err *e)
{
    struct csv c = {0};
    bool ok = asset_table("sample/engines.csv", &c, e);

    if (!ok)
        return false;
    for (size_t i = 1; ok && i < c.n_rows; i++)
        ok = add_engine(s, csv_named(&c, i, "case"), csv_named(&c, i, "subtitle"), text_equal(csv_named(&c, i, "visits"), "yes"), e);
    csv_release(&c);
    return ok;
}

static bool add_step(struct sample *s, const struct csv *c, size_t row, struct err *e)
{
    struct logbook_step step = {.sort = (int64_t)row};
    const char *after = csv_named(c, row, "after_m");

    uuid_make(step.id);
    text_copy(step.text, sizeof step.text, csv_named(c, row, "text"));
    text_copy(step.note, sizeof step.note, csv_named(c, row, "note"));
    text_copy(step.state, sizeof step.state, csv_named(c, row, "state"));
    text_copy(step.done_on, sizeof step.done_on, csv_named(c, row, "done_on"));
    text_copy(step.waits_for, sizeof step.waits_for, csv_named(c, row, "waits_for"));
    text_copy(step.caution, sizeof step.caution, csv_named(c, row, "caution"));
    text_copy(step.source, sizeof step.source, csv_named(c, row, "source"));
    if (after[0] != '\0') {
        step.after_m.given = true;
        if (!text_to_double(after, &step.after_m.value))
            return err_set(e, ERR_FORMAT, "after_m “%s” is no number", after);
    }
    return visit_named(s, c, row, step.visit, e) && logbook_put_step(s->lb, &step, e);
}

static bool add_need(struct sample *s, const struct csv *c, size_t row, struct err *e)
{
    struct logbook_need need = {.sort = (int64_t)row};
    long quantity;

    uuid_make(need.id);
    text_copy(need.text, sizeof need.text, csv_named(c, row, "text"));
    text_copy(need.note, sizeof need.note, csv_named(c, row, "note"));
    text_copy(need.state, sizeof need.state, csv_named(c, row, "state"));
    text_copy(need.on, sizeof need.on, csv_named(c, row, "on"));
    if (!text_to_long(csv_named(c, row, "quantity"), &quantity))
        return err_set(e, ERR_FORMAT, "quantity “%s” is no number", csv_named(c, row, "quantity"));
    need.quantity = (int)quantity;
    return visit_named(s, c, row, need.visit, e) && logbook_put_need(s->lb, &need, e);
}

static bool add_fact(struct sample *s, const struct csv *c, size_t row, struct err *e)
{
    const struct sample_engine *en = engine_named(s, csv_named(c, row, "case"), e);
    struct logbook_fact fact = {.sort = (int64_t)row};

    if (en == NULL)
        return false;
    uuid_make(fact.id);
    text_copy(fact.engine, sizeof fact.engine, en->id);
    text_copy(fact.label, sizeof fact.label, csv_named(c, row, "label"));
    text_copy(fact.value, sizeof fact.value, csv_named(c, row, "value"));
    return logbook_put_fact(s->lb, &fact, e);
}

/* Copies the original in under its hash and notes where it belongs. */
static bool add_photo(struct sample *s, const struct csv *c, size_t row, struct err *e)
{
    const struct sample_engine *en = engine_named(s, csv_named(c, row, "case"), e);
    const char *cylinder = csv_named(c, row, "cylinder"), *zone = csv_named(c, row, "zone"), *offset = csv_named(c, row, "offset_min");
    struct logbook_photo p = {.cylinder = -1, .position = -1, .zone = -1, .sort = (int64_t)row};
    char from[FILES_PATH_BYTES];
    long width, height, minutes = 0;

    if (en == NULL || !visit_named(s, c, row, p.visit, e))
        return false;
    text_copy(p.taken, sizeof p.taken, csv_named(c, row, "taken"));
    if (!text_to_long(csv_named(c, row, "width"), &width) || !text_to_long(csv_named(c, row, "height"), &height) ||
        (offset[0] != '\0' && !text_to_long(offset, &minutes)))
        return err_set(e, ERR_FORMAT, "width, height or offset_min is no number");
    p.width = (int)width;
    p.height = (int)height;
    p.offset_given = offset[0] != '\0';
    p.offset_min = (int)minutes;
    if (cylinder[0] != '\0') {
        int plug = record_find_plug(&en->engine, cylinder);

        if (plug < 0)
            return err_set(e, ERR_FORMAT, "%s has no plug “%s”", en->engine.name, cylinder);
        p.cylinder = plug / ENGINE_MAX_POSITIONS;
        p.position = plug % ENGINE_MAX_POSITIONS;
        p.zone = zone_find(zone);
        if (p.zone < 0)
            return err_set(e, ERR_FORMAT, "zone “%s” is unknown", zone);
    }
    if (!files_join(from, sizeof from, s->photos, csv_named(c, row, "file")))
        return err_set(e, ERR_BADARG, "the path of %s is too long", csv_named(c, row, "file"));
    if (!logbook_keep_original(logbook_folder(s->lb), from, &p, e))
        return false;
    logbook_photo_id(p.visit, p.sha256, p.id);
    if (p.cylinder >= 0 && s->n_placed < sizeof s->placed / sizeof s->placed[0]) {
        text_copy(s->placed[s->n_placed].file, sizeof s->placed[0].file, csv_named(c, row, "file"));
        text_copy(s->placed[s->n_placed++].id, UUID_BYTES, p.id);
    }
    return logbook_put_photo(s->lb, &p, e);
}

/* "708.3,320.5;1017.1,304.0" */
static bool parse_points(const char *at, struct logbook_mark *m)
{
    while (*at != '\0' && m->n_points < MARK_MAX_POINTS) {
        char pair[64], *comma;
        size_t n = strcspn(at, ";");

        if (n >= sizeof pair)
            return false;
        memcpy(pair, at, n);
        pair[n] = '\0';
        comma = strchr(pair, ',');
        if (comma == NULL)
            return false;
        *comma = '\0';
        if (!text_to_double(pair, &m->x[m->n_points]) || !text_to_double(comma + 1, &m->y[m->n_points]))
            return false;
        m->n_points++;
        at += n + (at[n] == ';');
    }
    return true;
}

/* The patch and the nose, as a person would have drawn them. The lines for scale and gap are left to be drawn. */
static bool add_mark(struct sample *s, const struct csv *c, size_t row, struct err *e)
{
    static const struct {
        const char *word;
        enum mark_kind kind;
    } kinds[] = {{"area", MARK_NOSE}, {"patch", MARK_PATCH}};
    const char *word = csv_named(c, row, "kind");
    struct logbook_mark m;

    for (size_t i = 0; i < s->n_placed; i++)
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
            if (strcmp(s->placed[i].file, csv_named(c, row, "file")) == 0 && strcmp(kinds[k].word, word) == 0) {
                logbook_mark_init(&m, s->placed[i].id, kinds[k].kind);
                if (!parse_points(csv_named(c, row, "points"), &m))
                    return err_set(e, ERR_FORMAT, "points are no pairs of numbers");
                return logbook_put_mark(s->lb, &m, e);
            }
    return true;
}

static bool add_rows(struct sample *s, const char *name, const struct csv *c,
                     bool (*add)(struct sample *, const struct csv *, size_t, struct err *), struct err *e)
{
    for (size_t i = 1; i < c->n_rows; i++)
        if (!add(s, c, i, e))
            return err_wrap(e, "%s, line %zu", name, c->line[i]);
    return true;
}

static bool add_table(struct sample *s, const char *name,
                      bool (*add)(struct sample *, const struct csv *, size_t, struct err *), struct err *e)
{
    struct csv c = {0};
    bool ok = asset_table(name, &c, e) && add_rows(s, name, &c, add, e);

    csv_release(&c);
    return ok;
}

/* A table beside the photos. */
static bool add_file(struct sample *s, const char *name, bool (*add)(struct sample *, const struct csv *, size_t, struct err *), struct err *e)
{
    char table[FILES_PATH_BYTES], *data;
    size_t n_bytes;
    struct csv c = {0};
    bool ok;

    if (!files_join(table, sizeof table, s->photos, name) || !files_read(table, 1u << 20, &data, &n_bytes, e))
        return false;
    ok = csv_parse(data, n_bytes, ',', &c, e);
    free(data);
    ok = ok && add_rows(s, name, &c, add, e);
    csv_release(&c);
    return ok;
}

static bool fill(struct sample *s, struct err *e)
{
    return logbook_begin(s->lb, "Sample logbook", e) && add_engines(s, e) &&
           add_table(s, "sample/steps.csv", add_step, e) && add_table(s, "sample/needs.csv", add_need, e) &&
           add_table(s, "sample/facts.csv", add_fact, e) && add_file(s, "places.csv", add_photo, e) &&
           add_file(s, "marks.csv", add_mark, e) && logbook_commit(s->lb, e) &&
           logbook_keep_last(s->lb, e);
}

/* ---- the folder ---- */

void cli_remove_tree(const char *folder)
{
    struct files_list list;
    char path[FILES_PATH_BYTES];

    if (files_list_load(folder, &list, NULL)) {
        for (size_t i = 0; i < list.n_entries; i++) {
            if (!files_join(path, sizeof path, folder, list.entries[i].name))
                continue;
            if (list.entries[i].is_folder)
                cli_remove_tree(path);
            else
                files_remove(path, NULL);
        }
        files_list_release(&list);
    }
    rmdir(folder);
}

static bool folder_is_free(const char *folder, struct err *e)
{
    struct files_list list;
    char db[FILES_PATH_BYTES];
    bool empty;

    if (files_join(db, sizeof db, folder, "logbook.db") && files_exists(db))
        return err_set(e, ERR_BADARG, "%s holds a logbook already and is left as it is; name another folder", folder);
    if (!files_exists(folder))
        return true;
    if (!files_is_folder(folder))
        return err_set(e, ERR_BADARG, "%s is a file; name a folder for the sample logbook", folder);
    if (!files_list_load(folder, &list, e))
        return false;
    empty = list.n_entries == 0;
    files_list_release(&list);
    return empty || err_set(e, ERR_BADARG, "%s is not empty; name a new folder for the sample logbook", folder);
}

bool sample_write(const char *folder, struct err *e)
{
    struct sample s = {.n_engines = 0};
    char clean[FILES_PATH_BYTES], part[FILES_PATH_BYTES];
    size_t n;
    bool ok, made;

    if (!text_copy(clean, sizeof clean, folder) || clean[0] == '\0')
        return err_set(e, ERR_BADARG, "name a folder for the sample logbook");
    for (n = strlen(clean); n > 1 && clean[n - 1] == '/'; n--)
        clean[n - 1] = '\0';
    if (!folder_is_free(clean, e) || !sample_find_photos(s.photos, sizeof s.photos, e))
        return false;
    if (!text_format(part, sizeof part, "%s.part-%ld", clean, (long)getpid()))
        return err_set(e, ERR_BADARG, "the name of the folder is too long");
    /* The named folder first, so that what is wrong with it is told by its own name. */
    made = !files_exists(clean);
    if (!files_make_folder(clean, e))
        return false;
    ok = logbook_create(part, e);
    if (ok) {
        s.lb = logbook_open(part, LOGBOOK_WRITE, e);
        ok = s.lb != NULL && fill(&s, e);
        if (s.lb != NULL && !ok)
            logbook_rollback(s.lb);
        logbook_close(s.lb);
    }
    if (ok && rename(part, clean) != 0)
        ok = err_set_errno(e, ERR_IO, "the sample logbook is written but could not be moved to %s", clean);
    if (!ok) {
        cli_remove_tree(part);
        if (made)
            rmdir(clean);
    }
    return ok;
}

int cli_sample(int argc, char **argv)
{
    const char *folder;
    struct err e;
    int n;

    if (!cli_options(argc, argv, NULL, 0, &folder, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong(argv[0], "name the folder to write");
    return sample_write(folder, &e) ? 0 : cli_failed(&e);
}
