/* content.c - the parts of a report and the blocks it is made of. */
#include "report/content.h"

#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "report/content_work.h"

static const struct report_part_row parts[] = {
    [REPORT_SHORT] = {"short", "In short", "what is wrong, how sure, what to do next and to buy"},
    [REPORT_PLAN] = {"plan", "Plan", "the engine from above with its plugs"},
    [REPORT_CAUSES] = {"causes", "Likely causes", "with what speaks for and against each"},
    [REPORT_STANDS_OUT] = {"stands-out", "What stands out", "with the odds of luck"},
    [REPORT_REPAIRS] = {"repairs", "Did the repairs hold?", "work done and what became of it"},
    [REPORT_STEPS] = {"steps", "Steps", "done, waiting and to do"},
    [REPORT_PARTS] = {"parts", "Parts", "ordered, in hand, fitted"},
    [REPORT_REFIT] = {"refit", "Tightening", "charts, and each hole as it was left"},
    [REPORT_CLOSING] = {"closing", "End of the visit", "what was checked, what stays open"},
    [REPORT_VISIT] = {"visit", "Visit", "complaint, codes, tests, order drawn, oil, weather"},
    [REPORT_READINGS] = {"readings", "Readings", "what was seen and measured, plug by plug"},
    [REPORT_LINEUP] = {"line-up", "Line-up", "all plugs of the latest visits side by side"},
    [REPORT_TRENDS] = {"trends", "Trends", "gap, colour, compression over the visits"},
    [REPORT_PHOTOS] = {"photos", "Photos", "each photo with its plug"},
    [REPORT_NOTES] = {"notes", "Notes", "the visit's own words"},
    [REPORT_ENGINE] = {"engine", "Engine", "layout, firing order, ignition, plug"},
    [REPORT_NEXT_TIME] = {"next-time", "For next time", "sockets, capacities, odd finds"},
    [REPORT_CAUTIONS] = {"cautions", "Cautions", "where someone can be hurt"},
};
_Static_assert(sizeof parts / sizeof parts[0] == REPORT_PART_COUNT, "a row for each part");

const struct report_part_row *report_part_row(enum report_part p)
{
    return &parts[p];
}

bool report_parts_parse(const char *list, report_parts *out, struct err *e)
{
    report_parts set = 0;

    for (const char *at = list; *at != '\0';) {
        size_t n = strcspn(at, ", ");
        int found = -1;

        for (int p = 0; p < REPORT_PART_COUNT; p++)
            if (strlen(parts[p].id) == n && strncmp(parts[p].id, at, n) == 0)
                found = p;
        if (found < 0 && n > 0) {
            char all[400];

            report_parts_format(~(report_parts)0, all, sizeof all);
            return err_set(e, ERR_BADARG, "A report has no part “%.*s”. Its parts: %s.", (int)text_whole(at, n < 40 ? n : 40), at, all);
        }
        if (n > 0)
            set |= (report_parts)1 << found;
        at += n + (at[n] != '\0');
    }
    *out = set;
    return true;
}

