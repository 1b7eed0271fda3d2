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
