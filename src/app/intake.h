/* intake.h - photos on their way in: the picture helpers hash, copy and shrink them; what they hand
 * back is recorded, cached and shown. Main thread, but for the wake-ups. */
#ifndef APP_INTAKE_H
#define APP_INTAKE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "app/session.h"
#include "logbook/logbook.h"
#include "screen/model.h"

struct err;
struct intake;
struct old_photos;
struct arena;

struct intake *intake_create(const char *folder, void (*wake)(void *ctx), void *ctx);
void intake_destroy(struct intake *in);
void intake_set_pictures(struct intake *in, struct session_pictures p);

/* Files, one path a line, for a visit and a step of its job ("" none): together one undo step, however long they take. */
void intake_add(struct intake *in, const char *visit_id, const char *job_step, const char *files);
/* A folder of old photos, those that have a visit: each goes to its visit and plug. The arena holds *p and is
 * taken over. One undo step. */
void intake_add_old(struct intake *in, const char *engine_id, struct old_photos *p, struct arena *arena);
/* Files of that step that are not yet taken in stay out; step 0: of all. */
void intake_cancel(struct intake *in, int64_t step);
/* Records what has come back; true when something was recorded. Files that were not taken in are told in
 * *e when the last one added with them is through. */
bool intake_poll(struct intake *in, struct logbook *lb, struct err *e);
bool intake_progress(struct intake *in, int *done, int *all); /* true when it changed */
/* Asks for the pictures of these photos that the window lacks; `large`: index of the one shown large,
 * -1 none. intake_poll hands them on. */
void intake_pictures(struct intake *in, const struct logbook_photo *photos, size_t n, int large);
/* The large picture of a photo is in the window. */
bool intake_has_large(const struct intake *in, const struct logbook_photo *p);
/* Asks for sharp tiles of one photo, those first that come first; tiles asked for before and not among
 * them are let go. n 0: none. lane 0: of the one shown, 1: of the one compared with it. */
void intake_tiles(struct intake *in, int lane, const struct logbook_photo *p, const struct photo_tile *tiles, size_t n);
/* A small picture of a file that is not taken in, under photo_file_key(path): for the file browser. */
void intake_preview(struct intake *in, const char *path);
/* A plug cut out of its photo, under its key: from the cache, else it is found, cut and kept. Gives what is known
 * of it so far. */
struct cut_facts intake_cut(struct intake *in, uint64_t key, const struct lineup_plan *plan);
bool intake_busy(struct intake *in);

#endif