void report_parts_format(report_parts set, char *to, size_t n_room)
{
    struct text t = {0};

    for (int p = 0; p < REPORT_PART_COUNT; p++)
        if ((set >> p & 1) != 0)
            text_addf(&t, "%s%s", t.n_bytes > 0 ? ", " : "", parts[p].id);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

bool report_visits_parse(const char *how_many, int *out, struct err *e)
{
    double n;

    if (strcmp(how_many, "all") == 0) {
        *out = REPORT_ALL_VISITS;
        return true;
    }
    if (!text_to_double(how_many, &n) || n < 1 || n > REPORT_ALL_VISITS || n != floor(n))
        return err_set(e, ERR_BADARG, "“%s” is no number of visits: type 1, 12, or all.", TEXT_SHORT(how_many, 20));
    *out = (int)n;
    return true;
}

void report_visits_format(int n_visits, char *to, size_t n_room)
{
    text_format(to, n_room, n_visits >= REPORT_ALL_VISITS ? "all" : "%d", n_visits < 1 ? 1 : n_visits);
}

int report_first_told(const struct record *r, int n_visits)
{
    int n = n_visits < 1 ? 1 : n_visits;

    return r->n_visits > n ? r->n_visits - n : 0;
}

const char *content_level_word(enum level level)
{
    static const char *const words[] = {"", "Note", "Watch", "Act on", "Stop"};

    return words[level];
}

/* ---- making blocks ---- */

bool maker_wants(const struct maker *m, enum report_part part)
{
    return (m->ask->without >> part & 1) == 0;
}

struct content_block *maker_add(struct maker *m, enum content_kind kind)
{
    struct content_block *b = arena_push(m->a, (void **)&m->c->blocks, &m->c->n_blocks, &m->n_room, sizeof *b);

    *b = (struct content_block){.kind = kind, .head_column = -1, .text = "", .how = ""};
    return b;
}

void maker_heading(struct maker *m, int depth, const char *text)
{
    struct content_block *b = maker_add(m, CONTENT_HEADING);

    b->depth = depth;
    b->text = arena_text(m->a, text);
}

void maker_part(struct maker *m, enum report_part part)
{
    maker_heading(m, m->depth, parts[part].label);
}

void maker_text(struct maker *m, enum content_tone tone, const char *text)
{
    struct content_block *b = maker_add(m, CONTENT_TEXT);

    b->tone = tone;
    b->text = arena_text(m->a, text);
}

void maker_cell(struct maker *m, struct cells *cells, enum content_tone tone, const char *text)
{
    struct content_line *line = arena_push(m->a, (void **)&cells->list, &cells->n, &cells->n_room, sizeof *line);

    line->tone = tone;
    line->text = arena_text(m->a, text);
}

struct content_block *maker_table(struct maker *m, const char *const *heads, int n_columns, int head_column, const struct cells *cells)
{
    struct content_block *b = maker_add(m, CONTENT_TABLE);

    b->heads = heads;
    b->n_columns = n_columns;
    b->head_column = head_column;
    b->lines = cells->list;
    b->n_lines = cells->n;
    return b;
}

static uint32_t without_bits(uint32_t bits, uint32_t dropped, int n)
{
    uint32_t out = 0;

    for (int k = 0, to = 0; k < n; k++)
        if ((dropped >> k & 1u) == 0)
            out |= (bits >> k & 1u) << to++;
    return out;
}

uint32_t maker_drop_empty(struct maker *m, struct content_block *b, const char *nothing)
{
    const int n = b->n_columns;
    const char **heads = arena_alloc(m->a, (size_t)n, sizeof *heads);
    struct content_line *lines = arena_alloc(m->a, b->n_lines + 1, sizeof *lines);
    uint32_t dropped = 0;
    size_t n_lines = 0;
    int n_kept = 0;

    for (int k = 1; k < n; k++) {
        bool said = false;

        for (size_t i = (size_t)k; i < b->n_lines; i += (size_t)n)
            said = said || (b->lines[i].text[0] != '\0' && strcmp(b->lines[i].text, nothing) != 0);
        dropped |= said || k == b->head_column ? 0 : 1u << k;
    }
    for (int k = 0; k < n; k++)
        if ((dropped >> k & 1u) == 0)
            heads[n_kept++] = b->heads[k];
    for (size_t i = 0; i < b->n_lines; i++)
        if ((dropped >> (i % (size_t)n) & 1u) == 0)
            lines[n_lines++] = b->lines[i];
    b->numbers = without_bits(b->numbers, dropped, n);
    b->whole = without_bits(b->whole, dropped, n);
    for (int k = b->head_column; k > 0; k--)
        b->head_column -= (int)(dropped >> (k - 1) & 1u);
    b->heads = heads;
    b->lines = lines;
    b->n_lines = n_lines;
    b->n_columns = n_kept;
    return dropped;
}
