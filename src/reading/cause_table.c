#include "reading/cause_table.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "reading/codes.h"
#include "record/vocab.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))
#define LIMIT_DB 60.0 /* one in a million either way: a larger weight is a slip of the pen */

static const char *const scopes[] = {"cylinder", "bank", "pair", "coil-group", "mixture-group", "firing-pair", "engine"};
static const char *const overs[] = {"here", "each", "any", "most", "second", "others", "mates", "banks", "every", "several", "all-banks", "near"};

_Static_assert(COUNT(scopes) == SCOPE_COUNT, "a word for each scope");
_Static_assert(COUNT(overs) == OVER_COUNT, "a word for each");

/* ---- facts ---- */

/* Facts whose whole text is one word: no argument. */
static const struct {
    const char *text;
    enum fact_kind kind;
    int which;
} plain[] = {
    {"compression=low", FACT_NUMBER, NUMBER_COMPRESSION_LOW},
    {"wet-rise=yes", FACT_NUMBER, NUMBER_WET_RISE},
    {"leak=high", FACT_NUMBER, NUMBER_LEAK_HIGH},
    {"gap=wide", FACT_NUMBER, NUMBER_GAP_WIDE},
    {"gap=over", FACT_NUMBER, NUMBER_GAP_OVER},
    {"gap=small", FACT_NUMBER, NUMBER_GAP_SMALL},
    {"nose=dark", FACT_NUMBER, NUMBER_NOSE_DARK},
    {"nose=light", FACT_NUMBER, NUMBER_NOSE_LIGHT},
    {"distance=long", FACT_NUMBER, NUMBER_DISTANCE_LONG},
    {"ignition=coil-per-plug", FACT_ENGINE, IS_COIL_PER_PLUG},
    {"ignition=shared-coil", FACT_ENGINE, IS_SHARED_COIL},
    {"ignition=leads", FACT_ENGINE, IS_LEADS},
    {"access=open", FACT_ENGINE, IS_OPEN},
    {"heat=hot", FACT_ENGINE, IS_HOT_PLUG},
    {"heat=cold", FACT_ENGINE, IS_COLD_PLUG},
    {"heat=book", FACT_ENGINE, IS_BOOK_PLUG},
    {"cylinders=one", FACT_ENGINE, IS_SINGLE},
    {"mixture-groups=given", FACT_ENGINE, IS_CARBURETTOR},
    {"strokes=2", FACT_ENGINE, IS_TWO_STROKE},
    {"ignition=distributor", FACT_ENGINE, IS_TIMED},
    {"cooled=air", FACT_ENGINE, IS_AIR_COOLED},
    {"carburettor=worked-on", FACT_ENGINE, IS_CARBURETTOR_WORK},
    {"injectors=none", FACT_ENGINE, IS_WITHOUT_INJECTORS},
    {"carburettor=none", FACT_ENGINE, IS_INJECTED},
    {"plugs=one", FACT_ENGINE, IS_ONE_PLUG},
    {"wear=alternates", FACT_SHAPE, SHAPED_ALTERNATE},
    {"deposits=graded", FACT_SHAPE, SHAPED_GRADED},
    {"deposits=as-before", FACT_SHAPE, SHAPED_AS_BEFORE},
    {"oil=carried-over", FACT_SHAPE, SHAPED_CARRIED},
    {"oil=ran-down", FACT_SHAPE, SHAPED_RAN_DOWN},
    {"place=bottom", FACT_SHAPE, SHAPED_BOTTOM},
    {"cut-out=elsewhere", FACT_SHAPE, SHAPED_DEAD_ELSEWHERE},
    {"code=elsewhere", FACT_SHAPE, SHAPED_CODE_ELSEWHERE},
    {"repair=in-vain", FACT_SHAPE, SHAPED_IN_VAIN},
    {"oil=drained", FACT_SHAPE, SHAPED_DRAINED},
    {"intake=oil", FACT_VISIT, VISIT_OIL_IN_INTAKE},
    {"outside=oil", FACT_VISIT, VISIT_OUTSIDE},
};

