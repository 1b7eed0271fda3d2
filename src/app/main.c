/* main.c - one program, two faces: a verb runs without a window, anything else opens it. */
#include <stdio.h>

#include "cli/cli.h"

int main(int argc, char **argv)
{
    int status;

    if (cli_run(argc, argv, &status))
        return status;
    fprintf(stderr, "sootbook: this build has no window; try sootbook --help\n");
    return 1;
}
