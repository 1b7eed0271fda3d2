#include "app/settings.h"

#include <stdlib.h>
#include <string.h>

#include "base/files.h"
#include "base/text.h"

static const struct setting_row rows[] = {
    {"inches", "gaps in inches instead of millimetres", 0, 1, 0},
    {"large_targets", "controls of 44 px for gloves and fingers", 0, 1, 0},
};
#define N_ROWS ((int)(sizeof rows / sizeof rows[0]))

const struct setting_row *setting_rows(int *n)
{
    *n = N_ROWS;
    return rows;
}

static double get(const struct settings *s, int row)
{
    return row == 0 ? s->inches : s->large_targets;
}

static void put(struct settings *s, int row, double v)
{
    if (row == 0)
        s->inches = v > 0.5;
    else
        s->large_targets = v > 0.5;
}

static bool path_of(char *to, size_t n_room, bool make)
{
    char dir[1024];

    return files_config_dir(dir, sizeof dir) && (!make || files_make_folder(dir, NULL)) && files_join(to, n_room, dir, "settings");
}

void settings_load(struct settings *s)
{
    char path[1100], *data, *line;
    size_t n;

    for (int i = 0; i < N_ROWS; i++)
        put(s, i, rows[i].standard);
    s->watched[0] = '\0';
    if (!path_of(path, sizeof path, false) || !files_read(path, 65536, &data, &n, NULL))
        return;
    for (line = data; line != NULL && *line != '\0';) {
        char *end = strchr(line, '\n'), *value;
        double v;

        if (end != NULL)
            *end++ = '\0';
        value = strchr(line, '=');
        if (value != NULL) {
            *value++ = '\0';
            if (strcmp(line, "watched") == 0)
                text_copy(s->watched, sizeof s->watched, value);
            for (int i = 0; i < N_ROWS; i++)
                if (strcmp(rows[i].key, line) == 0 && text_to_double(value, &v) && v >= rows[i].low && v <= rows[i].high)
                    put(s, i, v);
        }
        line = end;
    }
    free(data);
}

void settings_save(const struct settings *s)
{
    char path[1100], number[32];
    struct text t = {0};

    for (int i = 0; i < N_ROWS; i++) {
        text_from_double(number, sizeof number, get(s, i), 2);
        text_addf(&t, "# %s\n%s=%s\n", rows[i].help, rows[i].key, number);
    }
    text_addf(&t, "# folder whose new photos are taken in\nwatched=%s\n", s->watched);
    if (path_of(path, sizeof path, true))
        files_write(path, text_get(&t), t.n_bytes, NULL);
    text_release(&t);
}
