/* logbook_crops.c - where photos show their plugs. A crop belongs to the photo and so follows it to another
 * cylinder; the photo says whose it is. */
#include "logbook/logbook_db.h"

#include <math.h>
#include <string.h>

static const char *const view_ids[] = {[CROP_TIP] = "tip", [CROP_SIDE] = "side"};
_Static_assert(sizeof view_ids / sizeof view_ids[0] == CROP_VIEW_COUNT, "an id for each view");

const char *crop_view_id(enum crop_view v)
{
    return view_ids[v];
}

void logbook_crop_id(const char *photo_id, enum crop_view view, char id[UUID_BYTES])
{
    uuid_from_parts(id, "crop", photo_id, view_ids[view], "");
}

/* As far as a photo of 65,535 px reaches, and from a thumbnail to a microscope. */
static bool is_sane(const struct logbook_crop *c)
{
    return fabs(c->x) <= 1e6 && fabs(c->y) <= 1e6 && fabs(c->turn_deg) <= 180 && c->px_per_mm >= 0.1 && c->px_per_mm <= 1e5;
}

bool logbook_put_crop(struct logbook *lb, const struct logbook_crop *c, struct err *e)
{
    char id[UUID_BYTES];

    if (!is_sane(c)) /* not a number is not sane either */
        return err_set(e, ERR_BADARG, "The frame of the %s view lies nowhere near the photo, or is too large or too small. Draw it around the plug.", view_ids[c->view]);
    logbook_crop_id(c->photo, c->view, id);
    return logbook_set_int(lb, "crop", id, "gone", 0, e) && logbook_set_text(lb, "crop", id, "photo", c->photo, e) &&
           logbook_set_text(lb, "crop", id, "view", view_ids[c->view], e) && logbook_set_real(lb, "crop", id, "x", c->x, e) &&
           logbook_set_real(lb, "crop", id, "y", c->y, e) && logbook_set_real(lb, "crop", id, "turn_deg", c->turn_deg, e) &&
           logbook_set_real(lb, "crop", id, "px_per_mm", c->px_per_mm, e) && logbook_set_int(lb, "crop", id, "by_eye", c->by_eye, e);
}

static bool read_crop(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_crop *c = item;
    char view[16];

    (void)e;
    logbook_db_text(q, 0, c->id, sizeof c->id);
    logbook_db_text(q, 1, c->photo, sizeof c->photo);
    logbook_db_text(q, 2, view, sizeof view);
    c->view = CROP_VIEW_COUNT;
    for (int i = 0; i < CROP_VIEW_COUNT; i++)
        if (strcmp(view, view_ids[i]) == 0)
            c->view = (enum crop_view)i;
    c->x = sqlite3_column_type(q, 3) == SQLITE_NULL ? NAN : sqlite3_column_double(q, 3);
    c->y = sqlite3_column_type(q, 4) == SQLITE_NULL ? NAN : sqlite3_column_double(q, 4);
    c->turn_deg = sqlite3_column_double(q, 5);
    c->px_per_mm = sqlite3_column_double(q, 6);
    c->by_eye = sqlite3_column_int(q, 7) != 0;
    return true;
}

bool logbook_list_crops(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_crop **crops, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT c.id, c.photo, c.view, c.x, c.y, c.turn_deg, c.px_per_mm, c.by_eye FROM crop c JOIN photo p ON p.id = c.photo"
                              " WHERE p.visit = ?1 AND p.gone = 0 AND c.gone = 0 ORDER BY c.photo, c.view";
    struct logbook_crop *list;
    void *items;
    size_t kept = 0;

    *crops = NULL;
    *n = 0;
    if (!logbook_db_list(lb, sql, visit_id, read_crop, sizeof(struct logbook_crop), a, &items, n, e))
        return false;
    list = items;
    for (size_t i = 0; i < *n; i++)
        if (list[i].view < CROP_VIEW_COUNT && is_sane(&list[i]))
            list[kept++] = list[i];
    *crops = list;
    *n = kept;
    return true;
}
