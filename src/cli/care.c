/* care.c - sootbook verify, backup, merge: looking after a logbook. */
#include <stdio.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "cli/cli.h"
#include "logbook/logbook_copy.h"

int cli_verify(int argc, char **argv)
{
    const char *folder;
    int n;
    struct err e = {0};
    struct logbook *lb;
    struct logbook_report r;

    if (!cli_options(argc, argv, NULL, 0, &folder, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("verify", "name the logbook");
    lb = cli_open(folder);
    if (lb == NULL)
        return 1;
    if (!logbook_verify(lb, &r, &e)) {
        logbook_close(lb);
        return cli_failed(&e);
    }
    logbook_close(lb);
    printf("%d edits, %d photos: %d missing, %d damaged; %d files nobody names\n", r.n_edits, r.n_photos, r.n_missing, r.n_damaged, r.n_stray);
    if (r.sound) {
        puts("clean");
        return cli_printed();
    }
    fputs(r.text, stderr);
    return 1;
}

/* "1.10 mm, 14 Jun 2026, this copy (stands)" */
static void conflict_value(const struct logbook_conflict *c, int k)
{
    char words[300];

    logbook_conflict_words(c, k, words, sizeof words);
    printf("%s%s", k ? "; " : "", words);
}

static void print_conflicts(struct logbook *lb)
{
    struct arena *a = arena_create();
    struct logbook_conflict *list;
    struct err e = {0};
    size_t n;

    if (!logbook_list_conflicts(lb, a, &list, &n, &e))
        n = 0;
    for (size_t i = 0; i < n; i++) {
        const struct logbook_conflict *c = &list[i];

        printf("  %s%s%s, %s: ", c->engine_name, c->date[0] ? ", " : "", c->date, c->what);
        for (int k = 0; k < c->n; k++)
            conflict_value(c, k);
        printf("\n");
    }
    arena_destroy(a);
}

/* What came in, fields in conflict, and where the logbook is kept as it was. */
static bool merge_in(struct logbook *lb, const char *other, struct err *e)
{
    struct logbook_merged m;
    char words[500], kept[LOGBOOK_KEPT_BYTES], today[11];

    clock_today(today);
    if (!logbook_merge_keeping(lb, other, today, NULL, &m, kept, e))
        return false;
    logbook_merged_words(&m, words, sizeof words);
    printf("%s%s\n", words, m.n_conflicts > 0 ? ":" : "");
    print_conflicts(lb);
    if (kept[0] != '\0')
        printf("as it was: %s; sootbook merge --back takes the merge back until something is changed\n", kept);
    return true;
}

int cli_merge(int argc, char **argv)
{
    struct cli_option back = {.name = "--back", .flag = true};
    const char *names[2];
    int n;
    struct err e = {0};
    struct logbook *lb;
    bool fine;

    if (!cli_options(argc, argv, &back, 1, names, 2, &n))
        return 2;
    if (n != (back.value != NULL ? 1 : 2))
        return cli_wrong("merge", back.value != NULL ? "--back takes the logbook alone" : "name the logbook and the copy to take in");
    lb = logbook_open(names[0], LOGBOOK_WRITE, &e);
    if (lb == NULL)
        return cli_failed(&e);
    fine = back.value != NULL ? logbook_take_merge_back(lb, &e) : merge_in(lb, names[1], &e);
    if (fine && back.value != NULL)
        puts("the last merge is taken back");
    logbook_close(lb);
    return fine ? cli_printed() : cli_failed(&e);
}

/* The file is the database alone: where the rest lies, and what copies it too. */
static void tell_photos(const char *folder)
{
    size_t n;
    int64_t n_bytes;

    logbook_copy_size(folder, &n, &n_bytes);
    if (n == 0)
        return;
    fprintf(stderr, "sootbook: this is the database alone; %zu photo%s in %s/photos. Copy that folder beside it, or in the window Ctrl+B copies all of it.\n", n, n == 1 ? " lies" : "s lie", folder);
}

int cli_backup(int argc, char **argv)
{
    const char *names[2];
    int n;
    struct err e = {0};
    struct logbook *lb;
    bool fine;

    if (!cli_options(argc, argv, NULL, 0, names, 2, &n))
        return 2;
    if (n != 2)
        return cli_wrong("backup", "name the logbook and the file to write");
    lb = cli_open(names[0]);
    if (lb == NULL)
        return 1;
    fine = logbook_backup(lb, names[1], &e);
    logbook_close(lb);
    if (fine)
        tell_photos(names[0]);
    return fine ? 0 : cli_failed(&e);
}
