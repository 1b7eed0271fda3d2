/* gap.c - sootbook gap PHOTO --thread X1,Y1,X2,Y2 --pitch MM [--major MM] --across X1,Y1,X2,Y2 [--explain] */
#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "cli/cli.h"
#include "cli/picture.h"
#include "gauge/gauge_around.h"
#include "gauge/gauge_budget.h"
#include "gauge/gauge_which.h"

static double rounded(double v, double steps)
{
    return round(v * steps) / steps;
}

static bool line_of(const char *s, struct gauge_point line[2])
{
    double at[4];

    if (cli_numbers(s, &(struct cli_list){4, 4, 1, false}, at) != 4)
        return false;
    line[0] = (struct gauge_point){at[0], at[1]};
    line[1] = (struct gauge_point){at[2], at[3]};
    return true;
}

/* What is measured in a picture. */
struct asked {
    struct gauge_picture picture;
    struct gauge_point thread[2], across[2];
    double pitch_mm, focal_px;
};

static bool read_as(const struct asked *a, double major_mm, struct gauge_thread *scale, struct gauge_gap *gap, struct err *e)
{
    return gauge_thread_read(&a->picture, a->thread, a->pitch_mm, major_mm, a->focal_px, scale, e) && gauge_gap_read(&a->picture, a->across, scale, gap, e);
}

/* Of a thread whose diameter was not said: by its width, which is told. */
static bool read_by_width(const struct asked *a, struct gauge_thread *scale, struct gauge_gap *gap, struct err *e)
{
    struct gauge_which w;
    char names[120];

    if (!gauge_which_gap(&a->picture, a->thread, a->across, a->pitch_mm, a->focal_px, &w, scale, gap, e))
        return false;
    gauge_which_names(&w, names, sizeof names);
    if (w.n_fit > 1)
        fprintf(stderr, "sootbook: By its width, %.1f times its pitch, the thread may be %s. Taken as %s; the ± covers the others. Say which with --major %g.\n", w.wide, names,
                w.rows[0].thread, w.rows[0].major_mm);
    else if (w.n_fit == 1)
        fprintf(stderr, "sootbook: Taken as %s, of this pitch the only thread as wide as %.1f times its pitch. Say another with --major.\n", w.rows[0].thread, w.wide);
    return true;
}

/* Says where the thread that was told is not as wide as what is seen, and another is. */
static void warn_of_other(const struct asked *a, const struct gauge_thread *scale)
{
    struct gauge_other other;

    if (gauge_which_other(&a->picture, scale, &other))
        fprintf(stderr, "sootbook: Is it the right thread? Its outlines stand as far apart as those of an %s, not of an M%gx%g; then the gap is %.0f %% %s. Check --pitch and --major.\n", other.thread,
                scale->major_mm, scale->pitch_mm, 100 * fabs(other.wider), other.wider > 0 ? "wider" : "narrower");
}

/* What the ± is made of, and what to do about the largest part. */
static void add_budget(cJSON *root, const struct asked *a, const struct gauge_thread *scale, const struct gauge_gap *gap)
{
    struct gauge_budget b;
    cJSON *parts;
    char words[300];

    gauge_budget_make(&a->picture, scale, gap, a->focal_px, &b);
    parts = cJSON_AddObjectToObject(root, "uncertainty_parts_mm");
    for (int k = 0; k < GAUGE_PART_COUNT; k++)
        cJSON_AddNumberToObject(parts, gauge_part_id((enum gauge_part)k), rounded(b.mm[k], 1e4));
    cJSON_AddStringToObject(root, "largest", gauge_part_id(b.largest));
    gauge_budget_remedy(&b, b.largest, words, sizeof words);
    cJSON_AddStringToObject(root, "remedy", words);
}

