/* old_photos.h - a folder of photos taken over the years: which visit and which plug each is of, by the dates and
 * cylinder numbers in the names of files and folders, else by the day the camera noted. A proposal: nothing is
 * written and no file is touched. */
#ifndef PLACING_OLD_PHOTOS_H
#define PLACING_OLD_PHOTOS_H

#include "base/clock.h"
#include "engine/engine.h"

struct arena;
struct err;
struct logbook;
struct logbook_watch;
struct photo_result;

#define OLD_PHOTOS_MOST 5000
#define OLD_PHOTOS_DEEP 4 /* folders within folders */

enum old_date { OLD_DATE_NONE, OLD_DATE_NAME, OLD_DATE_FOLDER, OLD_DATE_CAMERA };
struct old_photo {
    const char *path;
    const char *shown;          /* path within the folder */
    char date[11];              /* "" when nothing says it */
    enum old_date by;
    int visit;                  /* index into visits, -1: no date, not taken */
    int cylinder, position, zone; /* cylinder -1: nothing says it, the photo goes into the tray */
};
struct old_visit {
    char id[UUID_BYTES];        /* "": a new visit */
    char date[11], last_day[11];
    size_t n_photos, n_placed;
    bool made;                  /* it was new and is in the logbook, unless the change was undone */
};
struct old_photos {
    struct old_photo *photos;   /* by visit, then by name */
    size_t n, n_undated;
    struct old_visit *visits;   /* oldest first */
    size_t n_visits, n_new_visits;
    size_t n_others;            /* files that are no pictures by their names */
};
/* Looks through the folder. Days in a row by the camera alone are one visit; a date in a name is that day's. A visit
 * of the engine on that day (or around it, when it took several) is taken, the latest of several. Fails when the
 * folder cannot be read, holds too many files, or it was stopped (ERR_CANCEL); watch: told of each photo, NULL not. */
bool old_photos_find(struct logbook *lb, const char *engine_id, const struct engine *en, const char *folder, const struct logbook_watch *watch, struct arena *a, struct old_photos *out,
                     struct err *e);
/* "24 photos of 3 visits (2 new), 20 onto their plugs; 1 without a date stays out" */
void old_photos_words(const struct old_photos *p, char *to, size_t n_room);
/* A date in a name: 2024-05-11, 2024_05_11, 20240511, 11.05.2024; where it stands comes back in *at and *n. */
bool old_photos_date(const char *name, char iso[11], size_t *at, size_t *n);
/* The plug a name tells of: "zyl3", "plug 4 side", "3 top", "2024-05-11 3"; its zone, -1 not said. False: none. */
bool old_photos_plug(const struct engine *en, const char *name, int *cylinder, int *position, int *zone);

/* Notes a photo that was imported, inside a change, with its place; its visit is made when it is new. One whose file
 * the engine has already, in whatever visit, is left as it is; *taken tells. */
bool old_photos_record(struct logbook *lb, const char *engine_id, struct old_photos *p, const struct old_photo *photo, const struct photo_result *r, int64_t sort, bool *taken,
                       struct err *e);

#endif