/* Facts with words of a list behind the "=". */
static const struct {
    const char *name;
    enum fact_kind kind;
    int which;
    enum words list;
} worded[] = {
    {"complaint", FACT_COMPLAINT, 0, WORDS_COMPLAINT},
    {"electrode", FACT_WORD, 0, WORDS_ELECTRODE},
    {"wear_on", FACT_WORD, 0, WORDS_WEAR_ON},
    {"insulator", FACT_WORD, 0, WORDS_INSULATOR},
    {"heavier_side", FACT_WORD, 0, WORDS_SIDE},
    {"tightness", FACT_WORD, 0, WORDS_TIGHTNESS},
    {"turns", FACT_WORD, 0, WORDS_TURNS},
    {"leak_heard", FACT_WORD, 0, WORDS_LEAK_HEARD},
    {"last_run", FACT_VISIT, VISIT_LAST_RUN, WORDS_LAST_RUN},
    {"fuel", FACT_VISIT, VISIT_FUEL, WORDS_FUEL},
    {"socket", FACT_VISIT, VISIT_SOCKET, WORDS_SOCKET},
    {"swap", FACT_SWAP, 0, WORDS_DONE_PART},
};

/* "knock,run-on" as a mask of values. */
static bool parse_words(enum words list, const char *text, uint64_t *mask, struct err *e)
{
    char copy[400], *rest = copy, *word;

    text_copy(copy, sizeof copy, text);
    while ((word = strtok_r(rest, ",", &rest)) != NULL) {
        int v = words_find(list, word);

        if (v <= 0) {
            char all[400];

            words_list(list, all, sizeof all);
            return err_set(e, ERR_FORMAT, "“%s” is no word there; there are %s", TEXT_SHORT(word, 40), all);
        }
        *mask |= UINT64_C(1) << v;
    }
    return *mask != 0 || err_set(e, ERR_FORMAT, "no word behind “=”");
}

/* "well.oil", "firing_end.pale,blistered", "before:well.oil" without its beginning. */
static bool parse_signs(const char *text, uint64_t *mask, struct err *e)
{
    char copy[400], *dot, *rest, *word;
    int z;

    text_copy(copy, sizeof copy, text);
    dot = strchr(copy, '.');
    if (dot == NULL)
        return err_set(e, ERR_FORMAT, "“%s” is no fact", TEXT_SHORT(text, 60));
    *dot = '\0';
    z = zone_find(copy);
    if (z < 0)
        return err_set(e, ERR_FORMAT, "“%s” is no zone of the plug", TEXT_SHORT(copy, 40));
    rest = dot + 1;
    while ((word = strtok_r(rest, ",", &rest)) != NULL) {
        int s = sign_find((enum zone)z, word);

        if (s < 0)
            return err_set(e, ERR_FORMAT, "“%s” is no sign of %s", TEXT_SHORT(word, 40), copy);
        *mask |= UINT64_C(1) << s;
    }
    return *mask != 0 || err_set(e, ERR_FORMAT, "no sign behind “%s.”", TEXT_SHORT(copy, 40));
}

/* "replaced:coil,boot" or "any:injector". */
static bool parse_done(const char *text, struct fact_atom *a, struct err *e)
{
    char verb[32];
    const char *colon = strchr(text, ':');

    text_copy(verb, sizeof verb, text);
    if (strchr(verb, ':') != NULL)
        *strchr(verb, ':') = '\0';
    a->list = strcmp(verb, "any") == 0 ? 0 : words_find(WORDS_DONE_VERB, verb);
    if (colon == NULL || a->list < 0)
        return err_set(e, ERR_FORMAT, "“%s” is no work done, like replaced:coil", TEXT_SHORT(text, 40));
    return parse_words(WORDS_DONE_PART, colon + 1, &a->mask, e);
}

