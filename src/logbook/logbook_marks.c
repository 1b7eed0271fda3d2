/* logbook_marks.c - marks on photos: points and style as JSON in one row each, so that a mark moved is one
 * field changed, and a conflict between two copies is about a whole mark. */
#include "logbook/logbook_db.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

static const struct mark_kind_row kinds[] = {
    [MARK_SCALE] = {"scale", "scale line", 2, 2, true},
    [MARK_HEX] = {"hex", "hex line", 2, 2, true},
    [MARK_LENGTH] = {"length", "known length", 2, 2, true},
    [MARK_GAP] = {"gap", "gap line", 2, 2, true},
    [MARK_PATCH] = {"patch", "grey patch", 2, 2, true},
    [MARK_NOSE] = {"nose", "nose outline", 3, MARK_MAX_POINTS, true},
    [MARK_PIN] = {"pin", "pin", 1, 1, false},
    [MARK_ARROW] = {"arrow", "arrow", 2, 2, false},
    [MARK_POLYGON] = {"polygon", "outline", 3, MARK_MAX_POINTS, false},
    [MARK_FREE] = {"free", "free outline", 3, MARK_MAX_POINTS, false},
    [MARK_ELLIPSE] = {"ellipse", "ellipse", 2, 2, false},
    [MARK_BOX] = {"box", "box", 2, 2, false},
    [MARK_TEXT] = {"text", "text", 1, 1, false},
    [MARK_RULER] = {"ruler", "ruler", 2, 2, false},
};
_Static_assert(sizeof kinds / sizeof kinds[0] == MARK_KIND_COUNT, "a row for each kind");

/* Yellow and light blue stay apart for every kind of colour blindness, and both from metal and soot. */
static const struct mark_colour_row colours[] = {
    [MARK_YELLOW] = {"yellow", 255, 214, 10},
    [MARK_BLUE] = {"blue", 125, 211, 252},
    [MARK_WHITE] = {"white", 255, 255, 255},
    [MARK_RED] = {"red", 255, 106, 92},
};
_Static_assert(sizeof colours / sizeof colours[0] == MARK_COLOUR_COUNT, "a row for each colour");

const struct mark_kind_row *mark_kind_row(enum mark_kind k)
{
    return &kinds[k];
}

const struct mark_colour_row *mark_colour_row(enum mark_colour c)
{
    return &colours[c];
}

void logbook_mark_init(struct logbook_mark *m, const char *photo_id, enum mark_kind kind)
{
    memset(m, 0, sizeof *m);
    uuid_make(m->id);
    text_copy(m->photo, sizeof m->photo, photo_id);
    m->kind = kind;
    m->width_px = 2;
    m->colour = kind == MARK_SCALE || kind == MARK_HEX || kind == MARK_LENGTH ? MARK_BLUE : kind == MARK_PATCH || kind == MARK_NOSE ? MARK_WHITE : MARK_YELLOW;
}

/* Hundredths of a pixel are finer than any edge in a photo. */
static void write_points(struct text *t, const struct logbook_mark *m)
{
    text_add(t, "[");
    for (int i = 0; i < m->n_points; i++) {
        char x[32], y[32];

        text_from_double(x, sizeof x, m->x[i], 2);
        text_from_double(y, sizeof y, m->y[i], 2);
        text_addf(t, "%s[%s,%s]", i > 0 ? "," : "", x, y);
    }
    text_add(t, "]");
}

static void write_style(struct text *t, const struct logbook_mark *m)
{
    char known[32];

    text_addf(t, "{\"colour\":\"%s\",\"width\":%d", colours[m->colour].id, m->width_px);
    if (m->known > 0) {
        text_from_double(known, sizeof known, m->known, 4);
        text_addf(t, ",\"known\":%s", known);
    }
    if (m->thread[0] != '\0')
        text_addf(t, ",\"thread\":\"%s\"", m->thread);
    if (m->hex[0] != '\0')
        text_addf(t, ",\"hex\":\"%s\"", m->hex);
    if (m->lies[0] != '\0')
        text_addf(t, ",\"lies\":\"%s\"", m->lies);
    if (m->marks[0] != '\0')
        text_addf(t, ",\"marks\":\"%s\"", m->marks);
    text_add(t, "}");
}

bool logbook_put_mark(struct logbook *lb, const struct logbook_mark *m, struct err *e)
{
    static const char last[] = "SELECT coalesce(max(sort), 0) FROM mark WHERE photo = ?1";
    const struct mark_kind_row *k = &kinds[m->kind];
    struct text points = {0}, style = {0};
    int64_t sort = m->sort;
    bool fine = true;

    if (m->n_points < k->n_least || m->n_points > k->n_most)
        return err_set(e, ERR_BADARG, "A %s cannot be made of %d points.", k->label, m->n_points);
    for (int i = 0; i < m->n_points; i++)
        if (!isfinite(m->x[i]) || !isfinite(m->y[i]) || fabs(m->x[i]) > 1e6 || fabs(m->y[i]) > 1e6)
            return err_set(e, ERR_BADARG, "A point of the %s lies nowhere near the photo.", k->label);
    write_points(&points, m);
    write_style(&style, m);
    fine = logbook_db_next_sort(lb, last, m->photo, &sort, e) && logbook_set_int(lb, "mark", m->id, "gone", 0, e) &&
           logbook_set_text(lb, "mark", m->id, "photo", m->photo, e) && logbook_set_text(lb, "mark", m->id, "kind", k->id, e) &&
           logbook_set_text(lb, "mark", m->id, "points", text_get(&points), e) &&
           logbook_set_text(lb, "mark", m->id, "style", text_get(&style), e) &&
           logbook_db_put_text(lb, "mark", m->id, "text", m->text, e) && logbook_set_int(lb, "mark", m->id, "sort", sort, e);
    text_release(&points);
    text_release(&style);
    return fine;
}

