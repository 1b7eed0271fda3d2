#include "reading/compression.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "record/vocab.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))
#define BANDS_MAX 16

static struct compression_rule rules[COMPRESSION_RULES_MAX];
static struct compression_band bands[BANDS_MAX];
static int n_rules, n_bands;
static pthread_once_t once = PTHREAD_ONCE_INIT;

static double kpa_of(const char *unit)
{
    const struct unit *u = unit_find(unit);

    return u != NULL && u->kind == UNIT_PRESSURE ? unit_convert(1, u, unit_find("kPa")) : 0;
}

static bool parse_rule(const struct csv *c, size_t row, struct compression_rule *r, struct err *e)
{
    static const char *const quantities[] = {"of-highest", "of-mean", "spread"};
    const char *unit = csv_named(c, row, "unit"), *floor_text = csv_named(c, row, "floor_kpa");
    int q = -1;

    _Static_assert(COUNT(quantities) == COMPRESSION_QUANTITY_COUNT, "a word for each quantity");
    memset(r, 0, sizeof *r);
    for (int i = 0; i < COMPRESSION_QUANTITY_COUNT; i++)
        if (strcmp(csv_named(c, row, "quantity"), quantities[i]) == 0)
            q = i;
    if (q < 0)
        return err_set(e, ERR_FORMAT, "Line %zu: “%s” is no quantity.", c->line[row], TEXT_SHORT(csv_named(c, row, "quantity"), 20));
    r->quantity = (enum compression_quantity)q;
    if (csv_named(c, row, "rule_id")[0] == '\0' || !text_copy(r->id, sizeof r->id, csv_named(c, row, "rule_id")) ||
        csv_named(c, row, "words")[0] == '\0' || !text_copy(r->words, sizeof r->words, csv_named(c, row, "words")) ||
        csv_named(c, row, "source")[0] == '\0' || !text_copy(r->source, sizeof r->source, csv_named(c, row, "source")))
        return err_set(e, ERR_FORMAT, "Line %zu: id, words or source are missing or too long.", c->line[row]);
    if (!text_to_double(csv_named(c, row, "value"), &r->value) || r->value <= 0)
        return err_set(e, ERR_FORMAT, "Line %zu: the value must be above 0.", c->line[row]);
    if (floor_text[0] != '\0' && (!text_to_double(floor_text, &r->floor_kpa) || r->floor_kpa <= 0))
        return err_set(e, ERR_FORMAT, "Line %zu: the floor must be above 0 kPa.", c->line[row]);
    if (q == COMPRESSION_SPREAD) {
        r->printed_kpa = kpa_of(unit);
        r->value *= r->printed_kpa;
        if (!(r->printed_kpa > 0))
            return err_set(e, ERR_FORMAT, "Line %zu: “%s” is no unit of pressure.", c->line[row], TEXT_SHORT(unit, 10));
    } else {
        r->printed_kpa = kpa_of("psi");
        r->value /= 100;
        if (strcmp(unit, "%") != 0 || r->value >= 1)
            return err_set(e, ERR_FORMAT, "Line %zu: a share must be in %% and below 100.", c->line[row]);
    }
    return true;
}

bool compression_rules_parse(const struct csv *c, struct compression_rule *rows, int *n, struct err *e)
{
    *n = 0;
    for (size_t i = 1; i < c->n_rows; i++) {
        if (*n == COMPRESSION_RULES_MAX)
            return err_set(e, ERR_LIMIT, "There are more than %d rules.", COMPRESSION_RULES_MAX);
        if (!parse_rule(c, i, &rows[*n], e))
            return false;
        for (int k = 0; k < *n; k++)
            if (strcmp(rows[k].id, rows[*n].id) == 0)
                return err_set(e, ERR_FORMAT, "Line %zu: “%s” comes twice.", c->line[i], rows[k].id);
        (*n)++;
    }
    return true;
}

