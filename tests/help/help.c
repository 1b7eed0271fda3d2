#include "help.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"

char folder[64];

int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/sootbook-test-XXXXXX");
    return mkdtemp(folder) == NULL;
}

int drop_folder(void **state)
{
    char command[128];

    (void)state;
    text_format(command, sizeof command, "rm -rf '%s'", folder);
    return system(command);
}

struct csv load_table(const char *path)
{
    struct csv c = {0};
    char *data = NULL;
    size_t n;
    struct err e = {0};

    if (!files_read(path, 1 << 22, &data, &n, &e) || !csv_parse(data, n, ',', &c, &e))
        fail_msg("%s", e.text);
    free(data);
    return c;
}

int read_points(const char *s, double *x, double *y, int n_room)
{
    int n = 0;

    for (; *s != '\0' && n < n_room; n++) {
        char *end;

        x[n] = strtod(s, &end);
        y[n] = strtod(end + 1, &end);
        s = *end == ';' ? end + 1 : end;
    }
    return n;
}