/* What another program or a newer version wrote may be anything: a mark that is not whole has no points. */
static void read_points(struct logbook_mark *m, const char *json)
{
    cJSON *list = cJSON_Parse(json), *at;

    cJSON_ArrayForEach(at, list)
    {
        const cJSON *x = cJSON_GetArrayItem(at, 0), *y = cJSON_GetArrayItem(at, 1);

        if (m->n_points == MARK_MAX_POINTS || !cJSON_IsNumber(x) || !cJSON_IsNumber(y) || !(fabs(x->valuedouble) <= 1e6) || !(fabs(y->valuedouble) <= 1e6)) {
            m->n_points = 0;
            break;
        }
        m->x[m->n_points] = x->valuedouble;
        m->y[m->n_points++] = y->valuedouble;
    }
    cJSON_Delete(list);
}

/* A short word of these letters; anything else is left out. */
static void read_word(const cJSON *o, const char *name, const char *letters, char *to, size_t n_room)
{
    const cJSON *w = cJSON_GetObjectItem(o, name);

    if (cJSON_IsString(w) && strlen(w->valuestring) < n_room && strspn(w->valuestring, letters) == strlen(w->valuestring))
        text_copy(to, n_room, w->valuestring);
}

static void read_style(struct logbook_mark *m, const char *json)
{
    cJSON *o = cJSON_Parse(json);
    const cJSON *colour = cJSON_GetObjectItem(o, "colour"), *width = cJSON_GetObjectItem(o, "width"), *known = cJSON_GetObjectItem(o, "known");

    for (int i = 0; i < MARK_COLOUR_COUNT; i++)
        if (cJSON_IsString(colour) && strcmp(colour->valuestring, colours[i].id) == 0)
            m->colour = (enum mark_colour)i;
    m->width_px = cJSON_IsNumber(width) && width->valuedouble >= 1 && width->valuedouble <= 9 ? width->valueint : 2;
    read_word(o, "thread", "M0123456789.x", m->thread, sizeof m->thread);
    read_word(o, "hex", "0123456789.", m->hex, sizeof m->hex);
    read_word(o, "lies", "abcdefghijklmnopqrstuvwxyz", m->lies, sizeof m->lies);
    read_word(o, "marks", "abcdefghijklmnopqrstuvwxyz0123456789", m->marks, sizeof m->marks);
    m->known = cJSON_IsNumber(known) && known->valuedouble > 0 && known->valuedouble < 1000 ? known->valuedouble : 0;
    cJSON_Delete(o);
}

static bool read_mark(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_mark *m = item;
    const char *points = (const char *)sqlite3_column_text(q, 3), *style = (const char *)sqlite3_column_text(q, 4);
    char kind[32];

    (void)e;
    logbook_db_text(q, 0, m->id, sizeof m->id);
    logbook_db_text(q, 1, m->photo, sizeof m->photo);
    logbook_db_text(q, 2, kind, sizeof kind);
    m->kind = MARK_KIND_COUNT;
    for (int i = 0; i < MARK_KIND_COUNT; i++)
        if (strcmp(kind, kinds[i].id) == 0)
            m->kind = (enum mark_kind)i;
    read_style(m, style != NULL ? style : "");
    if (m->kind < MARK_KIND_COUNT)
        read_points(m, points != NULL ? points : "");
    logbook_db_text(q, 5, m->text, sizeof m->text);
    m->sort = sqlite3_column_int64(q, 6);
    return true;
}

bool logbook_list_marks(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_mark **marks, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT m.id, m.photo, m.kind, m.points, m.style, m.text, m.sort FROM mark m JOIN photo p ON p.id = m.photo"
                              " WHERE p.visit = ?1 AND p.gone = 0 AND m.gone = 0 ORDER BY m.photo, m.sort, m.id";
    struct logbook_mark *list;
    void *items;
    size_t kept = 0;

    *marks = NULL;
    *n = 0;
    if (!logbook_db_list(lb, sql, visit_id, read_mark, sizeof(struct logbook_mark), a, &items, n, e))
        return false;
    list = items;
    for (size_t i = 0; i < *n; i++)
        if (list[i].kind < MARK_KIND_COUNT && list[i].n_points >= kinds[list[i].kind].n_least && list[i].n_points <= kinds[list[i].kind].n_most)
            list[kept++] = list[i];
    *marks = list;
    *n = kept;
    return true;
}
