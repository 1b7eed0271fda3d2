/* compression.h - published rules for a compression test, and what the readings of one visit say by the
 * rule that was chosen. Makers differ, so the rule is named beside the verdict. */
#ifndef READING_COMPRESSION_H
#define READING_COMPRESSION_H

#include <stdbool.h>
#include <stddef.h>

struct csv;
struct err;

enum compression_quantity {
    COMPRESSION_OF_HIGHEST, /* each at least this share of the highest */
    COMPRESSION_OF_MEAN,    /* each at least this share of the mean of all */
    COMPRESSION_SPREAD,     /* highest minus lowest at most so many kPa */
    COMPRESSION_QUANTITY_COUNT
};
struct compression_rule {
    char id[24];            /* "ratio-75" */
    enum compression_quantity quantity;
    double value;           /* a share, or kPa */
    double floor_kpa;       /* and each at least this; 0 none */
    double printed_kpa;     /* unit in which its limits are printed, in kPa: they are rounded to whole ones */
    char words[120];        /* "lowest at least 75 % of the highest" */
    char source[200];
};
#define COMPRESSION_RULES_MAX 24
#define COMPRESSION_RULE_DEFAULT "ratio-75"
/* The rules of assets/compression-rules.csv, checked at first use; any thread. */
const struct compression_rule *compression_rules(int *n);
/* The one that asks for the least figure of each cylinder; NULL when none does. */
const struct compression_rule *compression_rule_of_least_floor(void);
/* "" gives the default; NULL when there is none of that name. */
const struct compression_rule *compression_rule_find(const char *id);
/* "ratio-75, ratio-70, …" for messages. */
void compression_rule_list(char *to, size_t n_room);
bool compression_rules_parse(const struct csv *c, struct compression_rule *rows, int *n, struct err *e);

/* The least a cylinder may read among these, kPa, before any rounding is forgiven. */
double compression_limit_kpa(const struct compression_rule *rule, const double *kpa, int n);
/* Whether a reading passes. Printed limits are rounded to whole units and so are both readings: half a
 * unit of the limit, half a kPa of the reading and the rule's share of half a kPa of the highest are
 * forgiven. A strict 0.75 would fail 13 pairs of a chart its maker printed. */
bool compression_passes(const struct compression_rule *rule, const double *kpa, int n, double reading_kpa);

/* Oil in the cylinder raises the reading by a tenth or more: rings or bore (Ford Probe 1997). */
#define COMPRESSION_WET_RISE 1.10
bool compression_rises_wet(double dry_kpa, double wet_kpa);

/* Leak-down and differential in bands of assets/leak-bands.csv. */
enum compression_leak { COMPRESSION_LEAK_PERCENT, COMPRESSION_DIFFERENTIAL };
struct compression_band {
    enum compression_leak kind;
    double from, below;     /* loss in percent: from <= loss < below */
    int level;              /* enum level */
    char words[240], source[200];
};
/* The band of a loss; for a differential reading over 80 psi the loss is (80 - reading) / 80. */
const struct compression_band *compression_band_of(enum compression_leak kind, double loss_percent);
double compression_differential_loss(double over_80);
const struct compression_band *compression_bands(int *n);

#endif
