/* taking.h - a table that is being taken over: read, matched, looked at, and written only when it is accepted. */
#ifndef APP_TAKING_H
#define APP_TAKING_H

#include "screen/model.h"
#include "placing/old_photos.h"
#include "takeover/plan.h"

struct taking {
    bool open;             /* a table */
    struct take_table table;
    struct take_target target;
    struct take_plan plan;
    struct arena *arena; /* of the plan */
    char engine[UUID_BYTES], preset[32]; /* chosen, "" not */
    struct old_photos *old; /* or a folder of photos, in the arena; NULL none */
    char folder[1024];
    char shown[UUID_BYTES], visit[UUID_BYTES]; /* what was open when it came */
};

/* Reads the file and matches its columns; what was open before goes. shown, visit: the engine and visit that are
 * open, "" none. */
bool taking_open(struct taking *t, struct logbook *lb, const char *path, const char *shown, const char *visit, struct err *e);
/* A folder of photos, for the engine that is open. */
bool taking_open_folder(struct taking *t, struct logbook *lb, const char *path, const char *shown, const struct engine *en, struct err *e);
/* A column's field, its unit, the order of days and months, the engine: ACT_TAKE_COLUMN, _DATES, _ENGINE. */
bool taking_change(struct taking *t, struct logbook *lb, const struct action *a, struct err *e);
/* Writes what is planned and closes. */
bool taking_accept(struct taking *t, struct logbook *lb, char engine_id[UUID_BYTES], char visit_id[UUID_BYTES], struct err *e);
void taking_close(struct taking *t);

#endif
