/* take.c - sootbook take LOGBOOK CASE.json...: a written case becomes an engine of the logbook. */
#include <stdio.h>

#include "base/err.h"
#include "base/files.h"
#include "cli/cli.h"
#include "engine/engine.h"
#include "logbook/logbook.h"
#include "takeover/takeover.h"

#define MOST 64

int cli_take(int argc, char **argv)
{
    const char *names[1 + MOST];
    int n, taken = 0;
    struct err e = {0};
    struct logbook *lb;

    if (!cli_options(argc, argv, NULL, 0, names, 1 + MOST, &n))
        return 2;
    if (n < 2)
        return cli_wrong("take", "name the logbook and the cases to take over");
    if (!files_exists(names[0]) && !logbook_create(names[0], &e))
        return cli_failed(&e);
    lb = logbook_open(names[0], LOGBOOK_WRITE, &e);
    if (lb == NULL)
        return cli_failed(&e);
    for (int i = 1; i < n; i++) {
        char name[ENGINE_NAME_BYTES], engine[UUID_BYTES];
        int n_visits;

        if (!takeover_case(lb, names[i], engine, name, sizeof name, &n_visits, &e)) {
            logbook_close(lb);
            if (taken > 0)
                fprintf(stderr, "sootbook: %d case%s before it %s taken over.\n", taken, taken == 1 ? "" : "s", taken == 1 ? "was" : "were");
            return cli_failed(&e);
        }
        printf("%s: %d visit%s\n", name, n_visits, n_visits == 1 ? "" : "s");
        taken++;
    }
    logbook_close(lb);
    return cli_printed();
}
