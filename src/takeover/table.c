#include "takeover/table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "takeover/field_work.h"

bool take_is_table(const char *path)
{
    static const char *const endings[] = {"csv", "tsv", "tab", "txt"};
    const char *ext = files_extension(path);

    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (strcasecmp(ext, endings[i]) == 0)
            return true;
    return false;
}

/* ---- bytes to cells ---- */

/* What Windows writes in place of the control characters of Latin-1; 0 where it has none either. WHATWG, Encoding,
 * index windows-1252. */
static const uint16_t windows[32] = {
    0x20AC, 0, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0, 0x017D, 0,
    0, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0, 0x017E, 0x0178};

static void from_latin(const char *data, size_t n_bytes, struct text *to)
{
    for (size_t i = 0; i < n_bytes; i++) {
        unsigned c = (unsigned char)data[i];

        if (c >= 0x80 && c < 0xA0)
            c = windows[c - 0x80] ? windows[c - 0x80] : 0xFFFD;
        text_add_codepoint(to, c);
    }
}

/* The sign that gives the most rows of one width above 1; a table of one column has none and takes the comma. */
static bool parse_best(const char *data, size_t n_bytes, struct take_table *out, struct err *e)
{
    static const char signs[] = {';', '\t', ',', '|'};
    double best = -1;
    struct err first = {.text = ""};

    for (size_t i = 0; i < sizeof signs; i++) {
        struct csv c;
        struct err why;
        double even = 0, score;

        if (!csv_parse(data, n_bytes, signs[i], &c, &why)) {
            if (memchr(data, signs[i], n_bytes) != NULL) /* it is the one, and something is wrong */
                first = why;
            continue;
        }
        for (size_t r = 0; r < c.n_rows; r++)
            even += c.n_cells[r] == c.n_cells[0];
        score = c.n_rows == 0 || c.n_cells[0] < 2 ? 0 : even / (double)c.n_rows + 0.001 * (double)c.n_cells[0];
        if (score <= best) {
            csv_release(&c);
            continue;
        }
        if (best >= 0)
            csv_release(&out->csv);
        best = score;
        out->csv = c;
        out->separator = signs[i];
    }
    if (best > 0 || first.text[0] == '\0')
        return true;
    if (best == 0)
        csv_release(&out->csv);
    return err_set(e, first.code, "%s", first.text);
}

bool take_table_parse(const char *data, size_t n_bytes, const char *name, struct take_table *out, struct err *e)
{
    struct text latin = {0};
    bool fine;

    memset(out, 0, sizeof *out);
    text_copy(out->name, sizeof out->name, name);
    if (n_bytes >= 2 && (memcmp(data, "\xFF\xFE", 2) == 0 || memcmp(data, "\xFE\xFF", 2) == 0))
        return err_set(e, ERR_FORMAT, "%s is written in UTF-16. Save it as “CSV UTF-8” and drop it again.", name);
    if (n_bytes > 6 && strncasecmp(data, "sep=", 4) == 0) { /* some programs say their separator in a line before */
        size_t n = strcspn(data, "\n");

        data += n < n_bytes ? n + 1 : n;
        n_bytes -= n < n_bytes ? n + 1 : n;
    }
    out->encoding = "UTF-8";
    if (!text_is_utf8(data, n_bytes)) {
        out->encoding = "Latin-1";
        from_latin(data, n_bytes, &latin);
        data = text_get(&latin);
        n_bytes = latin.n_bytes;
    }
    fine = parse_best(data, n_bytes, out, e);
    text_release(&latin);
    if (!fine)
        return err_wrap(e, "%s", name);
    for (size_t r = 0; r < out->csv.n_rows; r++)
        for (size_t i = 0; i < out->csv.n_cells[r]; i++) { /* a mark that keeps a spreadsheet from taking the cell for a formula: csv_add_cell() */
            char **cell = &out->csv.cells[r][i];

            *cell += (*cell)[0] == '\'' && (*cell)[1] != '\0' && strchr("=+-@\t\r", (*cell)[1]) != NULL;
        }
    for (size_t r = 0; r < out->csv.n_rows; r++)
        if ((int)out->csv.n_cells[r] > out->n_columns)
            out->n_columns = (int)out->csv.n_cells[r];
    if (out->n_columns > TAKE_MAX_COLUMNS || out->csv.n_rows == 0 || (out->n_columns < 2 && out->csv.n_rows < 2)) {
        bool wide = out->n_columns > TAKE_MAX_COLUMNS;

        take_table_release(out);
        return wide ? err_set(e, ERR_LIMIT, "%s has more than %d columns.", name, TAKE_MAX_COLUMNS)
                    : err_set(e, ERR_FORMAT, "%s holds no table: there is no row of cells in it.", name);
    }
    return true;
}

