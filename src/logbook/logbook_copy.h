/* logbook_copy.h - the whole of a logbook, once more: what a second machine, a stick or another person gets, to be opened
 * there and merged later. */
#ifndef LOGBOOK_LOGBOOK_COPY_H
#define LOGBOOK_LOGBOOK_COPY_H

#include "logbook/logbook.h"

struct logbook_copied {
    char folder[1024];       /* where it lies */
    size_t n_photos;         /* originals in it */
    int64_t n_bytes;         /* with the database */
};
/* What a copy would hold, from the names of the files alone. Nothing is written. */
void logbook_copy_size(const char *folder, size_t *n_photos, int64_t *n_bytes);
/* The name a copy made on this day has beside others in a folder: "Barn 2026-06-14", with " (2)" where that is taken. */
void logbook_copy_name(const char *folder, const char *into, const char *day, char *to, size_t n_room);
/* Into a new folder of that name in `into`: the database as it is at the end (logbook_backup), every original. Also while
 * others write. A copy that was stopped (ERR_CANCEL) or failed leaves nothing behind; watch may be NULL. */
bool logbook_copy(struct logbook *lb, const char *into, const char *day, const struct logbook_watch *watch, struct logbook_copied *out, struct err *e);
/* "12 photos, 45 MB" */
void logbook_copy_words(size_t n_photos, int64_t n_bytes, char *to, size_t n_room);

#endif
