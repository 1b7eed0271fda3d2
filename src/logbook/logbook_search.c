/* logbook_search.c - asks the index of words, which each change keeps up to date (logbook_care.c). */
#include "logbook/logbook_db.h"

#include <string.h>

#include "base/mem.h"

/* What a person types as a query of FTS5: each word in quotes, so that signs mean nothing, all of them
 * wanted, the last one as a beginning. */
static void make_query(const char *words, struct text *query)
{
    static const char blanks[] = " \t\n";

    for (words += strspn(words, blanks); *words != '\0'; words += strspn(words, blanks)) {
        size_t n = strcspn(words, blanks);

        text_add(query, query->n_bytes > 0 ? " \"" : "\"");
        for (size_t i = 0; i < n; i++) {
            if (words[i] == '"')
                text_add_char(query, '"');
            text_add_char(query, words[i]);
        }
        text_add_char(query, '"');
        words += n;
    }
    if (query->n_bytes > 0)
        text_add_char(query, '*');
}

/* Around each word that was found, in what the index gives; text that is noted holds no such signs. */
#define FOUND_FROM '\x02'
#define FOUND_TO '\x03'

/* A figure in braces, found or not, is told in the units that are set; one of which only a part was cut out loses its brace. */
static void tell_figures(const struct unit_choice *units, char *text, size_t n_room)
{
    struct text t = {0};

    for (const char *s = text; *s != '\0';) {
        const char *end = *s == '{' ? strchr(s, '}') : NULL;
        char figure[48] = "", told[48];
        size_t n = 0;
        bool found = false;

        for (const char *c = s; end != NULL && c <= end && n + 1 < sizeof figure; c++) {
            found = found || *c == FOUND_FROM;
            if (*c != FOUND_FROM && *c != FOUND_TO)
                figure[n++] = *c;
        }
        unit_tell_words(units, figure, told, sizeof told);
        if (end != NULL && strcmp(figure, told) != 0) {
            if (found)
                text_add_char(&t, FOUND_FROM);
            text_add(&t, told);
            if (found)
                text_add_char(&t, FOUND_TO);
            s = end + 1;
        } else if (*s == '{' || *s == '}') {
            s++;
        } else {
            text_add_char(&t, *s++);
        }
    }
    text_copy(text, n_room, text_get(&t));
    text_release(&t);
}

static void cut_places(struct logbook_hit *h)
{
    size_t n = 0;

    for (const char *s = h->text; *s != '\0'; s++) {
        if (*s == FOUND_FROM && h->n_places < (int)(sizeof h->places / sizeof h->places[0]))
            h->places[h->n_places++] = (struct logbook_place){(uint16_t)n, (uint16_t)n};
        else if (*s == FOUND_TO && h->n_places > 0)
            h->places[h->n_places - 1].to = (uint16_t)n;
        else if (*s != FOUND_FROM && *s != FOUND_TO)
            h->text[n++] = *s;
    }
    h->text[n] = '\0';
    if (h->n_places > 0 && h->places[h->n_places - 1].to <= h->places[h->n_places - 1].from) /* its end was cut off */
        h->places[h->n_places - 1].to = (uint16_t)n;
}

static void read_hit(const struct unit_choice *units, sqlite3_stmt *q, struct logbook_hit *h)
{
    logbook_db_text(q, 0, h->table, sizeof h->table);
    logbook_db_text(q, 1, h->row, sizeof h->row);
    logbook_db_text(q, 2, h->engine, sizeof h->engine);
    logbook_db_text(q, 3, h->visit, sizeof h->visit);
    logbook_db_text(q, 4, h->engine_name, sizeof h->engine_name);
    logbook_db_text(q, 5, h->date, sizeof h->date);
    logbook_db_text(q, 6, h->text, sizeof h->text);
    if (strcmp(h->table, "step") == 0)
        tell_figures(units, h->text, sizeof h->text);
    cut_places(h);
}

/* Of more matches than this the best are no better than the rest: a first letter stands in nearly all that was noted. They are not
 * ranked then, which takes longer than a person types: engines of that name come first, then what was noted last. */
#define MOST_RANKED 1000

/* Adds those that come first in this order, up to `most` in all, to a JSON list of places in the index. Looked at one by one: whether
 * an engine or a visit was taken out is asked only of what is shown, not of each of ten thousand that hold the word. */
