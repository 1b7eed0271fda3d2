/* main.c - one program, two faces: a verb runs without a window, anything else opens it. */
#include <stdio.h>
#include <string.h>

#include "app/driver.h"
#include "app/window.h"
#include "base/err.h"
#include "base/files.h"
#include "cli/cli.h"
#include "photo/pool.h"

int main(int argc, char **argv)
{
    char folder[1100];
    struct window_options o = {0};
    struct window *w;
    struct err e = {0};
    int status;

    if (photo_helper_run(argc, argv, &status))
        return status;
    if (cli_run(argc, argv, &status))
        return status;
    if (argc > 1 && strcmp(argv[1], "drive") == 0)
        return driver_main(argc - 1, argv + 1);
    if (argc == 2) {
        o.folder = argv[1];
    } else { /* no name: the person's own, made at first use */
        if (!files_data_dir(folder, sizeof folder - 16)) {
            fprintf(stderr, "sootbook: there is no home folder to keep a logbook in; name one: sootbook FOLDER\n");
            return 1;
        }
        strcat(folder, "/logbook");
        o.folder = folder;
    }
    w = window_create(&o, &e);
    if (w == NULL) {
        fprintf(stderr, "sootbook: %s\n", e.text);
        return 1;
    }
    window_run(w);
    window_destroy(w);
    return 0;
}
