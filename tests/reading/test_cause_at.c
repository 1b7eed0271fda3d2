/* Every cause at every kind of place it may have, as people read it: printed, to be read, and held to what never reads well. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <ctype.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/cause_at.h"
#include "reading/cause_table.h"
#include "reading/findings.h"
#include "reading/job.h"

static struct engine make(const char *banks, const char *firing)
{
    struct engine en;
    struct err e = {0};

    engine_init(&en);
    if (strchr(banks, '/') != NULL)
        en.layout = ENGINE_V;
    if (!engine_parse_banks(&en, banks, &e) || !engine_parse_firing(&en, firing, &e) || !engine_finish(&en, &e))
        fail_msg("%s", e.text);
    return en;
}

/* Places of findings, with the scopes that have them (case format: `where`). */
#define S(scope) (1u << (scope))
#define OF_CYLINDERS S(SCOPE_CYLINDER)
static const struct {
    const char *banks, *firing, *place;
    unsigned scopes;
} places[] = {
    {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "cylinder 3", OF_CYLINDERS},
    {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "cylinders 3, 5", OF_CYLINDERS | S(SCOPE_PAIR) | S(SCOPE_FIRING_PAIR)},
    {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "bank 2", S(SCOPE_CYLINDER) | S(SCOPE_BANK)},
    {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "engine", S(SCOPE_CYLINDER) | S(SCOPE_ENGINE)},
    {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "group 1, 6", S(SCOPE_COIL_GROUP) | S(SCOPE_MIXTURE_GROUP)},
    {"1 2 3 4", "1 3 4 2", "bank 1", S(SCOPE_BANK)},
    {"1 2 3 4", "1 3 4 2", "group 1", S(SCOPE_MIXTURE_GROUP)},
    {"1 2", "1 2", "engine", OF_CYLINDERS | S(SCOPE_PAIR) | S(SCOPE_ENGINE)},
    {"1", "1", "cylinder 1", OF_CYLINDERS},
    {"1", "1", "engine", S(SCOPE_ENGINE)},
};

/* A word of four letters and more that comes twice ("cylinder, cylinders"), a plural taken as its singular. */
static bool repeats(const char *said)
{
    char words[24][24] = {{0}};
    int n = 0;

    for (const char *s = said; *s != '\0';) {
        size_t k = 0;

        while (*s != '\0' && !isalpha((unsigned char)*s))
            s++;
        for (; isalpha((unsigned char)*s); s++)
            if (k + 1 < sizeof words[0])
                words[n][k++] = (char)tolower((unsigned char)*s);
        if (k > 0 && words[n][k - 1] == 's')
            k--;
        words[n][k] = '\0';
        if (k < 4)
            continue;
        for (int i = 0; i < n; i++)
            if (strcmp(words[i], words[n]) == 0)
                return true;
        n += n < 22;
    }
    return false;
}

static void each_cause_reads_well_at_each_place(void **state)
{
    const struct cause_table *t = cause_table_builtin();
    int n_said = 0;

    (void)state;
    for (int c = 0; c < t->n_causes; c++)
        for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
            struct engine en = make(places[i].banks, places[i].firing);
            char said[CAUSE_AT_BYTES], label[CAUSE_AT_BYTES];
            int n_commas = 0;

            if ((places[i].scopes & S(t->causes[c].scope)) == 0)
                continue;
            cause_at_words(&en, t->causes[c].id, places[i].place, said);
            print_message("%-16s %-15s %d cyl.  %s\n", t->causes[c].id, places[i].place, en.n_cylinders, said);
            n_said++;
            text_copy(label, sizeof label, t->causes[c].label);
            job_words_of_engine(&en, label, sizeof label);
            assert_true(text_starts(said, label));
            if (repeats(said))
                fail_msg("“%s” says a word twice", said);
            if (text_ends(said, ", engine") || strstr(said, "group") != NULL)
                fail_msg("“%s” names the place as a file does", said);
            for (const char *s = said; (s = strstr(s, ", ")) != NULL && !isdigit((unsigned char)s[2]); s += 2)
                n_commas++;
            if (n_commas > 1 && t->causes[c].scope != SCOPE_ENGINE && strstr(t->causes[c].label, " or ") == NULL)
                fail_msg("“%s”: where the cause ends and the place begins cannot be told", said);
            if (strstr(said, "one runner") != NULL || strstr(said, "of a group") != NULL)
                fail_msg("“%s” names a place within the cause", said);
        }
    assert_true(n_said > t->n_causes);
}

static void places_that_go_without_saying_are_left_out(void **state)
{
    static const struct {
        const char *banks, *firing, *cause, *place, *said;
    } rows[] = {
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "air-one", "cylinder 3", "Intake leak at the runner, cylinder 3"},
        {"1 2", "1 2", "air-one", "engine", "Intake leak at the runner, both cylinders"},
        {"1 2", "1 2", "hg-between", "engine", "Head gasket leaking across, both cylinders"},
        {"1 2 3 4", "1 3 4 2", "coil-pair", "group 1, 4", "Failed shared coil, cylinders 1, 4"},
        {"1 2 3 4", "1 3 4 2", "carb-group", "group 1", "Carburettor or throttle rich or lean, cylinder 1"},
        {"1 2 3 4", "1 3 4 2", "cover-gasket", "bank 1", "Valve-cover gasket"},
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", "cover-gasket", "bank 2", "Valve-cover gasket, bank 2"},
        {"1 2 3 4", "1 3 4 2", "tube-seal", "engine", "Plug-tube seal leaking, all cylinders"},
        {"1 2 3 4", "1 3 4 2", "rich-all", "engine", "Rich mixture on all cylinders"},
        {"1", "1", "valve", "cylinder 1", "Leaking or burnt valve"},
        {"1 2 3 4", "1 3 4 2", "one-of-my-own", "cylinder 2", "one-of-my-own, cylinder 2"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct engine en = make(rows[i].banks, rows[i].firing);
        char said[CAUSE_AT_BYTES];

        cause_at_words(&en, rows[i].cause, rows[i].place, said);
        assert_string_equal(said, rows[i].said);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_cause_reads_well_at_each_place),
        cmocka_unit_test(places_that_go_without_saying_are_left_out),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