bool take_table_read(const char *path, struct take_table *out, struct err *e)
{
    char *data;
    size_t n_bytes;
    bool fine;

    if (!files_read(path, TAKE_MAX_BYTES, &data, &n_bytes, e))
        return false;
    fine = take_table_parse(data, n_bytes, files_name(path), out, e);
    free(data);
    return fine;
}

void take_table_release(struct take_table *t)
{
    csv_release(&t->csv);
    memset(t, 0, sizeof *t);
}

int take_table_oil_somewhere(const struct take_table *t)
{
    char plain[80];

    for (int i = 0; t->headed && i < t->n_columns; i++) {
        take_plain_words(csv_cell(&t->csv, 0, i), false, plain, sizeof plain);
        if (t->columns[i].field != TAKE_NOTHING || t->columns[i].how == TAKE_CHOSEN ||
            (strcmp(plain, "oil") != 0 && strcmp(plain, "öl") != 0 && strcmp(plain, "oel") != 0))
            continue;
        for (size_t r = take_table_first(t); r < t->csv.n_rows; r++)
            if (csv_cell(&t->csv, r, i)[0] != '\0')
                return i;
    }
    return -1;
}

size_t take_table_first(const struct take_table *t)
{
    return t->headed ? 1 : 0;
}

const char *take_table_heading(const struct take_table *t, int column, char *to, size_t n_room)
{
    const char *s = t->headed ? csv_cell(&t->csv, 0, column) : "";

    if (s[0] != '\0')
        text_copy(to, n_room, s);
    else
        text_format(to, n_room, "column %d", column + 1);
    return to;
}

int take_table_find(const struct take_table *t, enum take_field_id field)
{
    for (int i = 0; i < t->n_columns; i++)
        if (t->columns[i].field == field && t->columns[i].plug[0] == '\0')
            return i;
    return -1;
}

/* ---- matching ---- */

struct labels { /* what a heading or a cell may call a plug */
    char text[ENGINE_MAX_PLUGS + ENGINE_MAX_CYLINDERS][32];
    const char *list[ENGINE_MAX_PLUGS + ENGINE_MAX_CYLINDERS];
    size_t n;
};

static void add_label(struct labels *l, const char *s)
{
    text_copy(l->text[l->n], sizeof l->text[0], s);
    l->list[l->n] = l->text[l->n];
    l->n++;
}

static void labels_of(const struct engine *en, struct labels *l)
{
    char s[32];

    l->n = 0;
    for (int c = 0; c < (en != NULL ? en->n_cylinders : ENGINE_MAX_CYLINDERS); c++) {
        text_format(s, sizeof s, "%d", c + 1);
        add_label(l, en != NULL ? en->cylinders[c].label : s);
    }
    for (int c = 0; en != NULL && en->n_positions > 1 && c < en->n_cylinders; c++)
        for (int p = 0; p < en->n_positions; p++) {
            engine_plug_label(en, c, p, s, sizeof s);
            add_label(l, s);
        }
}

static bool is_label(const struct labels *l, const char *s)
{
    for (size_t i = 0; i < l->n; i++)
        if (strcasecmp(l->list[i], s) == 0)
            return true;
    return false;
}

/* What the cells of a column look like. */
struct look {
    size_t n, n_dates, n_labels, n_numbers, n_parted, n_thousands; /* of n that are not empty */
    double least, middle, most;
    bool grows; /* never smaller than above */
};

static int by_size(const void *x, const void *y)
{
    double a = *(const double *)x, b = *(const double *)y;

    return (a > b) - (a < b);
}

/* "97.655", "1,097,655": three figures behind each sign. */
static bool in_thousands(const char *s)
{
    const char *sign = strpbrk(s, ".,");

    for (; sign != NULL; sign = strpbrk(sign + 1, ".,"))
        if (strspn(sign + 1, "0123456789") != 3)
            return false;
    return strpbrk(s, ".,") != NULL;
}

