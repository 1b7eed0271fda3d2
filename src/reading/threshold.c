#include "reading/threshold.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"

static struct threshold table[THRESHOLD_MAX];
static int n_table;
static pthread_once_t once = PTHREAD_ONCE_INIT;

/* The word's place in a list; false, and the line is named, when it is none of them. */
static bool word(const struct csv *c, size_t row, const char *column, const char *const *words, int n, int *out, struct err *e)
{
    for (int i = 0; i < n; i++)
        if (strcmp(csv_named(c, row, column), words[i]) == 0) {
            *out = i;
            return true;
        }
    return err_set(e, ERR_FORMAT, "Line %zu: “%s” is no %s.", c->line[row], TEXT_SHORT(csv_named(c, row, column), 20), column);
}

static bool number(const struct csv *c, size_t row, const char *column, double *out, struct err *e)
{
    if (!text_to_double(csv_named(c, row, column), out) || !(*out > 0))
        return err_set(e, ERR_FORMAT, "Line %zu: %s must be a number above 0.", c->line[row], column);
    return true;
}

static bool parse_row(const struct csv *c, size_t row, struct threshold *t, struct err *e)
{
    static const char *const worse[] = {"less", "either", "more"}, *const yes_no[] = {"no", "yes"},
                             *const lasting[] = {"keep", "normal"};
    int w = 0, relative = 0, normal = 0;
    double decimals = 0;

    memset(t, 0, sizeof *t);
    if (csv_named(c, row, "id")[0] == '\0' || !text_copy(t->id, sizeof t->id, csv_named(c, row, "id")))
        return err_set(e, ERR_FORMAT, "Line %zu: the id is missing or too long.", c->line[row]);
    text_copy(t->label, sizeof t->label, csv_named(c, row, "label"));
    text_copy(t->unit, sizeof t->unit, csv_named(c, row, "unit"));
    if (!text_copy(t->reason, sizeof t->reason, csv_named(c, row, "reason")) || t->reason[0] == '\0' ||
        !text_copy(t->source, sizeof t->source, csv_named(c, row, "source")) || t->source[0] == '\0')
        return err_set(e, ERR_FORMAT, "Line %zu: reason or source is missing or too long.", c->line[row]);
    if (!word(c, row, "worse", worse, 3, &w, e) || !word(c, row, "relative", yes_no, 2, &relative, e) ||
        !word(c, row, "lasting", lasting, 2, &normal, e))
        return false;
    if (!text_to_double(csv_named(c, row, "decimals"), &decimals) || decimals < 0 || decimals > 4)
        return err_set(e, ERR_FORMAT, "Line %zu: decimals must be 0 to 4.", c->line[row]);
    t->n_decimals = (int)decimals;
    t->worse = w - 1;
    t->relative = relative == 1;
    t->lasting_normal = normal == 1;
    t->compared = csv_named(c, row, "counts_from")[0] != '\0';
    if (!t->compared)
        return true;
    if (!number(c, row, "counts_from", &t->counts_from, e) || !number(c, row, "always_from", &t->always_from, e) ||
        !number(c, row, "resolution", &t->resolution, e))
        return false;
    if (t->always_from < t->counts_from || t->resolution >= t->counts_from)
        return err_set(e, ERR_FORMAT, "Line %zu: resolution < counts_from <= always_from must hold.", c->line[row]);
    if (t->relative) { /* written in percent */
        t->counts_from /= 100;
        t->always_from /= 100;
        t->resolution /= 100;
    }
    return true;
}

bool threshold_parse(const struct csv *c, struct threshold *rows, int *n, struct err *e)
{
    *n = 0;
    for (size_t i = 1; i < c->n_rows; i++) {
        if (*n == THRESHOLD_MAX)
            return err_set(e, ERR_LIMIT, "There are more than %d thresholds.", THRESHOLD_MAX);
        if (!parse_row(c, i, &rows[*n], e))
            return false;
        for (int k = 0; k < *n; k++)
            if (strcmp(rows[k].id, rows[*n].id) == 0)
                return err_set(e, ERR_FORMAT, "Line %zu: “%s” comes twice.", c->line[i], rows[k].id);
        (*n)++;
    }
    return true;
}

static void load(void)
{
    struct csv c;
    struct err e = {.code = ERR_NONE};
    bool fine = asset_table("thresholds.csv", &c, &e) && threshold_parse(&c, table, &n_table, &e);

    if (!fine) {
        fprintf(stderr, "sootbook: thresholds.csv: %s\n", e.text);
        abort();
    }
    csv_release(&c);
}

const struct threshold *threshold_rows(int *n)
{
    pthread_once(&once, load);
    *n = n_table;
    return table;
}

const struct threshold *threshold_find(const char *measure)
{
    const struct threshold *amount = NULL;

    pthread_once(&once, load);
    for (int i = 0; i < n_table; i++) {
        if (strcmp(table[i].id, measure) == 0)
            return &table[i];
        if (strcmp(table[i].id, "amount") == 0)
            amount = &table[i];
    }
    return amount;
}

static double in_unit(const struct threshold *t, double x, double reference)
{
    return t->relative ? x * fabs(reference) : x;
}

double threshold_least_spread(const struct threshold *t, double reference)
{
    return in_unit(t, t->resolution, reference) / sqrt(3);
}

double threshold_counts_from(const struct threshold *t, double reference)
{
    return in_unit(t, t->counts_from, reference);
}

double threshold_always_from(const struct threshold *t, double reference)
{
    return in_unit(t, t->always_from, reference);
}
