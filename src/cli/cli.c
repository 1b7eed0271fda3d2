#include "cli/cli.h"

#include <cjson/cJSON.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "reading/compression.h"
#include "takeover/field.h"

static const struct cli_verb verbs[] = {
    {"sample", "sample FOLDER", "write the sample logbook",
     "Writes a logbook of four invented engines with their visits, photos, steps and parts into a new\n"
     "or empty folder. The photos come from the folder named by SOOTBOOK_SAMPLES, from samples/photos\n"
     "of the source tree or from where they were installed.\n",
     cli_sample},
    {"read", "read [--causes FILE] [--compression-rule RULE] CASE.json", "findings of a written case, as JSON (\"-\" is standard input)",
     "Reads one engine with its visits in the case format and prints what stands out, patterns with\n"
     "their odds, likely causes and cautions. docs/case-format.md describes both sides.\n"
     "--causes reads the weights of the causes from your own table in place of assets/causes.csv.\n"
     "--compression-rule judges compression by one of the published rules: ratio-75 (the usual one), ratio-70,\n"
     "mean-20, spread-10psi, spread-14psi, spread-10pct, spread-20pct. The verdict names it.\n",
     cli_read},
    {"torque", "torque --thread M14x1.25 --seat gasket|taper [--head aluminium|cast-iron] [--maker NM]",
     "tightening: every published chart by its name, and turning angles",
     "The thread may be written M14x1,25 or m14 × 1.25, the maker's figure 27,5. Charts do not always overlap, so none is merged with another. The engine maker's figure comes first.\n", cli_torque},
    {"colour", "colour PHOTO --neutral X,Y,W,H[,REFLECTANCE] --area X,Y;X,Y;X,Y...", "the colour of an insulator's nose, its light corrected by a grey or white patch",
     "Coordinates are pixels of the photo as displayed. Numbers with decimal commas are set apart by blanks or semicolons\n"
     "(\"10,5 20 30,5 40\"). The patch reflects 0.18 of the light unless said. Prints CIELAB\n"
     "(D65, 2 degrees), the shares that are dark and glossy, and deposits they suggest.\n", cli_colour},
    {"gap", "gap PHOTO --thread X1,Y1,X2,Y2 --pitch MM [--major MM] --across X1,Y1,X2,Y2 [--explain]", "the electrode gap, measured in a side view by the thread's pitch",
     "Coordinates are pixels of the photo as displayed. --thread is drawn along the outline of the thread, over at least\n"
     "four turns; --across over the gap, from electrode to electrode. Both may be rough: ends are held to the edges.\n"
     "Threads of one pitch (M12 and M14) differ in width: without --major the one taken is named on standard error, and\n"
     "where two are as wide as what is seen, its doubt covers both. --explain adds what the uncertainty is made of (scale,\n"
     "perspective, both edges, angle of view) and what makes the largest part smaller.\n"
     "Numbers with decimal commas are set apart by blanks or semicolons (\"10,5 20 30,5 40\"); --pitch may be 1,25.\n", cli_gap},
    {"place", "place LOGBOOK [--engine NAME] --visit DATE [--accept] PHOTO...", "take photos in and propose plugs by the time they were taken",
     "The originals are copied, unchanged, and laid along the visit's removal order. What is proposed is\n"
     "printed as JSON and shown in the window; --accept places the photos at once. A photo that cannot be\n"
     "read is named on standard error, the others are taken in.\n",
     cli_place},
    {"report", "report LOGBOOK [--engine NAME] [--visit DATE] [--visits N|all] [--without PART,PART] [--units UNIT,UNIT] [--paper a4|letter] [--sheet] [--firing] [--side] [--laid DATE,DATE] [--compression-rule RULE] -o FILE.html|.pdf|.csv|.json|.png", "write a visit, or all of them, as a page, a PDF, a table or a case; the line-up as a picture",
     "Without --visit the latest visit is taken; --engine is needed where the logbook has several. --visits tells so many in\n"
     "full, from that one back (--all-visits: all of them). A case holds them all either way. --units, one of mm and in, one of\n"
     "kPa, bar and psi, are those of page, PDF and line-up, else the window's; distances stand as each visit's odometer tells them, a table names its own. --without leaves parts of the page or the PDF out: short, plan,\n"
     "causes, stands-out, repairs, steps, parts, refit, closing, visit, readings, line-up, trends, photos, notes, engine, next-time, cautions. What\n"
     "stands in the way of starting the engine is always said. The line-up (.png, or .pdf with --sheet) has all visits up to the one\n"
     "named, by bank, onto the tips; --firing: in firing order, --side: from the side. --laid puts a row above\n"
     "them with the first of two visits laid over the second, and what changed; a third word tells how much of the upper one shows,\n"
     "50 percent where it is left out (100: it alone, as seen in turn).\n", cli_report},
    {"take", "take LOGBOOK [--engine NAME] FILE.json|FILE.csv|FOLDER...", "take over written cases, tables of readings and folders of old photos",
     "Each case in the case format (docs/case-format.md) becomes an engine with its visits. A table (.csv, .tsv, .txt)\n"
     "becomes readings of an engine: columns are matched by their headings and figures, all of it or nothing is written.\n"
     "The photos of a folder go to the visits and plugs that the names of files and folders tell of (2024-05-11 zyl3.jpg), else\n"
     "to the day the camera noted.\n"
     "  --check              say what would be taken for what, and write nothing\n"
     "  --engine NAME        the engine the table is of, where the table does not name it\n"
     "  --layout ID          a new engine of this layout (assets/layouts.csv), as in v8-odd-left\n"
     "  --visit DATE         the visit that rows without a date belong to\n"
     "  --columns C=FIELD,…  what columns hold, by heading or number, with their unit: 4=gap:in,Notes=-\n"
     "  --dates dmy|mdy      the order of days and months, where the cells do not tell\n"
     "  --leave-out          leave rows and cells out that cannot be read, and take the rest\n"
     "A folder that does not exist becomes a new logbook, which is said; where nothing is taken over, none is left.\n", cli_take},
    {"verify", "verify LOGBOOK", "check the database, the edit log and every photo's hash",
     "Prints \"clean\" and exits with 0, or tells each trouble and exits with 1.\n", cli_verify},
    {"backup", "backup LOGBOOK FILE", "a consistent copy of the database, also while the window is open",
     "The file must not exist yet. The photos are copied by any means: they never change.\n", cli_backup},
    {"merge", "merge LOGBOOK OTHER | merge LOGBOOK --back", "take in what another copy of the logbook has and this one lacks",
     "The union of both edit logs, photos by their hash; OTHER is only read. Merged twice nothing changes, and the order does\n"
     "not matter. A field that both set differently, without knowing of each other, keeps both values: one stands, not\n"
     "always the one written last; the window (Ctrl+M) lists them and lets one be chosen. The logbook as it was is kept beside it; --back takes the last\n"
     "merge back as long as nothing was changed since.\n",
     cli_merge},
    {"drive", "drive LOGBOOK --script FILE", "play a script of keys, clicks and pictures in the window",
     "For tests and for the pictures of the documents; docs/driver.md lists the lines a script may hold. The logbook is\n"
     "made when it does not exist. A script starts from the standard settings and leaves yours as they are.\n",
     NULL},
};
#define N_VERBS ((int)(sizeof verbs / sizeof verbs[0]))

