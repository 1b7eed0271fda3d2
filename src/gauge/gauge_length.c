#include "gauge/gauge_length.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"

/* A hexagon turned by a from corners to the side shows corners * cos(a) of width; 30 degrees on it shows its flats. By
 * eye a face in the middle, or an edge, is told to some 4 degrees. Corners are turned off a little: between 1.13 times
 * the flats (least width across corners of hexagon nuts, ISO 4032; from memory) and the sharp 1.1547. */
#define CORNERS 1.143
#define CORNERS_SD 0.0065
#define EYE_SD 0.0698 /* 4 degrees */
#define USUAL_MM 280.0 /* camera to plug, where no focal length tells it */
#define USUAL_SD 0.6   /* of what follows from it */
#define FOCAL_SD 0.1

static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct csv table; /* no rows when it cannot be read */

static void load(void)
{
    if (!asset_table("hex.csv", &table, NULL))
        table = (struct csv){0};
}

int gauge_hexes(struct gauge_hex out[GAUGE_MAX_HEXES])
{
    int n = 0;

    pthread_once(&once, load);
    for (size_t row = 1; row < table.n_rows && n < GAUGE_MAX_HEXES; row++) {
        double nominal = strtod(csv_named(&table, row, "flats_mm"), NULL), h13 = strtod(csv_named(&table, row, "h13_mm"), NULL), h14 = strtod(csv_named(&table, row, "h14_mm"), NULL);

        /* within h13 as a rule; which grade plugs are made to was not found, so h14 makes the doubt */
        out[n++] = (struct gauge_hex){csv_named(&table, row, "id"), csv_named(&table, row, "label"), (nominal + h13) / 2, (nominal - h14) / sqrt(12), csv_named(&table, row, "usual_for")};
    }
    return n;
}

bool gauge_hex_find(const char *id, const char *thread, struct gauge_hex *out)
{
    struct gauge_hex all[GAUGE_MAX_HEXES];
    int n = gauge_hexes(all), usual = -1;

    for (int i = 0; i < n; i++) {
        if (id[0] != '\0' && strcmp(all[i].id, id) == 0) {
            *out = all[i];
            return true;
        }
        if ((thread[0] != '\0' && strstr(all[i].usual_for, thread) != NULL) || (usual < 0 && strcmp(all[i].id, "16") == 0))
            usual = i;
    }
    if (id[0] != '\0' || usual < 0)
        return false;
    *out = all[usual];
    return true;
}

void gauge_hex_length(const struct gauge_hex *h, enum gauge_lies lies, struct gauge_length *out)
{
    const double third = 3.14159265358979 / 6, tan30 = tan(third), half_normal = sqrt(2 / 3.14159265358979);
    double share, sd, made = h->flats_sd_mm / h->flats_mm;

    *out = (struct gauge_length){0};
    if (lies == GAUGE_LIES_CORNERS) { /* cos(a), a normal about 0 */
        share = CORNERS * (1 - EYE_SD * EYE_SD / 2);
        sd = hypot(CORNERS_SD / CORNERS, EYE_SD * EYE_SD / sqrt(2));
    } else if (lies == GAUGE_LIES_FLATS) { /* cos(a) + tan 30° sin|a|: wider than the flats whichever way it is turned */
        share = 1 - EYE_SD * EYE_SD / 2 + tan30 * EYE_SD * half_normal;
        sd = tan30 * EYE_SD * sqrt(1 - half_normal * half_normal);
        out->nearer_mm = h->flats_mm / 2 * tan30;
    } else { /* any turn between the two alike: mean of cos over 30° */
        share = CORNERS * sin(third) / third;
        sd = sqrt((0.5 + sin(2 * third) / (4 * third)) - pow(sin(third) / third, 2)) / (sin(third) / third);
        out->nearer_mm = h->flats_mm / 4 * tan30;
        out->nearer_sd_mm = h->flats_mm / 4 * tan30 / sqrt(3);
    }
    out->mm = h->flats_mm * share;
    out->mm_sd = out->mm * hypot(sd, made);
}

void gauge_ruler_length(double mm, enum gauge_lies lies, double hex_mm, struct gauge_length *out)
{
    *out = (struct gauge_length){.mm = mm, .mm_sd = 0.002 * mm}; /* a steel rule is better, a tape or a coin not */
    if (lies == GAUGE_LIES_BENCH) {
        out->nearer_mm = -hex_mm * 0.54; /* half of it lying on a flat, a little more on an edge */
        out->nearer_sd_mm = 2;
    } else {
        out->nearer_sd_mm = lies == GAUGE_LIES_LEVEL ? 2 : hex_mm / 2;
    }
}

bool gauge_length_read(const struct gauge_point line[2], double end_sd_px, const struct gauge_length *what, double focal_px,
                       struct gauge_thread *out, struct err *e)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, px = hypot(dx, dy), ends = sqrt(2) * end_sd_px, away, depth, depth_sd;

    if (!(px > 0) || ends / px > 0.2)
        return err_set(e, ERR_BADARG, "The line of known length is too short to measure by.");
    *out = (struct gauge_thread){.length_px = px, .ux = dx / px, .uy = dy / px};
    out->px_per_mm = px / what->mm;
    /* what is nearer by d looks larger by d / distance */
    away = focal_px > 0 ? focal_px / out->px_per_mm : USUAL_MM;
    out->distance_mm = focal_px > 0 ? away + what->nearer_mm : 0;
    depth = what->nearer_mm / (away + what->nearer_mm);
    depth_sd = hypot(what->nearer_sd_mm / away, fabs(depth) * (focal_px > 0 ? FOCAL_SD : USUAL_SD));
    if (focal_px <= 0) /* half as far away, it is twice as much */
        depth_sd = hypot(depth_sd, USUAL_SD * what->nearer_sd_mm / away);
    out->px_per_mm *= 1 - depth;
    out->px_per_mm_sd = out->px_per_mm * sqrt(pow(ends / px, 2) + pow(what->mm_sd / what->mm, 2) + depth_sd * depth_sd);
    return true;
}
