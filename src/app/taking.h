/* taking.h - a table that is being taken over: read, matched, looked at, and written only when it is accepted. */
#ifndef APP_TAKING_H
#define APP_TAKING_H

#include "screen/model.h"
#include "takeover/plan.h"

struct taking {
    bool open;
    struct take_table table;
    struct take_target target;
    struct take_plan plan;
    struct arena *arena; /* of the plan */
    char engine[UUID_BYTES], preset[32]; /* chosen, "" not */
    char shown[UUID_BYTES], visit[UUID_BYTES]; /* what was open when it came */
};

/* Reads the file and matches its columns; what was open before goes. shown, visit: the engine and visit that are
 * open, "" none. */
bool taking_open(struct taking *t, struct logbook *lb, const char *path, const char *shown, const char *visit, struct err *e);
/* A column's field, its unit, the order of days and months, the engine: ACT_TAKE_COLUMN, _DATES, _ENGINE. */
bool taking_change(struct taking *t, struct logbook *lb, const struct action *a, struct err *e);
/* Writes what is planned and closes. */
bool taking_accept(struct taking *t, struct logbook *lb, char engine_id[UUID_BYTES], char visit_id[UUID_BYTES], struct err *e);
void taking_close(struct taking *t);

#endif
