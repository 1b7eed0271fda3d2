/* table.h - a table of readings somebody kept elsewhere: its cells, and what each column is taken for. Pure but
 * for reading the file. */
#ifndef TAKEOVER_TABLE_H
#define TAKEOVER_TABLE_H

#include "base/csv.h"
#include "engine/engine.h"
#include "takeover/field.h"

#define TAKE_MAX_BYTES (64u << 20)
#define TAKE_MAX_COLUMNS 200

enum take_how { TAKE_UNKNOWN, TAKE_BY_HEADING, TAKE_BY_PARTS, TAKE_BY_FIGURES, TAKE_CHOSEN }; /* how a column was matched */
enum take_dates { TAKE_DATES_CLEAR, TAKE_DATES_UNSURE, TAKE_DAY_FIRST, TAKE_MONTH_FIRST };

struct take_column {
    enum take_field_id field;
    enum take_how how;
    char unit[12];      /* id, "" where the field has none */
    bool unit_guessed;  /* by the size of the figures, or the field's usual one */
    char plug[32];      /* "3", "3 top": the column is this plug's; "" the row says whose */
    int sign;           /* "well oil": its amounts may stand alone; -1: cells name their signs */
    bool grouped;       /* points or commas part thousands */
};

struct take_table {
    char name[256];           /* of the file */
    struct csv csv;
    const char *encoding;     /* "UTF-8", "Latin-1" */
    char separator;
    bool headed;              /* the first row names the columns */
    int n_columns;
    struct take_column columns[TAKE_MAX_COLUMNS];
    enum take_dates dates;    /* UNSURE: has to be asked; DAY_FIRST and MONTH_FIRST also where the cells tell it */
    bool dates_asked;         /* nothing in the cells tells day from month */
};

bool take_is_table(const char *path); /* by its name: csv, tsv, tab, txt */
/* Reads the cells: comma, semicolon, tab or | between them; UTF-8 with or without its mark, else Latin-1 (with
 * the Windows additions, as the WHATWG encoding standard has it). Fails when it is no table, naming the line.
 * On failure nothing is held. */
bool take_table_read(const char *path, struct take_table *out, struct err *e);
bool take_table_parse(const char *data, size_t n_bytes, const char *name, struct take_table *out, struct err *e);
void take_table_release(struct take_table *t);
/* Matches the columns anew, and lets go of lines of a title above the headings; en NULL: any number up to the most cylinders may be a cylinder's. */
void take_table_match(struct take_table *t, const struct engine *en);
/* A person's choice; unit "" the field's usual one, or the one of the figures' size. */
void take_table_choose(struct take_table *t, int column, enum take_field_id field, const char *unit, const char *plug);
int take_table_find(const struct take_table *t, enum take_field_id field); /* a column of the rows themselves, -1 none */
const char *take_table_heading(const struct take_table *t, int column, char *to, size_t n_room); /* "column 3" where there is none */
/* A column headed "Oil" that does not say where it was seen, and nobody chose a place for or left it out; -1 none. */
int take_table_oil_somewhere(const struct take_table *t);
size_t take_table_first(const struct take_table *t); /* row behind the heading */
/* "1=date,gap=gap:in,4=-": columns by number or heading, fields by id, with a unit. Fails naming what is unknown. */
bool take_table_columns(struct take_table *t, const char *spec, struct err *e);

#endif