/* Leaves of the picture what lies about both lines, as the window looks at it, with the lines in it. */
static void cut_out(struct photo_pixels *px, struct asked *a, struct gauge_around *part)
{
    struct gauge_reach reach = GAUGE_AROUND_NOTHING;
    struct gauge_point at[] = {a->thread[0], a->thread[1], a->across[0], a->across[1]};

    gauge_around_widen(&reach, at, 4, GAUGE_AROUND_PLUG);
    *part = gauge_around_of(&reach, px->width, px->height);
    for (int y = 0; y < part->height; y++)
        memmove(px->rgba + 4 * (size_t)y * (size_t)part->width, px->rgba + 4 * ((size_t)(y + part->y) * (size_t)px->width + (size_t)part->x), 4 * (size_t)part->width);
    px->width = part->width, px->height = part->height;
    for (int i = 0; i < 2; i++) {
        a->thread[i].x -= part->x, a->thread[i].y -= part->y;
        a->across[i].x -= part->x, a->across[i].y -= part->y;
    }
    a->picture = (struct gauge_picture){px->width, px->height, px->rgba};
}

int cli_gap(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--thread"}, {.name = "--pitch"}, {.name = "--across"}, {.name = "--major"}, {.name = "--explain", .flag = true}};
    const char *file;
    double major_mm = 0;
    struct asked a;
    int n;
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_around part;
    struct gauge_thread scale;
    struct gauge_gap gap;
    struct err e = {0};
    char *json;
    cJSON *root, *list;
    bool fine;

    if (!cli_options(argc, argv, o, 5, &file, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("gap", "name the photo to measure in");
    if (o[0].value == NULL || o[1].value == NULL || o[2].value == NULL)
        return cli_wrong("gap", "--thread, --pitch and --across are needed");
    if (!line_of(o[0].value, a.thread))
        return cli_wrong("gap", "--thread is X1,Y1,X2,Y2 (with decimal commas X1 Y1 X2 Y2), not “%s”", o[0].value);
    if (!line_of(o[2].value, a.across))
        return cli_wrong("gap", "--across is X1,Y1,X2,Y2 (with decimal commas X1 Y1 X2 Y2), not “%s”", o[2].value);
    if (!text_to_double(o[1].value, &a.pitch_mm) || !(a.pitch_mm > 0))
        return cli_wrong("gap", "--pitch is in millimetres, such as 1.25 or 1,25, not “%s”", o[1].value);
    if (o[3].value != NULL && (!text_to_double(o[3].value, &major_mm) || !(major_mm > 0)))
        return cli_wrong("gap", "--major is the thread's diameter in millimetres, such as 14, not “%s”", o[3].value);
    if (!cli_picture_load(file, &pixels, &info, &e))
        return cli_failed(&e);
    /* the film's long side is 36 mm */
    a.focal_px = info.focal_as_35mm_mm / 36 * (pixels.width > pixels.height ? pixels.width : pixels.height);
    cut_out(&pixels, &a, &part);
    fine = major_mm > 0 ? read_as(&a, major_mm, &scale, &gap, &e) : read_by_width(&a, &scale, &gap, &e);
    if (!fine) {
        photo_pixels_release(&pixels);
        return cli_failed(&e);
    }
    warn_of_other(&a, &scale);
    root = cJSON_CreateObject();
    cJSON_AddNumberToObject(root, "gap_mm", rounded(gap.gap_mm, 1e4));
    cJSON_AddNumberToObject(root, "uncertainty_mm", rounded(gap.uncertainty_mm, 1e4));
    cJSON_AddNumberToObject(root, "px_per_mm", rounded(scale.px_per_mm, 1e4));
    cJSON_AddNumberToObject(root, "pitch_px", rounded(scale.pitch_px, 1e4));
    list = cJSON_AddArrayToObject(root, "across");
    for (int i = 0; i < 2; i++) {
        cJSON_AddItemToArray(list, cJSON_CreateNumber(rounded(part.x + gap.across[i].x, 100)));
        cJSON_AddItemToArray(list, cJSON_CreateNumber(rounded(part.y + gap.across[i].y, 100)));
    }
    if (o[4].value != NULL)
        add_budget(root, &a, &scale, &gap);
    photo_pixels_release(&pixels);
    json = cJSON_Print(root);
    puts(json);
    free(json);
    cJSON_Delete(root);
    return cli_printed();
}