static bool parse_atom(const char *text, struct fact_atom *a, struct err *e)
{
    for (size_t i = 0; i < COUNT(plain); i++)
        if (strcmp(plain[i].text, text) == 0) {
            a->kind = plain[i].kind;
            a->which = plain[i].which;
            return true;
        }
    if (text_starts(text, "code=")) {
        int kind = code_kind_find(text + 5);

        a->kind = FACT_CODE;
        a->which = kind;
        return kind > 0 || err_set(e, ERR_FORMAT, "“%s” is no kind of trouble code", TEXT_SHORT(text + 5, 40));
    }
    if (text_starts(text, "done=")) {
        a->kind = FACT_DONE;
        return parse_done(text + 5, a, e);
    }
    if (text_starts(text, "apart:") || text_starts(text, "row:")) {
        a->kind = FACT_APART;
        a->which = text[0] == 'r' ? APART_ROW : APART_PLUG;
        return parse_signs(strchr(text, ':') + 1, &a->mask, e);
    }
    if (text_starts(text, "before:")) {
        a->kind = FACT_BEFORE;
        return parse_signs(text + 7, &a->mask, e);
    }
    if (text_starts(text, "dries=") || text_starts(text, "as_book=")) {
        bool yes = text_ends(text, "=yes");

        a->kind = FACT_WORD;
        a->list = -1;
        a->which = text[0] == 'd' ? 0 : 1;
        a->mask = yes ? 2 : 4;
        return yes || text_ends(text, "=no") || err_set(e, ERR_FORMAT, "“%s”: yes or no", TEXT_SHORT(text, 40));
    }
    {
        char test[40];
        size_t n = strcspn(text, "=");

        if (n < sizeof test && text[n] == '=' && text_format(test, sizeof test, "%.*s", (int)n, text) && words_find(WORDS_TEST, test) > 0) {
            a->kind = FACT_TEST;
            a->which = words_find(WORDS_TEST, test);
            a->list = WORDS_TEST_RESULT;
            return parse_words(WORDS_TEST_RESULT, text + n + 1, &a->mask, e);
        }
    }
    for (size_t i = 0; i < COUNT(worded); i++) {
        size_t n = strlen(worded[i].name);

        if (text_starts(text, worded[i].name) && text[n] == '=') {
            a->kind = worded[i].kind;
            a->which = worded[i].which;
            a->list = (int)worded[i].list;
            return parse_words(worded[i].list, text + n + 1, &a->mask, e);
        }
    }
    a->kind = FACT_SIGN;
    return parse_signs(text, &a->mask, e);
}

/* Atoms with " | " between; signs of several zones become one atom. */
static bool parse_fact(const char *text, struct fact *f, struct err *e)
{
    char copy[400], *at = copy;

    if (!text_copy(copy, sizeof copy, text))
        return err_set(e, ERR_FORMAT, "the fact is too long");
    while (at != NULL) {
        char *bar = strstr(at, " | ");
        struct fact_atom a = {0};

        if (bar != NULL)
            *bar = '\0';
        if (!parse_atom(at, &a, e))
            return false;
        if (a.kind == FACT_SIGN && f->n > 0 && f->atoms[0].kind == FACT_SIGN) {
            f->atoms[0].mask |= a.mask;
        } else {
            if (f->n == FACT_MAX_ATOMS)
                return err_set(e, ERR_FORMAT, "more than %d facts in one row", FACT_MAX_ATOMS);
            f->atoms[f->n++] = a;
        }
        at = bar != NULL ? bar + 3 : NULL;
    }
    return true;
}

/* ---- rows ---- */