static bool add_first(struct logbook *lb, const char *ordered, const char *query, int most, struct text *list, int *n, struct err *e)
{
    static const char there[] = "SELECT 1 FROM found f LEFT JOIN engine e ON e.id = coalesce(f.engine, f.row) LEFT JOIN visit v ON v.id = f.visit"
                                " WHERE f.id = ?1 AND e.gone = 0 AND coalesce(v.gone, 0) = 0";
    sqlite3_stmt *q = logbook_db_prepare(lb, ordered, e);
    bool fine = q != NULL, row;

    if (fine)
        logbook_db_bind(q, 1, query);
    while (fine && *n < most && logbook_db_next(lb, q, &fine, e)) {
        const int64_t id = sqlite3_column_int64(q, 0);
        sqlite3_stmt *t = logbook_db_prepare(lb, there, e);

        fine = t != NULL && sqlite3_bind_int64(t, 1, id) == SQLITE_OK && logbook_db_step(lb, t, &row, e);
        if (fine && row)
            text_addf(list, (*n)++ > 0 ? ",%lld" : "%lld", (long long)id);
        logbook_db_done(t);
    }
    logbook_db_done(q);
    return fine;
}

static bool count_matches(struct logbook *lb, const char *query, bool *many, struct err *e)
{
    static const char sql[] = "SELECT count(*) > ?2 FROM (SELECT 1 FROM words WHERE words MATCH ?1 LIMIT ?2 + 1)";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine = q != NULL, row;

    if (fine) {
        logbook_db_bind(q, 1, query);
        fine = sqlite3_bind_int(q, 2, MOST_RANKED) == SQLITE_OK && logbook_db_step(lb, q, &row, e);
        *many = fine && row && sqlite3_column_int(q, 0) != 0;
    }
    logbook_db_done(q);
    return fine;
}

/* Those that come first, at most `most`. */
static bool list_hits(struct logbook *lb, const char *query, int most, struct text *list, struct err *e)
{
#define ENGINES "(SELECT f.id FROM engine n JOIN found f ON f.row = n.id AND f.tbl = 'engine')"
    /* the plus keeps the index from being asked for each row by itself */
    static const char best[] = "SELECT rowid FROM words WHERE words MATCH ?1 ORDER BY rank, rowid DESC";
    static const char engines[] = "SELECT rowid FROM words WHERE words MATCH ?1 AND +rowid IN " ENGINES " ORDER BY rank, rowid DESC";
    static const char others[] = "SELECT rowid FROM words WHERE words MATCH ?1 AND +rowid NOT IN " ENGINES " ORDER BY rowid DESC";
    bool many, fine = count_matches(lb, query, &many, e);
    int n = 0;

    text_add(list, "[");
    if (fine && many)
        fine = add_first(lb, engines, query, most, list, &n, e) && add_first(lb, others, query, most, list, &n, e);
    else
        fine = fine && add_first(lb, best, query, most, list, &n, e);
    text_add(list, "]");
    return fine;
#undef ENGINES
}

bool logbook_search(struct logbook *lb, const char *words, int most, struct arena *a, struct logbook_hit **hits, size_t *n, struct err *e)
{
    /* What is shown of them in one more pass: cutting a piece out of every row that holds the word took half the time. */
    static const char sql[] = "SELECT f.tbl, f.row, coalesce(f.engine, f.row), f.visit, e.name, v.date, snippet(words, 0, char(2), char(3), '…', 12) FROM words w"
                              " JOIN found f ON f.id = w.rowid LEFT JOIN engine e ON e.id = coalesce(f.engine, f.row) LEFT JOIN visit v ON v.id = f.visit"
                              " WHERE w.words MATCH ?1 AND +w.rowid IN (SELECT value FROM json_each(?2)) ORDER BY (SELECT key FROM json_each(?2) WHERE value = w.rowid)";
    struct text query = {0}, list = {0};
    sqlite3_stmt *q = NULL;
    size_t n_room = 0;
    void *items = NULL;
    bool fine = true;

    *n = 0;
    make_query(words, &query);
    if (query.n_bytes > 0) {
        q = list_hits(lb, text_get(&query), most, &list, e) ? logbook_db_prepare(lb, sql, e) : NULL;
        fine = q != NULL;
    }
    if (q != NULL) {
        logbook_db_bind(q, 1, text_get(&query));
        logbook_db_bind(q, 2, text_get(&list));
        while (logbook_db_next(lb, q, &fine, e))
            read_hit(&lb->units, q, arena_push(a, &items, n, &n_room, sizeof(struct logbook_hit)));
    }
    if (!fine)
        *n = 0;
    *hits = items;
    text_release(&query);
    text_release(&list);
    return fine;
}