const struct cli_verb *cli_verbs(int *n)
{
    *n = N_VERBS;
    return verbs;
}

static void print_help(void)
{
    printf("Sootbook, a logbook for reading spark plugs.\n\n"
           "usage: sootbook [LOGBOOK]\n            open the window; without a name, on your own logbook. A new one is made by its path, as in ./NAME\n");
    for (int i = 0; i < N_VERBS; i++)
        printf("       sootbook %s\n            %s\n", verbs[i].usage, verbs[i].help);
    printf("       sootbook VERB --help           more about one verb\n"
           "       sootbook --version\n\n"
           "Exit status: 0 done, 1 could not be done (the reason is on standard error), 2 wrong usage.\n");
}

static void print_version(void)
{
    printf("sootbook %s\nSQLite %s, cJSON %s\n", SOOTBOOK_VERSION, sqlite3_libversion(), cJSON_Version());
}

void cli_visit_name(const char *typed, char *to, size_t n_room)
{
    char iso[11];
    int day, month, year;

    if (typed != NULL && take_read_date(typed, iso, &day, &month, &year) == TAKE_DATE_SURE)
        text_copy(to, n_room, iso);
    else
        text_copy(to, n_room, typed != NULL ? typed : "");
}

bool cli_take_rule(const char *verb, const struct cli_option *o, char *to, size_t n_room)
{
    char all[300];

    if (o->value == NULL)
        return true;
    if (o->value[0] != '\0' && compression_rule_find(o->value) != NULL) {
        text_copy(to, n_room, o->value);
        return true;
    }
    compression_rule_list(all, sizeof all);
    cli_wrong(verb, "--compression-rule “%s” is none of %s", TEXT_SHORT(o->value, 30), all);
    return false;
}

