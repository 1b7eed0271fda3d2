/* place.c - sootbook place LOGBOOK --visit V PHOTO...: take photos in, propose plugs by time taken. */
#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "cli/cli.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "photo/pool.h"
#include "placing/placing.h"

#define MAX_FILES 2000

bool cli_import(struct logbook *lb, const char *label, const char *const *paths, size_t n, cli_record *record, void *ctx, size_t *n_failed, struct err *e)
{
    char folder[FILES_PATH_BYTES];
    struct photo_pool *pool;
    struct photo_result r;
    struct cache *cache;
    bool fine;

    if (!files_join(folder, sizeof folder, logbook_folder(lb), "photos"))
        return err_set(e, ERR_LIMIT, "The path of %s is too long.", logbook_folder(lb));
    if (!files_make_folder(folder, e))
        return false;
    pool = photo_pool_create(NULL, e);
    if (pool == NULL)
        return false;
    cache = cache_open(logbook_folder(lb));
    for (size_t i = 0; i < n; i++) {
        struct photo_job job = {.work = PHOTO_WORK_IMPORT, .path = paths[i], .keep_folder = folder, .tag = i};

        if (paths[i] == NULL)
            continue;
        if (files_is_folder(paths[i])) {
            fprintf(stderr, "sootbook: %s was not taken in: it is a folder. Name the photos in it.\n", paths[i]);
            ++*n_failed;
            continue;
        }
        photo_pool_submit(pool, &job);
    }
    fine = logbook_begin(lb, label, e);
    while (photo_pool_wait(pool, &r)) {
        if (!r.ok) {
            fprintf(stderr, "sootbook: %s %s. %s\n", paths[r.tag], r.damaged ? "is kept, but cannot be shown" : "was not taken in", r.err.text);
            ++*n_failed;
        }
        if (r.ok || r.damaged) {
            placing_keep_pictures(cache, &r);
            fine = fine && record(ctx, (size_t)r.tag, &r, e);
        }
        photo_result_release(&r);
    }
    cache_close(cache);
    photo_pool_destroy(pool);
    if (fine)
        return logbook_commit(lb, e);
    logbook_rollback(lb);
    return false;
}

struct into_visit {
    struct logbook *lb;
    const char *visit;
};

static bool record_in_visit(void *ctx, size_t i, const struct photo_result *r, struct err *e)
{
    const struct into_visit *v = ctx;

    return placing_record(v->lb, v->visit, r, (int64_t)i + 1, e);
}

/* Writes the proposal into the photos, and which of them it is about. */
static void propose(const struct record *r, struct logbook_photo *photos, size_t n, struct arena *a, bool *proposed, char *why, size_t n_room)
{
    struct photo_proposal *out = arena_alloc(a, n, sizeof *out);

    if (!placing_propose(r, photos, n, a, out, why, n_room))
        text_copy(why, n_room, n == 0 ? "There is no photo in this visit." : "Every photo has its place.");
    for (size_t i = 0; i < n; i++) {
        proposed[i] = out[i].cylinder >= 0;
        if (!proposed[i])
            continue;
        photos[i].cylinder = out[i].cylinder;
        photos[i].position = out[i].position;
        photos[i].zone = out[i].zone;
    }
}

static bool accept(struct logbook *lb, const struct logbook_photo *photos, const bool *proposed, size_t n, struct err *e)
{
    bool fine = logbook_begin(lb, "Photos placed", e);

    for (size_t i = 0; i < n && fine; i++)
        if (proposed[i])
            fine = logbook_put_photo(lb, &photos[i], e);
    if (fine)
        return logbook_commit(lb, e);
    logbook_rollback(lb);
    return false;
}

static void print(const struct engine *en, const struct logbook_photo *photos, const bool *proposed, size_t n, const char *why, bool accepted)
{
    cJSON *root = cJSON_CreateObject(), *list;
    char *json;

    cJSON_AddStringToObject(root, "understood", why);
    list = cJSON_AddArrayToObject(root, "photos");
    for (size_t i = 0; i < n; i++) {
        cJSON *x = cJSON_CreateObject();

        cJSON_AddStringToObject(x, "name", photos[i].name);
        cJSON_AddStringToObject(x, "sha256", photos[i].sha256);
        cJSON_AddStringToObject(x, "taken", photos[i].taken);
        if (photos[i].cylinder >= 0) {
            cJSON_AddStringToObject(x, "cylinder", en->cylinders[photos[i].cylinder].label);
            if (en->n_positions > 1 && photos[i].position >= 0)
                cJSON_AddStringToObject(x, "position", en->position_names[photos[i].position]);
            if (photos[i].zone >= 0)
                cJSON_AddStringToObject(x, "zone", zone_row((enum zone)photos[i].zone)->id);
        } else {
            cJSON_AddNullToObject(x, "cylinder");
        }
        cJSON_AddBoolToObject(x, "proposed", proposed[i] && !accepted);
        cJSON_AddItemToArray(list, x);
    }
    json = cJSON_Print(root);
    puts(json);
    free(json);
    cJSON_Delete(root);
}

int cli_place(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--visit"}, {.name = "--engine"}, {.name = "--accept", .flag = true}};
    const char **operands;
    char engine[UUID_BYTES], visit[UUID_BYTES], name[64], why[300];
    int n, status = 0;
    bool *proposed;
    size_t n_failed = 0;
    size_t n_photos = 0;
    struct err e = {.code = ERR_NONE};
    struct logbook_photo *photos = NULL;
    struct logbook *lb;
    struct arena *a;
    struct record r;
    bool fine;

    operands = mem_alloc(MAX_FILES + 1, sizeof *operands);
    if (!cli_options(argc, argv, o, 3, operands, MAX_FILES + 1, &n) || n < 2 || o[0].value == NULL) {
        if (n < 2 || o[0].value == NULL)
            cli_wrong("place", "name the logbook, the visit and the photos");
        free(operands);
        return 2;
    }
    lb = logbook_open(operands[0], LOGBOOK_WRITE, &e);
    if (lb == NULL) {
        free(operands);
        return cli_failed(&e);
    }
    a = arena_create();
    cli_visit_name(o[0].value, name, sizeof name);
    fine = logbook_find_engine(lb, o[1].value ? o[1].value : "", engine, &e) &&
           logbook_find_visit(lb, engine, name, visit, &e) &&
           cli_import(lb, n == 2 ? "Photo added" : "Photos added", operands + 1, (size_t)(n - 1), record_in_visit, &(struct into_visit){lb, visit}, &n_failed, &e) &&
           logbook_list_photos(lb, visit, a, &photos, &n_photos, &e);
    if (fine && logbook_load_record(lb, engine, visit, &r, &e)) {
        proposed = arena_alloc(a, n_photos + 1, sizeof *proposed);
        propose(&r, photos, n_photos, a, proposed, why, sizeof why);
        fine = o[2].value == NULL || accept(lb, photos, proposed, n_photos, &e);
        if (fine) {
            print(&r.engine, photos, proposed, n_photos, why, o[2].value != NULL);
            status = cli_printed();
        }
        record_release(&r);
    } else {
        fine = false;
    }
    arena_destroy(a);
    logbook_close(lb);
    free(operands);
    if (!fine)
        return cli_failed(&e);
    return n_failed > 0 ? 1 : status;
}
