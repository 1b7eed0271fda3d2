/* content.h - what a report says, as a list of blocks: made once from the records, then drawn as a page
 * (report_html.h), as PDF (report_pdf.h) and in the window. Nothing here knows how it will look. */
#ifndef REPORT_CONTENT_H
#define REPORT_CONTENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/units.h"
#include "record/record.h"

struct arena;
struct drawing;
struct err;
struct report_picture;
struct report_source;

/* Parts that can be left out, in the order a page has them: what is wrong and what to do about it first, then what that
 * rests on. What stands in the way of starting is no part: it is always said. */
enum report_part {
    REPORT_SHORT, REPORT_PLAN, REPORT_CAUSES, REPORT_STANDS_OUT, REPORT_REPAIRS, REPORT_STEPS, REPORT_PARTS, REPORT_REFIT, REPORT_CLOSING,
    REPORT_VISIT, REPORT_READINGS, REPORT_LINEUP, REPORT_TRENDS, REPORT_PHOTOS, REPORT_NOTES, REPORT_ENGINE, REPORT_NEXT_TIME, REPORT_CAUTIONS,
    REPORT_PART_COUNT
};
struct report_part_row {
    const char *id;    /* "stands-out": on the command line and in the preferences */
    const char *label; /* "What stands out" */
    const char *about; /* what is in it, for the help */
};
const struct report_part_row *report_part_row(enum report_part p);
/* A set of parts: bit i is part i. */
typedef uint32_t report_parts;
/* "photos,notes" as a set. Fails ERR_BADARG naming what is no part, with the list of those there are. */
bool report_parts_parse(const char *list, report_parts *out, struct err *e);
void report_parts_format(report_parts set, char *to, size_t n_room);

/* "12" or "all" visits as a number; REPORT_ALL_VISITS stands for all. Fails ERR_BADARG for anything else. */
#define REPORT_ALL_VISITS RECORD_MAX_VISITS
bool report_visits_parse(const char *how_many, int *out, struct err *e);
void report_visits_format(int n_visits, char *to, size_t n_room);
int report_first_told(const struct record *r, int n_visits); /* index of the first of the latest n, at least one */

/* What is asked for. */
struct report_ask {
    int n_visits;         /* so many are told in full, from the one shown back; 0 and 1: that one */
    report_parts without; /* left out */
    struct unit_choice units; /* figures are told in; torque has the other beside it */
};

/* Each block may be left out or torn between two pages as a whole, but for tables and photos, which break
 * between rows. */
enum content_kind {
    CONTENT_HEADING, CONTENT_TEXT, CONTENT_ALERT, CONTENT_CARD, CONTENT_LIST, CONTENT_FACTS, CONTENT_TABLE, CONTENT_DRAWING, CONTENT_PHOTOS
};
enum content_tone { TONE_PLAIN, TONE_SOFT, TONE_STRONG };
struct content_line {
    enum content_tone tone;
    const char *text;
};
struct content_block {
    enum content_kind kind;
    int depth;                         /* HEADING: 1 the title, 2 a part or a visit …; CARD: that of its heading */
    enum level level;                  /* CARD, ALERT: how grave; LEVEL_NONE of a CARD: a cause */
    enum content_tone tone;            /* TEXT */
    const char *text;                  /* HEADING, TEXT, ALERT, CARD (its heading) */
    const char *how;                   /* CARD: how it was computed, "" */
    const struct content_line *lines;  /* CARD, LIST; FACTS and TABLE: the cells, row by row */
    size_t n_lines;
    const char *const *heads;          /* TABLE: of each column; NULL none */
    int n_columns;                     /* TABLE, FACTS (2: a label, "" that of the row before, and what is said) */
    int head_column;                   /* TABLE: the cell that names its row */
    uint32_t numbers;                  /* TABLE: bit i: column i holds figures, set to the right */
    uint32_t whole;                    /* TABLE: bit i: what stands in column i is not broken into lines */
    const struct drawing *drawing;     /* DRAWING; text: what it shows, for who cannot see it */
    const struct report_picture *const *pictures; /* PHOTOS; lines: the caption of each */
};
struct content {
    const char *title;                 /* "Merrow 4.2 V8, 14 Jun 2026" */
    struct content_block *blocks;
    size_t n_blocks;
};
/* Makes it in the arena; texts of the source are copied, pictures are referred to and must live as long. */
void content_make(const struct report_source *source, const struct report_ask *ask, struct arena *a, struct content *out);

const char *content_level_word(enum level level); /* "Act on", "" */

#endif
