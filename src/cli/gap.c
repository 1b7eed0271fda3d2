/* gap.c - sootbook gap PHOTO --thread X1,Y1,X2,Y2 --pitch MM [--major MM] --across X1,Y1,X2,Y2 */
#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/text.h"
#include "cli/cli.h"
#include "cli/picture.h"
#include "gauge/gauge_gap.h"

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

int cli_gap(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--thread"}, {.name = "--pitch"}, {.name = "--across"}, {.name = "--major"}};
    const char *file;
    double pitch_mm, major_mm = 0, focal_px;
    struct gauge_point thread[2], across[2];
    int n;
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_picture picture;
    struct gauge_thread scale;
    struct gauge_gap gap;
    struct err e = {0};
    char *json;
    cJSON *root, *list;
    bool fine;

    if (!cli_options(argc, argv, o, 4, &file, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("gap", "name the photo to measure in");
    if (o[0].value == NULL || o[1].value == NULL || o[2].value == NULL)
        return cli_wrong("gap", "--thread, --pitch and --across are needed");
    if (!line_of(o[0].value, thread))
        return cli_wrong("gap", "--thread is X1,Y1,X2,Y2 (with decimal commas X1 Y1 X2 Y2), not “%s”", o[0].value);
    if (!line_of(o[2].value, across))
        return cli_wrong("gap", "--across is X1,Y1,X2,Y2 (with decimal commas X1 Y1 X2 Y2), not “%s”", o[2].value);
    if (!text_to_double(o[1].value, &pitch_mm) || !(pitch_mm > 0))
        return cli_wrong("gap", "--pitch is in millimetres, such as 1.25 or 1,25, not “%s”", o[1].value);
    if (o[3].value != NULL && (!text_to_double(o[3].value, &major_mm) || !(major_mm > 0)))
        return cli_wrong("gap", "--major is the thread's diameter in millimetres, such as 14, not “%s”", o[3].value);
    if (!cli_picture_load(file, &pixels, &info, &e))
        return cli_failed(&e);
    picture = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
    /* the film's long side is 36 mm */
    focal_px = info.focal_as_35mm_mm / 36 * (pixels.width > pixels.height ? pixels.width : pixels.height);
    fine = gauge_thread_read(&picture, thread, pitch_mm, major_mm, focal_px, &scale, &e) && gauge_gap_read(&picture, across, &scale, &gap, &e);
    photo_pixels_release(&pixels);
    if (!fine)
        return cli_failed(&e);
    root = cJSON_CreateObject();
    cJSON_AddNumberToObject(root, "gap_mm", rounded(gap.gap_mm, 1e4));
    cJSON_AddNumberToObject(root, "uncertainty_mm", rounded(gap.uncertainty_mm, 1e4));
    cJSON_AddNumberToObject(root, "px_per_mm", rounded(scale.px_per_mm, 1e4));
    cJSON_AddNumberToObject(root, "pitch_px", rounded(scale.pitch_px, 1e4));
    list = cJSON_AddArrayToObject(root, "across");
    for (int i = 0; i < 2; i++) {
        cJSON_AddItemToArray(list, cJSON_CreateNumber(rounded(gap.across[i].x, 100)));
        cJSON_AddItemToArray(list, cJSON_CreateNumber(rounded(gap.across[i].y, 100)));
    }
    json = cJSON_Print(root);
    puts(json);
    free(json);
    cJSON_Delete(root);
    return cli_printed();
}