static void look_at(const struct take_table *t, int column, const struct labels *l, struct look *out)
{
    double *values = mem_alloc(t->csv.n_rows, sizeof *values), last = -INFINITY;

    *out = (struct look){.grows = true};
    for (size_t r = take_table_first(t); r < t->csv.n_rows; r++) {
        const char *s = csv_cell(&t->csv, r, column);
        char iso[11];
        int a, b, y;
        const struct unit *unit;
        double v;

        if (take_is_unsaid(s))
            continue;
        out->n++;
        out->n_dates += take_read_date(s, iso, &a, &b, &y) != TAKE_DATE_NONE;
        out->n_labels += is_label(l, s);
        out->n_parted += strpbrk(s, ".,") != NULL;
        out->n_thousands += in_thousands(s);
        if (!take_read_number(take_field(TAKE_NOTHING), s, false, &v, &unit))
            continue;
        out->grows = out->grows && v >= last;
        last = v;
        values[out->n_numbers++] = v;
    }
    if (out->n_numbers > 0) {
        qsort(values, out->n_numbers, sizeof *values, by_size);
        out->least = values[0];
        out->middle = values[out->n_numbers / 2];
        out->most = values[out->n_numbers - 1];
    }
    free(values);
}

/* Units of gaps and pressures lie far apart: the size of the figures tells them. */
static const char *unit_by_size(enum take_field_id field, const struct look *k)
{
    const struct take_field *f = take_field(field);

    if (k->n_numbers == 0 || f->units[0] == NULL)
        return f->units[0] != NULL ? f->units[0] : "";
    if (f->kind == TAKE_IS_GAP)
        return k->middle < 0.15 || (k->middle >= 15 && k->middle < 100 && k->middle == floor(k->middle)) ? "in" : "mm"; /* 0.043, 43 thousandths */
    if (strcmp(f->units[0], "kPa") == 0)
        return k->middle < 40 ? "bar" : k->middle < 400 ? "psi" : "kPa";
    return f->units[0];
}

/* The unit that each figure of the column names by itself, "" not each, or not the same. */
static const char *unit_in_cells(const struct take_table *t, int column, enum take_field_id field)
{
    const struct unit *said = NULL;

    for (size_t r = take_table_first(t); r < t->csv.n_rows && take_field(field)->units[0] != NULL; r++) {
        const char *s = csv_cell(&t->csv, r, column);
        const struct unit *unit;
        double v;

        if (take_is_unsaid(s))
            continue;
        if (!take_read_number(take_field(field), s, false, &v, &unit) || unit == NULL || (said != NULL && unit != said))
            return "";
        said = unit;
    }
    return said != NULL ? said->id : "";
}

static void settle_unit(struct take_column *c, const char *said, const struct look *k)
{
    c->unit_guessed = said[0] == '\0' && take_field(c->field)->units[0] != NULL;
    text_copy(c->unit, sizeof c->unit, said[0] ? said : unit_by_size(c->field, k));
    /* "97.655 km" among others like it: nobody writes an odometer to the metre */
    c->grouped = (c->field == TAKE_ODOMETER || c->field == TAKE_PLUG_DISTANCE) && k->n_parted > 0 && k->n_thousands == k->n_parted;
}

/* Whether a column of the rows themselves holds this already; zones may have a column for each of their signs. */
static bool is_had(const struct take_table *t, enum take_field_id field, int sign)
{
    for (int i = 0; i < t->n_columns && field != TAKE_NOTHING; i++)
        if (t->columns[i].field == field && t->columns[i].plug[0] == '\0' && t->columns[i].sign == sign)
            return true;
    return false;
}

/* A column whose heading says nothing of what it holds. */
static enum take_field_id field_by_figures(const struct take_table *t, const struct take_column *c, const struct look *k)
{
    bool numbers = k->n > 0 && k->n_numbers == k->n;

    if (k->n == 0)
        return TAKE_NOTHING;
    if (c->plug[0] == '\0') {
        if (k->n_dates == k->n && !is_had(t, TAKE_DATE, -1))
            return TAKE_DATE;
        if (k->n_labels == k->n && !is_had(t, TAKE_CYLINDER, -1) && !t->headed)
            return TAKE_CYLINDER;
        if (numbers && !t->headed && !is_had(t, TAKE_ODOMETER, -1) && k->grows && k->least >= 1000)
            return TAKE_ODOMETER;
    }
    if (!numbers || (t->headed && c->plug[0] == '\0'))
        return TAKE_NOTHING;
    if ((k->least >= 0.2 && k->most <= 2.5) || (k->least >= 0.008 && k->most <= 0.098)) /* gaps of plugs: record_read_gap() */
        return TAKE_GAP;
    if (k->least >= 3 && k->most <= 2500)
        return TAKE_COMPRESSION;
    return TAKE_NOTHING;
}

