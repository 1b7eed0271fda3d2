#include "report/to_look.h"

#include <string.h>

#include "base/text.h"
#include "logbook/logbook.h"
#include "reading/cause_at.h"
#include "record/steps.h"

/* In the order one comes to them. */
static const struct {
    enum to_look_kind kind;
    enum zone zone;
    const char *one, *several;
} rows[] = {
    {TO_LOOK_COMPLAINT, ZONE_COUNT, "", ""},
    {TO_LOOK_MISS, ZONE_COUNT, "", ""},
    {TO_LOOK_ZONE, ZONE_COIL, "Coil of", "Coils of"},
    {TO_LOOK_ZONE, ZONE_BOOT, "Boot of", "Boots of"},
    {TO_LOOK_ZONE, ZONE_LEAD, "Lead of", "Leads of"},
    {TO_LOOK_ZONE, ZONE_CONNECTOR, "Connector of", "Connectors of"},
    {TO_LOOK_ZONE, ZONE_WELL, "Well of", "Wells of"},
    {TO_LOOK_ZONE, ZONE_FIRING_END, "Firing end of", "Firing ends of"},
    {TO_LOOK_ZONE, ZONE_THREADS, "Threads of", "Threads of"},
    {TO_LOOK_ZONE, ZONE_BODY, "Body of", "Bodies of"},
    {TO_LOOK_GAP, ZONE_COUNT, "Gap of", "Gaps of"},
    {TO_LOOK_COMPRESSION, ZONE_COUNT, "Compression of", "Compression of"},
    {TO_LOOK_STEPS, ZONE_COUNT, "", ""},
};
#define N_ROWS (sizeof rows / sizeof rows[0])
_Static_assert(N_ROWS == TO_LOOK_MOST, "a row for each");
enum { ROW_COMPLAINT, ROW_MISS, ROW_STEPS = N_ROWS - 1 };

/* Of one repair, still to be looked at by this row. */
static engine_set asked(const struct follow *f, size_t row)
{
    switch (rows[row].kind) {
    case TO_LOOK_ZONE: return f->unseen[rows[row].zone];
    case TO_LOOK_GAP: return f->gap_unseen;
    case TO_LOOK_COMPRESSION: return f->compression_unseen;
    case TO_LOOK_COMPLAINT:
    case TO_LOOK_MISS:
    case TO_LOOK_STEPS: break;
    }
    return 0;
}

static void because(struct to_look *l, const struct record *r, const struct report_watch *w)
{
    char at[CAUSE_AT_BYTES];
    size_t used = strlen(l->why);

    cause_at_words(&r->engine, w->verdict->cause, w->verdict->place, at);
    text_format(l->why + used, sizeof l->why - used, "%s%s", used > 0 ? "; " : "Did it hold? ", at);
}

static void add_watch(struct to_look all[N_ROWS], const struct record *r, const struct report_watch *w)
{
    for (size_t i = 0; i < N_ROWS; i++) {
        if (asked(&w->follow, i) == 0)
            continue;
        all[i].cylinders |= asked(&w->follow, i);
        because(&all[i], r, w);
    }
    if (!w->follow.which)
        return;
    text_copy(all[ROW_MISS].words, sizeof all[ROW_MISS].words, "Which cylinder is it? Read the codes, or cut out one by one");
    because(&all[ROW_MISS], r, w);
}

bool to_look_is_left(const struct logbook_step *s)
{
    return strcmp(s->state, "done") != 0 && !step_runs(s->source) && !text_starts(s->source, "again:");
}

static void add_steps(struct to_look *l, const struct logbook_step *left, size_t n_left)
{
    int n = 0;

    for (size_t i = 0; i < n_left; i++)
        if (to_look_is_left(&left[i])) {
            size_t used = strlen(l->why);

            text_format(l->why + used, sizeof l->why - used, "%s%s", n++ > 0 ? "; " : "", left[i].text);
        }
    if (n > 0)
        text_format(l->words, sizeof l->words, "%d step%s left open", n, n == 1 ? "" : "s");
}

int to_look_of(const struct record *r, const struct report_watch *watches, size_t n, const struct logbook_step *left, size_t n_left, struct to_look out[TO_LOOK_MOST])
{
    struct to_look all[N_ROWS];
    int k = 0;

    memset(all, 0, sizeof all);
    if (!visit_complaint_asked(record_current(r)))
        job_complaint_asked(r, all[ROW_COMPLAINT].words, sizeof all[ROW_COMPLAINT].words);
    for (size_t i = 0; i < n; i++)
        add_watch(all, r, &watches[i]);
    add_steps(&all[ROW_STEPS], left, n_left);
    for (size_t i = 0; i < N_ROWS; i++) {
        char list[120];

        all[i].row = (int)i + 1;
        all[i].kind = rows[i].kind;
        all[i].zone = rows[i].zone;
        if (all[i].cylinders != 0) {
            engine_set_words(&r->engine, all[i].cylinders, list, sizeof list);
            text_format(all[i].words, sizeof all[i].words, "%s %s", (all[i].cylinders & (all[i].cylinders - 1)) == 0 ? rows[i].one : rows[i].several, list);
        }
        if (all[i].words[0] != '\0')
            out[k++] = all[i];
    }
    return k;
}