static bool parse_number(const char *text, const char *column, double *v, struct err *e)
{
    if (text[0] == '\0') {
        *v = 0;
        return true;
    }
    if (!text_to_double(text, v) || !(*v >= -LIMIT_DB && *v <= LIMIT_DB))
        return err_set(e, ERR_FORMAT, "column %s: “%s” is no number of decibans from -%.0f to %.0f", column, TEXT_SHORT(text, 30), LIMIT_DB, LIMIT_DB);
    return true;
}

static int word_index(const char *const *words, int n, const char *word)
{
    for (int i = 0; i < n; i++)
        if (strcmp(words[i], word) == 0)
            return i;
    return -1;
}

static bool parse_cause(const struct csv *c, size_t row, struct cause_table *t, struct err *e)
{
    struct cause_row *r = &t->causes[t->n_causes];
    const char *id = csv_named(c, row, "cause"), *kind = csv_named(c, row, "when");
    int scope = word_index(scopes, SCOPE_COUNT, csv_named(c, row, "of"));

    if (id[0] == '\0' || !text_copy(r->id, sizeof r->id, id))
        return err_set(e, ERR_FORMAT, "the cause has no id, or one of more than 31 letters");
    if (cause_table_find(t, id) >= 0)
        return err_set(e, ERR_FORMAT, "the cause “%s” comes twice", id);
    if (scope < 0)
        return err_set(e, ERR_FORMAT, "column of: “%s” is no scope; there are cylinder, bank, pair, coil-group, mixture-group, firing-pair, engine", TEXT_SHORT(csv_named(c, row, "of"), 30));
    r->ordinary = strcmp(kind, "ordinary") == 0;
    if (!r->ordinary && strcmp(kind, "fault") != 0)
        return err_set(e, ERR_FORMAT, "column when: a cause is a fault or ordinary, not “%s”", TEXT_SHORT(kind, 30));
    if (csv_named(c, row, "yes")[0] == '\0')
        return err_set(e, ERR_FORMAT, "column yes: the cause has no prior");
    text_copy(r->label, sizeof r->label, csv_named(c, row, "fact"));
    text_copy(r->settles, sizeof r->settles, csv_named(c, row, "story"));
    text_copy(r->source, sizeof r->source, csv_named(c, row, "source"));
    r->scope = (enum cause_scope)scope;
    r->first_term = t->n_terms;
    r->line = c->line[row];
    if (!parse_number(csv_named(c, row, "yes"), "yes", &r->prior_db, e) || !parse_number(csv_named(c, row, "no"), "no", &r->more_db, e))
        return false;
    t->n_causes++;
    return true;
}

static int story_index(struct cause_table *t, const char *name)
{
    for (int i = 0; i < t->n_stories; i++)
        if (strcmp(t->stories[i], name) == 0)
            return i;
    if (t->n_stories == CAUSE_MAX_STORIES || !text_copy(t->stories[t->n_stories], sizeof t->stories[0], name))
        return -1;
    return t->n_stories++;
}