static void see_dates(struct take_table *t)
{
    int column = take_table_find(t, TAKE_DATE);
    bool any = false, day = false, month = false;

    t->dates_asked = false;
    if (column < 0) {
        t->dates = TAKE_DATES_CLEAR;
        return;
    }
    for (size_t r = take_table_first(t); r < t->csv.n_rows; r++) {
        char iso[11];
        int a, b, y;

        if (take_read_date(csv_cell(&t->csv, r, column), iso, &a, &b, &y) != TAKE_DATE_SLASH)
            continue;
        any = true;
        day = day || a > 12;
        month = month || b > 12;
    }
    t->dates_asked = any && day == month;
    t->dates = !any ? TAKE_DATES_CLEAR : t->dates_asked ? TAKE_DATES_UNSURE : day ? TAKE_DAY_FIRST : TAKE_MONTH_FIRST;
}

#define MOST_TITLES 10

/* Headings known for sure in a row; none where a figure or a date stands in it. */
static int known_headings(const struct take_table *t, const struct labels *l, size_t row)
{
    int n = 0;

    for (int i = 0; i < t->n_columns; i++) {
        const char *s = csv_cell(&t->csv, row, i);
        struct take_heading h;
        double v;
        char iso[11];
        int a, b, y;
        const struct unit *unit;

        if (take_read_number(take_field(TAKE_NOTHING), s, false, &v, &unit) ||
            take_read_date(s, iso, &a, &b, &y) != TAKE_DATE_NONE)
            return 0;
        take_heading_read(s, l->list, l->n, &h);
        n += h.field != TAKE_NOTHING && h.sure;
    }
    return n;
}

/* Lines of a title above the headings, as spreadsheets have them: the first row with two headings that are known is the heading. */
static void drop_titles(struct take_table *t, const struct labels *l)
{
    size_t row = 0;

    if (known_headings(t, l, 0) > 0)
        return;
    while (row < MOST_TITLES && row + 1 < t->csv.n_rows && known_headings(t, l, row) < 2)
        row++;
    if (row == MOST_TITLES || row + 1 >= t->csv.n_rows)
        return;
    t->csv.n_rows -= row;
    memmove(t->csv.cells, t->csv.cells + row, t->csv.n_rows * sizeof *t->csv.cells);
    memmove(t->csv.n_cells, t->csv.n_cells + row, t->csv.n_rows * sizeof *t->csv.n_cells);
    memmove(t->csv.line, t->csv.line + row, t->csv.n_rows * sizeof *t->csv.line);
}

void take_table_match(struct take_table *t, const struct engine *en)
{
    struct labels *l = mem_alloc(1, sizeof *l);
    struct take_heading *heads = mem_alloc((size_t)t->n_columns, sizeof *heads);
    int n_known = 0, n_figures = 0;

    labels_of(en, l);
    drop_titles(t, l);
    for (int i = 0; i < t->n_columns; i++) {
        const char *s = csv_cell(&t->csv, 0, i);
        double v;
        char iso[11];
        int a, b, y;
        const struct unit *unit;

        take_heading_read(s, l->list, l->n, &heads[i]);
        n_known += heads[i].field != TAKE_NOTHING;
        n_figures += take_read_number(take_field(TAKE_NOTHING), s, false, &v, &unit) || take_read_date(s, iso, &a, &b, &y) != TAKE_DATE_NONE;
    }
    t->headed = n_known > 0 && t->csv.n_rows > 1;
    if (n_known == 0 && n_figures == 0 && t->csv.n_rows > 1)
        t->headed = true; /* words nobody knows stand over figures */
    for (int i = 0; i < t->n_columns; i++)
        t->columns[i] = (struct take_column){.field = TAKE_NOTHING, .sign = -1};
    for (int i = 0; i < t->n_columns && t->headed; i++) { /* sure ones first: they win a field over guesses */
        struct take_column *c = &t->columns[i];

        if (heads[i].sure && (heads[i].plug[0] != '\0' || !is_had(t, heads[i].field, heads[i].sign))) {
            c->field = heads[i].field;
            c->sign = heads[i].sign;
            c->how = TAKE_BY_HEADING;
        }
        text_copy(c->plug, sizeof c->plug, heads[i].plug);
    }
    for (int i = 0; i < t->n_columns; i++) {
        struct take_column *c = &t->columns[i];
        struct look k;

        look_at(t, i, l, &k);
        if (t->headed && c->field == TAKE_NOTHING && heads[i].field != TAKE_NOTHING && !heads[i].sure && (c->plug[0] != '\0' || !is_had(t, heads[i].field, heads[i].sign))) {
            c->field = heads[i].field;
            c->how = TAKE_BY_PARTS;
        }
        if (c->field == TAKE_NOTHING) {
            c->field = field_by_figures(t, c, &k);
            c->how = c->field != TAKE_NOTHING ? TAKE_BY_FIGURES : TAKE_UNKNOWN;
        }
        if (c->field == TAKE_NOTHING)
            c->plug[0] = '\0';
        settle_unit(c, t->headed && heads[i].unit[0] != '\0' ? heads[i].unit : unit_in_cells(t, i, c->field), &k);
    }
    free(heads);
    free(l);
    see_dates(t);
}

