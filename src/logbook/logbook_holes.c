/* logbook_holes.c - readings, photos and parts are kept by hole: a number a plug's place in the head has for good. Where the
 * holes stand and what they are called is said by the engine's row alone, so that a renumbering changes that row and no
 * other: what another copy notes at a plug before it knows of the new numbers is still noted at the same hole. */
#include "logbook/logbook_db.h"

#include <stdlib.h>
#include <string.h>

static void number(int *holes, int n)
{
    for (int i = 0; i < n; i++)
        holes[i] = i;
}

void logbook_db_first_holes(struct logbook_holes *h)
{
    number(h->cylinder, ENGINE_MAX_CYLINDERS);
    number(h->position, ENGINE_MAX_POSITIONS);
}

/* The numbers behind the second tab of each line; a line without keeps those of its places. */
static void read_cylinders(const char *banks, struct logbook_holes *h)
{
    int at = 0;

    for (const char *line = banks; *line != '\0'; line += strcspn(line, "\n"), line += *line == '\n') {
        size_t n_line = strcspn(line, "\n"), n = strcspn(line, "\t\n");
        const char *labels = line + n + (line[n] == '\t'), *numbers = labels + strcspn(labels, "\t\n");
        char *end;

        if (*numbers == '\t' && numbers < line + n_line) {
            for (numbers++; numbers < line + n_line && at < ENGINE_MAX_CYLINDERS; numbers = end) {
                long hole = strtol(numbers, &end, 10);

                if (end == numbers || end > line + n_line)
                    break;
                h->cylinder[at++] = (int)hole;
            }
        } else {
            for (const char *c = labels; c < line + n_line; c += strcspn(c, " \n"), c += *c == ' ')
                at += at < ENGINE_MAX_CYLINDERS;
        }
    }
}

static void read_positions(const char *names, struct logbook_holes *h)
{
    int at = 0;

    for (const char *line = names; *line != '\0' && at < ENGINE_MAX_POSITIONS; line += strcspn(line, "\n"), line += *line == '\n', at++) {
        size_t n = strcspn(line, "\t\n");

        if (line[n] == '\t')
            h->position[at] = atoi(line + n + 1);
    }
}

static bool read_holes(struct logbook *lb, const char *sql, const char *id, struct logbook_holes *h, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    const char *banks, *names;
    bool row;

    logbook_db_first_holes(h);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, id);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    banks = row ? (const char *)sqlite3_column_text(q, 0) : NULL;
    names = row ? (const char *)sqlite3_column_text(q, 1) : NULL;
    if (banks != NULL)
        read_cylinders(banks, h);
    if (names != NULL)
        read_positions(names, h);
    logbook_db_done(q);
    return true;
}

bool logbook_db_holes_of_engine(struct logbook *lb, const char *engine_id, struct logbook_holes *h, struct err *e)
{
    return read_holes(lb, "SELECT banks, position_names FROM engine WHERE id = ?1", engine_id, h, e);
}

bool logbook_db_holes_of_visit(struct logbook *lb, const char *visit_id, struct logbook_holes *h, struct err *e)
{
    return read_holes(lb, "SELECT e.banks, e.position_names FROM visit v JOIN engine e ON e.id = v.engine WHERE v.id = ?1", visit_id, h, e);
}

/* ---- holes that had a name before ---- */

struct named {
    int n, hole[ENGINE_MAX_CYLINDERS];
    char name[ENGINE_MAX_CYLINDERS][24];
};

static void read_named(const char *text, bool cylinders, struct named *to)
{
    struct logbook_holes h;

    logbook_db_first_holes(&h);
    if (cylinders)
        read_cylinders(text, &h);
    else
        read_positions(text, &h);
    to->n = 0;
    for (const char *line = text; *line != '\0'; line += strcspn(line, "\n"), line += *line == '\n') {
        const int n_first = (int)strcspn(line, "\t\n");
        const char *label = line + n_first + (line[n_first] == '\t');

        if (!cylinders && to->n < ENGINE_MAX_POSITIONS)
            text_format(to->name[to->n++], sizeof to->name[0], "%.*s", n_first, line);
        for (size_t n; cylinders && (n = strcspn(label, " \t\n")) > 0 && to->n < ENGINE_MAX_CYLINDERS; label += n + (label[n] == ' '))
            text_format(to->name[to->n++], sizeof to->name[0], "%.*s", (int)n, label);
    }
    memcpy(to->hole, cylinders ? h.cylinder : h.position, (size_t)to->n * sizeof to->hole[0]);
}

static bool is_used(const int *holes, int n, int hole)
{
    for (int i = 0; i < n; i++)
        if (holes[i] == hole)
            return true;
    return false;
}

static const char past_names[] = "SELECT e.new FROM edit e JOIN change c ON c.seq = e.change WHERE e.row = ?1 AND e.tbl = 'engine' AND e.col = ?2 AND e.new IS NOT NULL ORDER BY c.clock DESC, c.device DESC, e.seq DESC";

void logbook_db_hole_name(struct logbook *lb, const char *engine_id, bool cylinders, int hole, char *to, size_t n_room)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, past_names, NULL);
    bool fine;

    to[0] = '\0';
    if (q == NULL)
        return;
    logbook_db_bind(q, 1, engine_id);
    logbook_db_bind(q, 2, cylinders ? "banks" : "position_names");
    while (logbook_db_next(lb, q, &fine, NULL)) {
        struct named was;

        read_named((const char *)sqlite3_column_text(q, 0), cylinders, &was);
        for (int k = 0; k < was.n && to[0] == '\0'; k++)
            if (was.hole[k] == hole)
                text_copy(to, n_room, was.name[k]);
    }
}

bool logbook_db_new_holes(struct logbook *lb, const char *engine_id, bool cylinders, int next, const char *(*name)(const struct engine *en, int i),
                          const struct engine *en, int *holes, int n, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, past_names, e);
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine_id);
    logbook_db_bind(q, 2, cylinders ? "banks" : "position_names");
    while (logbook_db_next(lb, q, &fine, e)) {
        struct named was;

        read_named((const char *)sqlite3_column_text(q, 0), cylinders, &was);
        for (int k = 0; k < was.n; k++) {
            next = was.hole[k] >= next ? was.hole[k] + 1 : next;
            for (int i = 0; i < n; i++)
                if (holes[i] < 0 && strcmp(name(en, i), was.name[k]) == 0 && !is_used(holes, n, was.hole[k]))
                    holes[i] = was.hole[k];
        }
    }
    for (int i = 0; i < n; i++)
        if (holes[i] < 0)
            holes[i] = next++;
    return fine;
}

static bool find(const int *holes, int n, int *at)
{
    for (int i = 0; i < n; i++)
        if (holes[i] == *at) {
            *at = i;
            return true;
        }
    return false;
}

bool logbook_db_place(const struct logbook_holes *h, const struct engine *en, int *cylinder, int *position)
{
    return find(h->cylinder, en->n_cylinders, cylinder) && find(h->position, en->n_positions, position);
}

void logbook_db_hole(const struct logbook_holes *h, int *cylinder, int *position)
{
    if (*cylinder >= 0 && *cylinder < ENGINE_MAX_CYLINDERS)
        *cylinder = h->cylinder[*cylinder];
    if (*position >= 0 && *position < ENGINE_MAX_POSITIONS)
        *position = h->position[*position];
}
