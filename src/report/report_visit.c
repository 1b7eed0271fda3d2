/* report_visit.c - what is said of the visit as a whole: complaint, codes, tests, order, oil, weather. */
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "report/report_work.h"

static void add_row(struct text *t, const char *label, const char *value)
{
    if (value[0] == '\0')
        return;
    text_addf(t, "<dt>%s</dt><dd>", label);
    report_escape(t, value);
    text_add(t, "</dd>\n");
}

/* "no change at 6; idle drops at 1, 2" */
static void test_words(const struct record *r, int test, char *to, size_t n_room)
{
    const struct visit *v = record_current(r);
    struct text t = {0};
    int n_results;

    words_rows(WORDS_TEST_RESULT, &n_results);
    for (int result = 1; result <= n_results; result++) {
        engine_set at = 0;
        char where[160];

        for (int i = 0; i < v->n_tests; i++)
            if (v->tests[i].test == test && v->tests[i].result == result)
                at |= (engine_set)1 << v->tests[i].cylinder;
        if (at == 0)
            continue;
        engine_set_words(&r->engine, at, where, sizeof where);
        text_addf(&t, "%s%s: %s", t.n_bytes ? "; " : "", words_label(WORDS_TEST_RESULT, result), where);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static void outside_words(const struct record *r, char *to, size_t n_room)
{
    const struct visit *v = record_current(r);
    struct text t = {0};

    for (int i = 0; i < v->n_outside; i++)
        text_addf(&t, "%sbank %s: %s", i ? ", " : "", r->engine.banks[v->outside[i].bank].name, amount_words(v->outside[i].amount));
    text_copy(to, n_room, v->outside_seen && v->n_outside == 0 ? "looked: nothing" : text_get(&t));
    text_release(&t);
}

void report_add_visit(struct text *t, const struct record *r)
{
    static const char *const tests[] = {"Cut out one by one", "Sprayed damp", "In the dark"};
    const struct visit *v = record_current(r);
    const struct visit_care *c = &v->care;
    char words[1200] = "";
    struct text rows = {0};

    for (int i = 0; i < v->n_complaints; i++)
        text_format(words + strlen(words), sizeof words - strlen(words), "%s%s", i ? ", " : "", words_label(WORDS_COMPLAINT, v->complaints[i]));
    add_row(&rows, "Complaint", words);
    words[0] = '\0';
    for (int i = 0; i < v->n_codes; i++)
        text_format(words + strlen(words), sizeof words - strlen(words), "%s%s", i ? ", " : "", v->codes[i]);
    add_row(&rows, "Trouble codes", words);
    add_row(&rows, "How it last ran", words_label(WORDS_LAST_RUN, v->last_run));
    for (int i = 1; i <= 3; i++) {
        test_words(r, i, words, sizeof words);
        add_row(&rows, tests[i - 1], words);
    }
    visit_format_removal(&r->engine, v, words, sizeof words);
    if (v->socket > 0 && words[0] != '\0')
        text_format(words + strlen(words), sizeof words - strlen(words), " (%s)", words_label(WORDS_SOCKET, v->socket));
    add_row(&rows, "Order drawn", words);
    outside_words(r, words, sizeof words);
    add_row(&rows, "Oil along the covers", words);
    add_row(&rows, "Oil in the intake", v->oil_in_intake == 1 ? "yes" : v->oil_in_intake == 2 ? "no" : "");
    add_row(&rows, "Fuel", words_label(WORDS_FUEL, v->fuel));
    add_row(&rows, "Oil level", c->oil_level);
    add_row(&rows, "Oil use", c->oil_use);
    visit_format_oil_change(c, words, sizeof words);
    if (c->oil_grade[0] != '\0')
        text_format(words + strlen(words), sizeof words - strlen(words), "%s%s", words[0] ? " of " : "", c->oil_grade);
    add_row(&rows, "Oil changed", words);
    add_row(&rows, "Oil filter", c->oil_filter);
    add_row(&rows, "Weather", c->weather);
    if (c->last_day[0] != '\0')
        clock_date_words(c->last_day, words, sizeof words);
    add_row(&rows, "Until", c->last_day[0] != '\0' ? words : "");
    if (rows.n_bytes > 0) {
        text_add(t, "<dl>\n");
        text_add(t, text_get(&rows));
        text_add(t, "</dl>\n");
    }
    text_release(&rows);
}