void take_table_choose(struct take_table *t, int column, enum take_field_id field, const char *unit, const char *plug)
{
    struct take_column *c = &t->columns[column];
    struct labels *l = mem_alloc(1, sizeof *l);
    bool dated = c->field == TAKE_DATE;
    int sign = -1;
    struct look k;

    labels_of(NULL, l);
    look_at(t, column, l, &k);
    free(l);
    if (take_field(field)->kind == TAKE_IS_SIGNS && t->headed)
        sign = take_sign_within((enum zone)take_field(field)->list, csv_cell(&t->csv, 0, column));
    for (int i = 0; i < t->n_columns; i++) /* one column for a thing, but for remarks */
        if (i != column && field != TAKE_NOTHING && take_field(field)->kind != TAKE_IS_VISIT && t->columns[i].field == field && t->columns[i].sign == sign && plug[0] == '\0' &&
            t->columns[i].plug[0] == '\0')
            t->columns[i] = (struct take_column){.field = TAKE_NOTHING, .sign = -1};
    *c = (struct take_column){.field = field, .how = TAKE_CHOSEN, .sign = sign};
    text_copy(c->plug, sizeof c->plug, take_field(field)->kind == TAKE_IS_PLACE || take_field(field)->kind == TAKE_IS_VISIT || field == TAKE_NOTHING ? "" : plug);
    settle_unit(c, unit, &k);
    if (dated || field == TAKE_DATE) /* else what was answered stays */
        see_dates(t);
}

bool take_table_columns(struct take_table *t, const char *spec, struct err *e)
{
    while (*spec != '\0') {
        char part[200], *is, *unit;
        size_t n = strcspn(spec, ",");
        long number;
        int column = -1, field;

        text_format(part, sizeof part, "%.*s", (int)n, spec);
        spec += n + (spec[n] == ',');
        is = strrchr(part, '=');
        if (is == NULL)
            return err_set(e, ERR_BADARG, "--columns “%s”: write COLUMN=FIELD, as in 3=gap:mm.", TEXT_SHORT(part, 60));
        *is++ = '\0';
        unit = strchr(is, ':');
        if (unit != NULL)
            *unit++ = '\0';
        for (int i = 0; t->headed && i < t->n_columns && column < 0; i++)
            if (strcasecmp(csv_cell(&t->csv, 0, i), part) == 0)
                column = i;
        if (column < 0 && text_to_long(part, &number) && number >= 1 && number <= t->n_columns)
            column = (int)number - 1;
        if (column < 0)
            return err_set(e, ERR_BADARG, "--columns: the table has no column “%s”; it has %d.", TEXT_SHORT(part, 60), t->n_columns);
        field = take_field_find(is);
        if (field < 0) {
            char all[500];

            take_field_list(all, sizeof all);
            return err_set(e, ERR_BADARG, "--columns: “%s” is none of %s.", TEXT_SHORT(is, 40), all);
        }
        if (unit != NULL) {
            bool may = false;

            for (int i = 0; i < 5 && take_field((enum take_field_id)field)->units[i] != NULL; i++)
                may = may || strcmp(take_field((enum take_field_id)field)->units[i], unit) == 0;
            if (!may)
                return err_set(e, ERR_BADARG, "--columns: %s is not written in “%s”.", is, TEXT_SHORT(unit, 20));
        }
        {
            char plug[32];

            text_copy(plug, sizeof plug, t->columns[column].plug);
            take_table_choose(t, column, (enum take_field_id)field, unit != NULL ? unit : "", plug);
        }
    }
    return true;
}
