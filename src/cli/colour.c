/* colour.c - sootbook colour PHOTO --neutral X,Y,W,H[,REFLECTANCE] --area X,Y;X,Y;X,Y... */
#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/colour.h"
#include "base/err.h"
#include "base/text.h"
#include "cli/cli.h"
#include "cli/picture.h"
#include "gauge/gauge_colour.h"

static double rounded(double v, double steps)
{
    return round(v * steps) / steps;
}

int cli_colour(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--neutral"}, {.name = "--area"}};
    const char *file;
    double box[5], at[2 * GAUGE_MAX_CORNERS], reflectance = GAUGE_REFLECTANCE;
    struct gauge_point corners[GAUGE_MAX_CORNERS];
    int n, n_box, n_at;
    struct photo_pixels pixels;
    struct gauge_picture picture;
    struct gauge_box patch;
    struct gauge_light light;
    struct gauge_colour c;
    struct err e = {0};
    uint8_t rgb[3];
    char hex[8], *json;
    cJSON *root, *list;
    bool fine;

    if (!cli_options(argc, argv, o, 2, &file, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("colour", "name the photo to measure in");
    if (o[0].value == NULL)
        return cli_wrong("colour", "--neutral is needed: without a grey or white patch the light is not known, and colours "
                         "compare only inside one picture");
    if (o[1].value == NULL)
        return cli_wrong("colour", "--area is needed: the outline of the nose");
    n_box = cli_numbers(o[0].value, &(struct cli_list){4, 5, 1, true}, box);
    if (n_box < 4 || box[2] <= 0 || box[3] <= 0)
        return cli_wrong("colour", "--neutral is X,Y,W,H or X,Y,W,H,REFLECTANCE, not “%s”", o[0].value);
    n_at = cli_numbers(o[1].value, &(struct cli_list){6, 2 * GAUGE_MAX_CORNERS, 2, false}, at);
    if (n_at < 6)
        return cli_wrong("colour", "--area is X,Y;X,Y;X,Y... with 3 to %d corners, not “%s”", GAUGE_MAX_CORNERS, o[1].value);
    if (n_box == 5)
        reflectance = box[4];
    for (int i = 0; i < n_at / 2; i++)
        corners[i] = (struct gauge_point){at[2 * i], at[2 * i + 1]};
    if (!cli_picture_load(file, &pixels, NULL, &e))
        return cli_failed(&e);
    picture = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
    patch = (struct gauge_box){box[0], box[1], box[2], box[3]};
    fine = gauge_light_read(&picture, &patch, reflectance, &light, &e) && gauge_colour_read(&picture, corners, n_at / 2, &light, &c, &e);
    photo_pixels_release(&pixels);
    if (!fine)
        return cli_failed(&e);
    colour_from_lab(c.lab[0], c.lab[1], c.lab[2], rgb);
    text_format(hex, sizeof hex, "#%02x%02x%02x", rgb[0], rgb[1], rgb[2]);
    root = cJSON_CreateObject();
    cJSON_AddNumberToObject(root, "L", rounded(c.lab[0], 100));
    cJSON_AddNumberToObject(root, "a", rounded(c.lab[1], 100));
    cJSON_AddNumberToObject(root, "b", rounded(c.lab[2], 100));
    cJSON_AddStringToObject(root, "srgb", hex);
    cJSON_AddNumberToObject(root, "dark_share", rounded(c.dark_share, 1000));
    cJSON_AddNumberToObject(root, "gloss_share", rounded(c.gloss_share, 1000));
    list = cJSON_AddArrayToObject(root, "suggest");
    for (int i = 0; i < c.n_suggested; i++) {
        cJSON *x = cJSON_CreateObject();

        cJSON_AddStringToObject(x, "deposit", c.suggested[i].id);
        cJSON_AddStringToObject(x, "reason", c.suggested[i].reason);
        cJSON_AddItemToArray(list, x);
    }
    json = cJSON_Print(root);
    puts(json);
    free(json);
    cJSON_Delete(root);
    return cli_printed();
}