static bool parse_bands(const struct csv *c, struct err *e)
{
    for (size_t i = 1; i < c->n_rows; i++) {
        struct compression_band *b = &bands[n_bands];
        const char *kind = csv_named(c, i, "kind");

        if (n_bands == BANDS_MAX)
            return err_set(e, ERR_LIMIT, "There are more than %d bands.", BANDS_MAX);
        b->kind = strcmp(kind, "leak-down") == 0 ? COMPRESSION_LEAK_PERCENT : COMPRESSION_DIFFERENTIAL;
        b->level = -1;
        for (int level = LEVEL_NONE; level < LEVEL_COUNT; level++)
            if (strcmp(csv_named(c, i, "level"), level_id((enum level)level)) == 0)
                b->level = level;
        if (b->level < 0 || !text_to_double(csv_named(c, i, "from_loss"), &b->from) ||
            !text_to_double(csv_named(c, i, "below_loss"), &b->below) || b->from >= b->below ||
            !text_copy(b->words, sizeof b->words, csv_named(c, i, "words")) ||
            !text_copy(b->source, sizeof b->source, csv_named(c, i, "source")) || b->source[0] == '\0')
            return err_set(e, ERR_FORMAT, "Line %zu is no band.", c->line[i]);
        n_bands++;
    }
    return true;
}

static void load(void)
{
    struct csv c = {0}, d = {0};
    struct err e = {.code = ERR_NONE};

    if (!asset_table("compression-rules.csv", &c, &e) || !compression_rules_parse(&c, rules, &n_rules, &e) ||
        !asset_table("leak-bands.csv", &d, &e) || !parse_bands(&d, &e)) {
        fprintf(stderr, "sootbook: compression tables: %s\n", e.text);
        abort();
    }
    csv_release(&c);
    csv_release(&d);
}

const struct compression_rule *compression_rules(int *n)
{
    pthread_once(&once, load);
    *n = n_rules;
    return rules;
}

const struct compression_rule *compression_rule_of_least_floor(void)
{
    const struct compression_rule *least = NULL, *all;
    int n;

    all = compression_rules(&n);
    for (int i = 0; i < n; i++)
        if (all[i].floor_kpa > 0 && (least == NULL || all[i].floor_kpa < least->floor_kpa))
            least = &all[i];
    return least;
}

const struct compression_rule *compression_rule_find(const char *id)
{
    int n;
    const struct compression_rule *r = compression_rules(&n);

    if (id[0] == '\0')
        id = COMPRESSION_RULE_DEFAULT;
    for (int i = 0; i < n; i++)
        if (strcmp(r[i].id, id) == 0)
            return &r[i];
    return NULL;
}

void compression_rule_list(char *to, size_t n_room)
{
    struct text t = {0};
    int n;
    const struct compression_rule *r = compression_rules(&n);

    for (int i = 0; i < n; i++)
        text_addf(&t, "%s%s", i ? ", " : "", r[i].id);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

double compression_limit_kpa(const struct compression_rule *rule, const double *kpa, int n)
{
    double highest = 0, sum = 0, limit = 0;

    for (int i = 0; i < n; i++) {
        highest = fmax(highest, kpa[i]);
        sum += kpa[i];
    }
    switch (rule->quantity) {
    case COMPRESSION_OF_HIGHEST: limit = rule->value * highest; break;
    case COMPRESSION_OF_MEAN: limit = rule->value * sum / n; break;
    case COMPRESSION_SPREAD: limit = highest - rule->value; break;
    case COMPRESSION_QUANTITY_COUNT: break;
    }
    return fmax(limit, rule->floor_kpa);
}

bool compression_passes(const struct compression_rule *rule, const double *kpa, int n, double reading_kpa)
{
    double share = rule->quantity == COMPRESSION_SPREAD ? 1 : rule->value, limit;
    struct compression_rule bare = *rule;

    bare.floor_kpa = 0;
    limit = compression_limit_kpa(&bare, kpa, n);
    if (reading_kpa < limit - 0.5 * rule->printed_kpa - 0.5 - 0.5 * share)
        return false;
    return reading_kpa >= rule->floor_kpa - 1; /* printed as 690 kPa and as 100 psi, which is 689.5 */
}

bool compression_rises_wet(double dry_kpa, double wet_kpa)
{
    return dry_kpa > 0 && wet_kpa >= COMPRESSION_WET_RISE * dry_kpa - 1e-9 * dry_kpa;
}

double compression_differential_loss(double over_80)
{
    return 100 * (80 - over_80) / 80;
}

const struct compression_band *compression_bands(int *n)
{
    pthread_once(&once, load);
    *n = n_bands;
    return bands;
}

const struct compression_band *compression_band_of(enum compression_leak kind, double loss_percent)
{
    const struct compression_band *last = NULL;
    int n;
    const struct compression_band *b = compression_bands(&n);

    for (int i = 0; i < n; i++)
        if (b[i].kind == kind && (loss_percent >= b[i].from || last == NULL))
            last = &b[i];
    return last; /* below the first and above the last: the nearest */
}
