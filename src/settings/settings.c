#include "settings/settings.h"

#include <stdlib.h>
#include <string.h>

#include "base/files.h"
#include "base/text.h"
#include "reading/compression.h"
#include "report/content.h"
#include "report/report_pdf.h"

static bool is_rule(const char *id)
{
    return id[0] != '\0' && compression_rule_find(id) != NULL;
}

static bool is_pressure(const char *id)
{
    return strcmp(id, "kPa") == 0 || strcmp(id, "bar") == 0 || strcmp(id, "psi") == 0;
}

static bool are_parts(const char *list)
{
    report_parts set;

    return report_parts_parse(list, &set, NULL);
}

static bool are_visits(const char *how_many)
{
    int n;

    return report_visits_parse(how_many, &n, NULL);
}

static bool is_paper(const char *id)
{
    return report_paper_find(id) != NULL;
}

static bool is_scale(const char *text)
{
    double percent;

    return strcmp(text, "screen") == 0 || (text_to_double(text, &percent) && percent >= SETTINGS_SCALE_LEAST && percent <= SETTINGS_SCALE_MOST);
}

static const struct setting_row rows[] = {
    {"inches", "gaps in inches instead of millimetres", offsetof(struct settings, inches), 0, "0", NULL},
    {"large_targets", "controls of 44 px for gloves and fingers", offsetof(struct settings, large_targets), 0, "0", NULL},
    {"scale", "how large things are drawn: 100 to 300 per cent, screen: as the screen says", offsetof(struct settings, scale), sizeof(((struct settings *)0)->scale), "screen", is_scale},
    {"compression_rule", "published rule that compression is judged by: ratio-75, ratio-70, mean-20, spread-10psi, spread-14psi, spread-10pct, spread-20pct",
     offsetof(struct settings, compression_rule), sizeof(((struct settings *)0)->compression_rule), COMPRESSION_RULE_DEFAULT, is_rule},
    {"pressure", "unit of compression: kPa, bar, psi", offsetof(struct settings, pressure), sizeof(((struct settings *)0)->pressure), "kPa", is_pressure},
    {"report_without", "parts left out of a report, parted by commas: sootbook report --help names them",
     offsetof(struct settings, report_without), sizeof(((struct settings *)0)->report_without), "", are_parts},
    {"report_visits", "how many of the latest visits a report tells in full: a number, all",
     offsetof(struct settings, report_visits), sizeof(((struct settings *)0)->report_visits), "1", are_visits},
    {"report_paper", "paper of a report as PDF: a4, letter", offsetof(struct settings, report_paper), sizeof(((struct settings *)0)->report_paper), "a4", is_paper},
    {"photos_here", "visits of which it was said that their photos of another day belong to them", offsetof(struct settings, photos_here), sizeof(((struct settings *)0)->photos_here), "", NULL},
    {"watched", "folder whose new photos are taken in", offsetof(struct settings, watched), sizeof(((struct settings *)0)->watched), "", NULL},
};
#define N_ROWS ((int)(sizeof rows / sizeof rows[0]))

const struct setting_row *setting_rows(int *n)
{
    *n = N_ROWS;
    return rows;
}

/* A value that cannot be taken changes nothing. */
static void put(struct settings *s, const struct setting_row *row, const char *value)
{
    void *to = (char *)s + row->at;
    double v;

    if (row->n_room == 0) {
        if (text_to_double(value, &v) && v >= 0 && v <= 1)
            *(bool *)to = v > 0.5;
    } else if (row->knows == NULL || row->knows(value)) {
        text_copy(to, row->n_room, value);
    }
}

static bool path_of(char *to, size_t n_room, bool make)
{
    char dir[1024];

    return files_config_dir(dir, sizeof dir) && (!make || files_make_folder(dir, NULL)) && files_join(to, n_room, dir, "settings");
}

static void set_standard(struct settings *s)
{
    for (int i = 0; i < N_ROWS; i++)
        put(s, &rows[i], rows[i].standard);
}

struct unit_choice settings_units(const struct settings *s)
{
    return (struct unit_choice){s->inches, unit_find(s->pressure)};
}

int settings_scale_percent(const struct settings *s)
{
    double percent;

    return text_to_double(s->scale, &percent) ? (int)percent : 0;
}

void settings_set_scale(struct settings *s, int percent)
{
    text_copy(s->scale, sizeof s->scale, "screen");
    if (percent > 0)
        text_format(s->scale, sizeof s->scale, "%d", percent);
}

void settings_photos_here(struct settings *s, const char *visit, bool belong)
{
    char was[sizeof s->photos_here];
    size_t n = 0, k;

    text_copy(was, sizeof was, s->photos_here);
    s->photos_here[0] = '\0';
    if (belong && visit[0] != '\0')
        n = text_copy(s->photos_here, sizeof s->photos_here, visit) ? strlen(visit) : 0;
    for (const char *at = was; *at != '\0'; at += k + (at[k] == ' ')) {
        k = strcspn(at, " ");
        if ((k == strlen(visit) && strncmp(at, visit, k) == 0) || n + k + 2 > sizeof s->photos_here)
            continue;
        text_format(s->photos_here + n, sizeof s->photos_here - n, "%s%.*s", n > 0 ? " " : "", (int)k, at);
        n = strlen(s->photos_here);
    }
}

void settings_apart(struct settings *s)
{
    set_standard(s);
    s->apart = true;
}

void settings_load(struct settings *s)
{
    char path[1100], *data, *line;
    size_t n;

    set_standard(s);
    s->apart = false;
    if (!path_of(path, sizeof path, false) || !files_read(path, 65536, &data, &n, NULL))
        return;
    for (line = data; line != NULL && *line != '\0';) {
        char *end = strchr(line, '\n'), *value;

        if (end != NULL)
            *end++ = '\0';
        value = strchr(line, '=');
        if (value != NULL) {
            *value++ = '\0';
            for (int i = 0; i < N_ROWS; i++)
                if (strcmp(rows[i].key, line) == 0)
                    put(s, &rows[i], value);
        }
        line = end;
    }
    free(data);
}

void settings_save(const struct settings *s)
{
    char path[1100];
    struct text t = {0};

    if (s->apart)
        return;
    for (int i = 0; i < N_ROWS; i++) {
        const void *from = (const char *)s + rows[i].at;

        text_addf(&t, "# %s\n%s=%s\n", rows[i].help, rows[i].key, rows[i].n_room > 0 ? (const char *)from : *(const bool *)from ? "1" : "0");
    }
    if (path_of(path, sizeof path, true))
        files_write(path, text_get(&t), t.n_bytes, NULL);
    text_release(&t);
}
