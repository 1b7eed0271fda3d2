#include "logbook/logbook_copy.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"

static bool is_original(const struct files_entry *f)
{
    return !f->is_folder && !text_ends(f->name, ".part");
}

void logbook_copy_size(const char *folder, size_t *n_photos, int64_t *n_bytes)
{
    static const char *const parts[] = {"", "photos"};

    *n_photos = 0;
    *n_bytes = 0;
    for (int k = 0; k < 2; k++) {
        struct files_list list = {0};
        char path[FILES_PATH_BYTES];

        if (!(k == 0 ? text_copy(path, sizeof path, folder) : files_join(path, sizeof path, folder, parts[k])) || !files_list_load(path, &list, NULL))
            continue;
        for (size_t i = 0; i < list.n_entries; i++) {
            if (k == 0 ? strcmp(list.entries[i].name, "logbook.db") != 0 : !is_original(&list.entries[i]))
                continue;
            *n_bytes += list.entries[i].n_bytes;
            *n_photos += (size_t)k;
        }
        files_list_release(&list);
    }
}

void logbook_copy_name(const char *folder, const char *into, const char *day, char *to, size_t n_room)
{
    char path[FILES_PATH_BYTES];

    text_format(to, n_room, "%s %s", files_name(folder), day);
    for (int n = 2; files_join(path, sizeof path, into, to) && files_exists(path); n++)
        text_format(to, n_room, "%s %s (%d)", files_name(folder), day, n);
}

void logbook_copy_words(size_t n_photos, int64_t n_bytes, char *to, size_t n_room)
{
    text_format(to, n_room, "%zu photo%s, %.1f MB", n_photos, n_photos == 1 ? "" : "s", (double)n_bytes / 1e6);
}

/* Those originals that are not in it yet: one that came in meanwhile is found by the second time round. */
static bool copy_photos(const char *from, const char *to, const struct logbook_watch *watch, struct err *e)
{
    struct files_list list = {0};
    char photos[FILES_PATH_BYTES], a[FILES_PATH_BYTES], b[FILES_PATH_BYTES], target[FILES_PATH_BYTES];
    bool fine = true;

    if (!files_join(photos, sizeof photos, from, "photos") || !files_join(target, sizeof target, to, "photos"))
        return err_set(e, ERR_LIMIT, "The path of the copy is too long: %s", to);
    if (!files_is_folder(photos)) /* no photo ever came in */
        return files_make_folder(target, e);
    if (!files_make_folder(target, e) || !files_list_load(photos, &list, e))
        return false;
    for (size_t i = 0; fine && i < list.n_entries; i++) {
        if (!is_original(&list.entries[i]))
            continue;
        if (watch != NULL && !watch->go_on(watch->ctx, "photos", i, list.n_entries))
            fine = err_set(e, ERR_CANCEL, "Stopped; no copy was made.");
        else if (!files_join(a, sizeof a, photos, list.entries[i].name) || !files_join(b, sizeof b, target, list.entries[i].name))
            fine = err_set(e, ERR_LIMIT, "The path of the copy is too long: %s", to);
        else
            fine = files_exists(b) || files_copy(a, b, e);
    }
    files_list_release(&list);
    return fine;
}

/* Only what a copy is made of: a folder that holds anything else stays. */
static void take_away(const char *folder)
{
    struct files_list list = {0};
    char path[FILES_PATH_BYTES], photos[FILES_PATH_BYTES];

    if (files_join(path, sizeof path, folder, "logbook.db"))
        unlink(path);
    if (files_join(photos, sizeof photos, folder, "photos") && files_list_load(photos, &list, NULL)) {
        for (size_t i = 0; i < list.n_entries; i++)
            if (!list.entries[i].is_folder && files_join(path, sizeof path, photos, list.entries[i].name))
                unlink(path);
        files_list_release(&list);
        rmdir(photos);
    }
    rmdir(folder);
}

static bool is_within(const char *folder, const char *path)
{
    char a[PATH_MAX], b[PATH_MAX];
    size_t n;

    if (realpath(folder, a) == NULL || realpath(path, b) == NULL)
        return false;
    n = strlen(a);
    return strncmp(a, b, n) == 0 && (b[n] == '\0' || b[n] == '/');
}

bool logbook_copy(struct logbook *lb, const char *into, const char *day, const struct logbook_watch *watch, struct logbook_copied *out, struct err *e)
{
    const char *from = logbook_folder(lb);
    char name[300], db[FILES_PATH_BYTES];

    memset(out, 0, sizeof *out);
    if (!files_is_folder(into))
        return err_set(e, ERR_NOTFOUND, "There is no folder %s.", into);
    if (is_within(from, into))
        return err_set(e, ERR_BADARG, "%s is this logbook itself. Choose a folder outside it, best on another disk.", into);
    logbook_copy_name(from, into, day, name, sizeof name);
    if (!files_join(out->folder, sizeof out->folder, into, name) || !files_join(db, sizeof db, out->folder, "logbook.db"))
        return err_set(e, ERR_LIMIT, "The path of the copy is too long: %s", into);
    if (!files_make_folder(out->folder, e))
        return false;
    /* the database last: a folder without it is no logbook, whatever stops this */
    if (!copy_photos(from, out->folder, watch, e) || !logbook_backup(lb, db, e) || !copy_photos(from, out->folder, NULL, e)) {
        take_away(out->folder);
        return false;
    }
    logbook_copy_size(out->folder, &out->n_photos, &out->n_bytes);
    return true;
}
