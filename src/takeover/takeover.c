#include "takeover/takeover.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "logbook/logbook.h"

bool takeover_is_case(const char *path)
{
    return strcasecmp(files_extension(path), "json") == 0;
}

static void name_after_file(const char *path, char *name, size_t n_room)
{
    char *dot;

    text_copy(name, n_room, files_name(path));
    dot = strrchr(name, '.');
    if (dot != NULL && dot != name)
        *dot = '\0';
}

bool takeover_case(struct logbook *lb, const char *path, char engine_id[UUID_BYTES], char *name, size_t n_room, int *n_visits, struct err *e)
{
    struct record r;
    char *data, label[160];
    size_t n_bytes;
    bool fine;

    if (!files_read(path, CASEFILE_MAX_BYTES, &data, &n_bytes, e))
        return false;
    fine = casefile_parse(data, n_bytes, &r, e);
    free(data);
    if (!fine)
        return err_wrap(e, "%s", files_name(path));
    if (r.engine.name[0] == '\0')
        name_after_file(path, r.engine.name, sizeof r.engine.name);
    text_copy(name, n_room, r.engine.name);
    *n_visits = r.n_visits;
    text_format(label, sizeof label, "Taken over: %s", r.engine.name);
    fine = lb == NULL || (logbook_begin(lb, label, e) && logbook_import_record(lb, &r, engine_id, e) && logbook_commit(lb, e));
    if (!fine && logbook_in_change(lb))
        logbook_rollback(lb);
    record_release(&r);
    return fine;
}