static bool parse_term(const struct csv *c, size_t row, struct cause_table *t, struct err *e)
{
    struct cause_term *m = &t->terms[t->n_terms];
    const char *words = csv_named(c, row, "words"), *bar = strchr(words, '|'), *story = csv_named(c, row, "story");
    int over = word_index(overs, OVER_COUNT, csv_named(c, row, "of"));

    if (t->n_causes == 0 || strcmp(t->causes[t->n_causes - 1].id, csv_named(c, row, "cause")) != 0)
        return err_set(e, ERR_FORMAT, "the term stands behind no cause row of “%s”", TEXT_SHORT(csv_named(c, row, "cause"), 31));
    if (!parse_fact(csv_named(c, row, "fact"), &m->fact, e))
        return err_wrap(e, "column fact");
    if (csv_named(c, row, "when")[0] != '\0' && !parse_fact(csv_named(c, row, "when"), &m->when, e))
        return err_wrap(e, "column when");
    if (over < 0)
        return err_set(e, ERR_FORMAT, "column of: “%s” is none of here, each, any, most, second, others, mates, banks, every, several, all-banks, near", TEXT_SHORT(csv_named(c, row, "of"), 30));
    m->over = (enum cause_over)over;
    if (!parse_number(csv_named(c, row, "yes"), "yes", &m->yes_db, e) || !parse_number(csv_named(c, row, "no"), "no", &m->no_db, e))
        return false;
    m->story = story[0] != '\0' ? story_index(t, story) : -1;
    if (m->story < 0)
        return err_set(e, ERR_FORMAT, "column story: no name, one of more than 23 letters, or more than %d of them", CAUSE_MAX_STORIES);
    text_copy(m->source, sizeof m->source, csv_named(c, row, "source"));
    if (m->source[0] == '\0')
        return err_set(e, ERR_FORMAT, "column source: name one, or write “judgement”");
    if (bar != NULL) {
        text_format(m->words_yes, sizeof m->words_yes, "%.*s", (int)(bar - words), words);
        text_copy(m->words_no, sizeof m->words_no, bar + 1);
    } else {
        text_copy(m->words_yes, sizeof m->words_yes, words);
    }
    m->line = c->line[row];
    t->n_terms++;
    t->causes[t->n_causes - 1].n_terms++;
    return true;
}

bool cause_table_parse(const char *data, size_t n_bytes, struct cause_table **out, struct err *e)
{
    static const char *const columns[] = {"row", "cause", "fact", "of", "when", "yes", "no", "story", "words", "source"};
    struct csv c = {0};
    struct cause_table *t;
    bool fine = true;

    *out = NULL;
    if (!text_is_utf8(data, n_bytes))
        return err_set(e, ERR_FORMAT, "The table is no UTF-8 text: save it as UTF-8.");
    if (!csv_parse(data, n_bytes, ',', &c, e))
        return false;
    t = mem_alloc(1, sizeof *t);
    t->causes = mem_alloc(c.n_rows + 1, sizeof *t->causes);
    t->terms = mem_alloc(c.n_rows + 1, sizeof *t->terms);
    for (size_t i = 0; i < COUNT(columns) && fine; i++)
        fine = csv_column(&c, columns[i]) >= 0 || err_set(e, ERR_FORMAT, "Line 1: there is no column “%s”.", columns[i]);
    for (size_t row = 1; row < c.n_rows && fine; row++) {
        const char *kind = csv_named(&c, row, "row");

        if (strcmp(kind, "cause") == 0)
            fine = parse_cause(&c, row, t, e);
        else if (strcmp(kind, "term") == 0)
            fine = parse_term(&c, row, t, e);
        else
            fine = err_set(e, ERR_FORMAT, "a row is a cause or a term, not “%s”", TEXT_SHORT(kind, 30));
        if (!fine)
            err_wrap(e, "Line %zu", c.line[row]);
    }
    if (fine && t->n_causes == 0)
        fine = err_set(e, ERR_FORMAT, "The table holds no cause.");
    csv_release(&c);
    if (!fine) {
        cause_table_destroy(t);
        return false;
    }
    *out = t;
    return true;
}

void cause_table_destroy(struct cause_table *t)
{
    if (t == NULL)
        return;
    free(t->causes);
    free(t->terms);
    free(t);
}

static struct cause_table *builtin;
static pthread_once_t once = PTHREAD_ONCE_INIT;

static void load(void)
{
    struct asset a;
    struct err e = {0};

    if (!asset_find("causes.csv", &a) || !cause_table_parse((const char *)a.data, a.n_bytes, &builtin, &e)) {
        fprintf(stderr, "sootbook: causes.csv: %s\n", e.text);
        abort();
    }
}

const struct cause_table *cause_table_builtin(void)
{
    pthread_once(&once, load);
    return builtin;
}

int cause_table_find(const struct cause_table *t, const char *id)
{
    for (int i = 0; i < t->n_causes; i++)
        if (strcmp(t->causes[i].id, id) == 0)
            return i;
    return -1;
}