int cli_wrong(const char *verb, const char *fmt, ...)
{
    va_list args;

    fprintf(stderr, "sootbook %s: ", verb);
    va_start(args, fmt);
    vfprintf(stderr, fmt, args);
    va_end(args);
    fputc('\n', stderr);
    for (int i = 0; i < N_VERBS; i++)
        if (strcmp(verbs[i].name, verb) == 0)
            fprintf(stderr, "usage: sootbook %s\n", verbs[i].usage);
    return 2;
}

int cli_refused(const char *verb, const struct err *e)
{
    fprintf(stderr, "sootbook %s: %s\n", verb, e->text);
    return 2;
}

int cli_failed(const struct err *e)
{
    fprintf(stderr, "sootbook: %s\n", e->text);
    return 1;
}

struct logbook *cli_open(const char *folder)
{
    struct err e = {.code = ERR_NONE};
    bool updated;
    struct logbook *lb = logbook_open_updated(folder, &updated, &e);

    if (lb == NULL)
        cli_failed(&e);
    else if (updated)
        fprintf(stderr, "sootbook: The logbook %s was of an older version and is up to date now; a copy of it as it was is kept in its folder.\n", folder);
    return lb;
}

int cli_printed(void)
{
    struct err e = {.code = ERR_NONE};
    bool failed = ferror(stdout) != 0; /* an earlier write of a long text: the flush itself may be fine */

    if (fflush(stdout) == 0 && !failed)
        return 0;
    err_set_errno(&e, ERR_IO, "Cannot write to standard output");
    return cli_failed(&e);
}

bool cli_options(int argc, char **argv, struct cli_option *options, int n_options, const char **operands,
                 int max, int *n_operands)
{
    bool only_operands = false;

    *n_operands = 0;
    for (int i = 1; i < argc; i++) {
        const char *arg = argv[i];
        struct cli_option *found = NULL;
        size_t n = strcspn(arg, "=");

        if (only_operands || arg[0] != '-' || arg[1] == '\0') {
            if (*n_operands == max) {
                cli_wrong(argv[0], "unexpected “%s”", arg);
                return false;
            }
            operands[(*n_operands)++] = arg;
            continue;
        }
        if (strcmp(arg, "--") == 0) {
            only_operands = true;
            continue;
        }
        for (int k = 0; k < n_options; k++)
            if (strlen(options[k].name) == n && strncmp(options[k].name, arg, n) == 0)
                found = &options[k];
        if (found == NULL) {
            cli_wrong(argv[0], "unknown option %s", arg);
            return false;
        }
        if (found->value != NULL) {
            cli_wrong(argv[0], "%s is given twice", found->name);
            return false;
        }
        if (found->flag) {
            found->value = "";
        } else if (arg[n] == '=') {
            found->value = arg + n + 1;
        } else if (i + 1 < argc) {
            found->value = argv[++i];
        } else {
            cli_wrong(argv[0], "%s needs a value", found->name);
            return false;
        }
    }
    return true;
}

bool cli_run(int argc, char **argv, int *status)
{
    if (argc < 2)
        return false;
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_help();
        *status = cli_printed();
        return true;
    }
    if (strcmp(argv[1], "--version") == 0) {
        print_version();
        *status = 0;
        return true;
    }
    for (int i = 0; i < N_VERBS; i++)
        if (strcmp(verbs[i].name, argv[1]) == 0) {
            for (int k = 2; k < argc; k++)
                if (strcmp(argv[k], "--help") == 0) {
                    printf("usage: sootbook %s\n\n%s", verbs[i].usage, verbs[i].more);
                    *status = 0;
                    return true;
                }
            if (verbs[i].run == NULL)
                return false;
            *status = verbs[i].run(argc - 1, argv + 1);
            return true;
        }
    if (argv[1][0] == '-' && argv[1][1] != '\0') {
        fprintf(stderr, "sootbook: unknown option %s\nTry: sootbook --help\n", argv[1]);
        *status = 2;
        return true;
    }
    /* A mistyped verb must not become a logbook: a new one is asked for by a path. */
    if (strchr(argv[1], '/') == NULL && !files_exists(argv[1])) {
        fprintf(stderr, "sootbook: there is no verb or logbook “%s”. The verbs: sootbook --help. "
                "A new logbook of that name: sootbook ./%s\n", argv[1], argv[1]);
        *status = 2;
        return true;
    }
    if (argc > 2) {
        fprintf(stderr, "sootbook: one logbook at a time, and no verb is named “%s”. Try: sootbook --help\n", argv[1]);
        *status = 2;
        return true;
    }
    return false;
}
