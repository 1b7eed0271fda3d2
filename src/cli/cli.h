/* cli.h - the verbs: the same program without a window, for scripts and tests. Exit status 0 done,
 * 1 it could not be done (a sentence on standard error), 2 wrong usage. JSON on standard output. */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include <stdbool.h>
#include <stddef.h>

struct cli_verb {
    const char *name;
    const char *usage;  /* "read [--causes FILE] CASE.json" */
    const char *help;   /* one line */
    const char *more;   /* shown by sootbook VERB --help */
    int (*run)(int argc, char **argv); /* argv[0] is the verb; NULL: it needs the window, whoever calls cli_run runs it */
};
const struct cli_verb *cli_verbs(int *n);

/* Runs the verb in argv[1], or --help and --version, and tells a name that is neither a verb nor a
 * logbook. False when the window is needed: argv[1] is a logbook's path, a verb of the window, or nothing. */
bool cli_run(int argc, char **argv, int *status);

/* Options of a verb: "--name VALUE", "--name=VALUE", "-o FILE"; the rest are operands in order. */
struct cli_option {
    const char *name;   /* "--visit" */
    const char *value;  /* NULL until given */
    bool flag;          /* takes no value; value becomes "" when given */
};
/* false: wrong usage, said already. operands has room for max, *n_operands receives their number. */
bool cli_options(int argc, char **argv, struct cli_option *options, int n_options, const char **operands,
                 int max, int *n_operands);
/* The rule named by --compression-rule; untouched without one. false: there is none of that name, said already. */
bool cli_take_rule(const char *verb, const struct cli_option *o, char *to, size_t n_room);
/* What --visit names: a date as people write it becomes the logbook's, all else stays ("2026-06-14/2", an id; NULL: ""). */
void cli_visit_name(const char *typed, char *to, size_t n_room);
int cli_wrong(const char *verb, const char *fmt, ...) __attribute__((format(printf, 2, 3))); /* prints, gives 2 */
struct err;
int cli_refused(const char *verb, const struct err *e); /* a value that is none: prints the sentence alone, gives 2 */
int cli_failed(const struct err *e); /* prints, gives 1 */
struct logbook;
/* The logbook to read, brought up to date first where it is an older one, which is said. NULL: told already. */
struct logbook *cli_open(const char *folder);
struct photo_result;
/* Notes the i-th photo, inside the change. */
typedef bool cli_record(void *ctx, size_t i, const struct photo_result *r, struct err *e);
/* Files (NULL: passed over) through the picture helpers into one change; each that fails gets its sentence on standard
 * error and is counted, the others go on. */
bool cli_import(struct logbook *lb, const char *label, const char *const *paths, size_t n, cli_record *record, void *ctx, size_t *n_failed, struct err *e);
/* Takes away a folder this program has made itself, with all that lies in it. */
void cli_remove_tree(const char *folder);
int cli_printed(void); /* 0 when all that went to standard output arrived, else says so and gives 1 */

int cli_read(int argc, char **argv);
int cli_torque(int argc, char **argv);
int cli_colour(int argc, char **argv);
int cli_gap(int argc, char **argv);
int cli_place(int argc, char **argv);
int cli_report(int argc, char **argv);
int cli_take(int argc, char **argv);
int cli_verify(int argc, char **argv);
int cli_backup(int argc, char **argv);
int cli_merge(int argc, char **argv);
int cli_sample(int argc, char **argv);

#endif
