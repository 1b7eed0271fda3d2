/* A table of any bytes: refused with a sentence by each reader of tables, or read. What is read as CSV is
 * written and read again alike. The built-in tables are the corpus. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "reading/cause_table.h"
#include "reading/compression.h"
#include "reading/threshold.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

static void check(int holds)
{
    if (!holds)
        abort();
}

static void written_and_read_again(const struct csv *c)
{
    struct text t = {0};
    struct csv again;
    struct err e = {0};

    for (size_t i = 0; i < c->n_rows; i++) {
        if (c->n_cells[i] == 1 && c->cells[i][0][0] == '\0') {
            text_release(&t);
            return; /* one empty cell is written as an empty line, which is no row */
        }
        for (size_t k = 0; k < c->n_cells[i]; k++)
            csv_add_cell(&t, c->cells[i][k], false, k == 0);
        csv_end_row(&t);
    }
    if (strncmp(text_get(&t), "\xEF\xBB\xBF", 3) == 0) {
        text_release(&t);
        return; /* a second mark of the byte order is text, until it stands first */
    }
    check(csv_parse(text_get(&t), t.n_bytes, ',', &again, &e));
    check(again.n_rows == c->n_rows);
    for (size_t i = 0; i < c->n_rows; i++) {
        check(again.n_cells[i] == c->n_cells[i]);
        for (size_t k = 0; k < c->n_cells[i]; k++)
            check(strcmp(again.cells[i][k], c->cells[i][k]) == 0);
    }
    csv_release(&again);
    text_release(&t);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    struct csv c;
    struct err e = {0};
    struct cause_table *causes = NULL;

    if (csv_parse((const char *)data, n_bytes, ',', &c, &e)) {
        struct threshold thresholds[THRESHOLD_MAX];
        struct compression_rule rules[COMPRESSION_RULES_MAX];
        int n;

        written_and_read_again(&c);
        e.text[0] = '\0';
        check(threshold_parse(&c, thresholds, &n, &e) ? n >= 0 && n <= THRESHOLD_MAX : e.text[0] != '\0');
        e.text[0] = '\0';
        check(compression_rules_parse(&c, rules, &n, &e) ? n >= 0 && n <= COMPRESSION_RULES_MAX : e.text[0] != '\0');
        csv_release(&c);
    } else {
        check(e.text[0] != '\0');
    }
    e.text[0] = '\0';
    if (cause_table_parse((const char *)data, n_bytes, &causes, &e)) {
        check(causes != NULL && causes->n_causes >= 0);
        for (int i = 0; i < causes->n_causes; i++)
            check(causes->causes[i].first_term >= 0 && causes->causes[i].first_term + causes->causes[i].n_terms <= causes->n_terms);
        cause_table_destroy(causes);
    } else {
        check(e.text[0] != '\0' && causes == NULL);
    }
    return 0;
}
