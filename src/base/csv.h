/* csv.h - RFC 4180 in and out. */
#ifndef BASE_CSV_H
#define BASE_CSV_H

#include <stdbool.h>
#include <stddef.h>

struct err;
struct text;

struct csv {
    char ***cells;    /* cells[row][column], row 0 is the header; NUL-ended UTF-8 */
    size_t *n_cells;  /* cells in each row */
    size_t *line;     /* 1-based line in the file where each row starts */
    size_t n_rows;
    void *memory;
};
/* Parses bytes; quotes, doubled quotes, line breaks in quotes, CRLF or LF, one BOM skipped.
 * Fails ERR_FORMAT naming the line; ERR_LIMIT above 1,000,000 rows. */
bool csv_parse(const char *data, size_t n_bytes, char separator, struct csv *out, struct err *e);
void csv_release(struct csv *c);
/* Column number of a header name, or -1. */
int csv_column(const struct csv *c, const char *name);
const char *csv_cell(const struct csv *c, size_t row, int column); /* "" when absent */
const char *csv_named(const struct csv *c, size_t row, const char *name); /* the same by the column's name */

/* Adds one cell, quoted where needed. When safe is true and the cell starts with = + - @ tab or CR
 * and is no plain number, an apostrophe goes in front, so that no spreadsheet takes it for a formula. */
void csv_add_cell(struct text *t, const char *cell, bool safe, bool first);
void csv_end_row(struct text *t); /* CRLF */

#endif
