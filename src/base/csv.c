#include "base/csv.h"

#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

#define MAX_ROWS 1000000

struct builder {
    struct csv *csv;
    struct arena *arena;
    char **row;
    size_t n_row, row_room, rows_room;
};

static void end_cell(struct builder *b, struct text *cell)
{
    if (b->n_row == b->row_room) {
        b->row_room = b->row_room ? b->row_room * 2 : 16;
        b->row = mem_resize(b->row, b->row_room, sizeof *b->row);
    }
    b->row[b->n_row++] = arena_text(b->arena, text_get(cell));
    text_clear(cell);
}

static void end_row(struct builder *b, size_t line)
{
    struct csv *c = b->csv;

    if (c->n_rows == b->rows_room) {
        b->rows_room = b->rows_room ? b->rows_room * 2 : 64;
        c->cells = mem_resize(c->cells, b->rows_room, sizeof *c->cells);
        c->n_cells = mem_resize(c->n_cells, b->rows_room, sizeof *c->n_cells);
        c->line = mem_resize(c->line, b->rows_room, sizeof *c->line);
    }
    c->cells[c->n_rows] = arena_alloc(b->arena, b->n_row, sizeof(char *));
    memcpy(c->cells[c->n_rows], b->row, b->n_row * sizeof(char *));
    c->n_cells[c->n_rows] = b->n_row;
    c->line[c->n_rows] = line;
    c->n_rows++;
    b->n_row = 0;
}

bool csv_parse(const char *data, size_t n_bytes, char separator, struct csv *out, struct err *e)
{
    struct builder b = {.csv = out, .arena = arena_create()};
    struct text cell = {0};
    size_t line = 1, row_line = 1, at = 0;
    bool fine = false, started = false;

    *out = (struct csv){.memory = b.arena};
    if (n_bytes >= 3 && memcmp(data, "\xEF\xBB\xBF", 3) == 0)
        at = 3;
    while (at < n_bytes) {
        char c = data[at];

        if (c == '"' && cell.n_bytes == 0) { /* a quoted cell, up to its closing quote */
            size_t open_line = line;
            bool closed = false;

            started = true;
            for (at++; at < n_bytes; at++) {
                if (data[at] == '"') {
                    if (at + 1 < n_bytes && data[at + 1] == '"') {
                        text_add_char(&cell, '"');
                        at++;
                        continue;
                    }
                    closed = true;
                    at++;
                    break;
                }
                if (data[at] == '\0')
                    break;
                if (data[at] == '\n')
                    line++;
                text_add_char(&cell, data[at]);
            }
            if (!closed) {
                err_set(e, ERR_FORMAT, "The quotation mark opened in line %zu is never closed.",
                        open_line);
                goto done;
            }
            if (at < n_bytes && data[at] != separator && data[at] != '\r' && data[at] != '\n') {
                err_set(e, ERR_FORMAT,
                        "Line %zu: something stands behind a closing quotation mark.", line);
                goto done;
            }
            if (at >= n_bytes || data[at] != separator)
                continue;
            c = separator;
        }
        if (c == separator) {
            end_cell(&b, &cell);
            started = true;
            at++;
        } else if (c == '\n' || c == '\r') {
            if (started || cell.n_bytes != 0) {
                end_cell(&b, &cell);
                end_row(&b, row_line);
                if (out->n_rows > MAX_ROWS) {
                    err_set(e, ERR_LIMIT, "The table has more than %d rows.", MAX_ROWS);
                    goto done;
                }
            }
            at += c == '\r' && at + 1 < n_bytes && data[at + 1] == '\n' ? 2 : 1;
            line++;
            row_line = line;
            started = false;
        } else if (c == '\0') {
            err_set(e, ERR_FORMAT, "Line %zu holds a zero byte: this is no text table.", line);
            goto done;
        } else {
            text_add_char(&cell, c);
            started = true;
            at++;
        }
    }
    if (started || cell.n_bytes != 0) {
        end_cell(&b, &cell);
        end_row(&b, row_line);
    }
    fine = true;
done:
    text_release(&cell);
    free(b.row);
    if (!fine)
        csv_release(out);
    return fine;
}

void csv_release(struct csv *c)
{
    free(c->cells);
    free(c->n_cells);
    free(c->line);
    arena_destroy(c->memory);
    *c = (struct csv){0};
}

int csv_column(const struct csv *c, const char *name)
{
    if (c->n_rows > 0)
        for (size_t i = 0; i < c->n_cells[0]; i++)
            if (strcmp(c->cells[0][i], name) == 0)
                return (int)i;
    return -1;
}

const char *csv_cell(const struct csv *c, size_t row, int column)
{
    if (column < 0 || row >= c->n_rows || (size_t)column >= c->n_cells[row])
        return "";
    return c->cells[row][column];
}

const char *csv_named(const struct csv *c, size_t row, const char *name)
{
    return csv_cell(c, row, csv_column(c, name));
}

void csv_add_cell(struct text *t, const char *cell, bool safe, bool first)
{
    double number;
    bool guard = safe && cell[0] != '\0' && strchr("=+-@\t\r", cell[0]) != NULL &&
                 !text_to_double(cell, &number);

    if (!first)
        text_add_char(t, ',');
    if (!guard && strpbrk(cell, "\",\r\n") == NULL) {
        text_add(t, cell);
        return;
    }
    text_add_char(t, '"');
    if (guard)
        text_add_char(t, '\'');
    for (const char *c = cell; *c != '\0'; c++) {
        if (*c == '"')
            text_add_char(t, '"');
        text_add_char(t, *c);
    }
    text_add_char(t, '"');
}

void csv_end_row(struct text *t)
{
    text_add(t, "\r\n");
}
