#include "app/measure_offer.h"

#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "gauge/gauge_find.h"

bool measure_offer_kept(const struct measure_offers *f, const char *photo, double pitch_mm, struct photo_offer *out)
{
    for (int i = 0; i < f->n; i++)
        if (strcmp(f->kept[i].photo, photo) == 0 && fabs(f->kept[i].pitch_mm - pitch_mm) < 1e-6) {
            *out = f->kept[i].offer;
            return true;
        }
    return false;
}

static void line_of(const struct gauge_picture *p, const struct gauge_point line[2], double scale, double x[2], double y[2])
{
    for (int i = 0; i < 2; i++) {
        x[i] = fmin(fmax(line[i].x, 0), p->width) * scale;
        y[i] = fmin(fmax(line[i].y, 0), p->height) * scale;
    }
}

void measure_offer_keep(struct measure_offers *f, const char *photo, double pitch_mm, const struct photo_offer *offer)
{
    text_copy(f->kept[f->next].photo, sizeof f->kept[0].photo, photo);
    f->kept[f->next].pitch_mm = pitch_mm;
    f->kept[f->next].offer = *offer;
    f->next = (f->next + 1) % MEASURE_OFFER_KEPT;
    f->n = f->n < MEASURE_OFFER_KEPT ? f->n + 1 : f->n;
}

bool measure_offer(const struct gauge_picture *picture, double scale, double pitch_mm, double focal_px, const struct gauge_stop *stop, struct photo_offer *out)
{
    struct gauge_find found;
    struct err e = {0};

    memset(out, 0, sizeof *out);
    if (gauge_find(picture, pitch_mm, focal_px, stop, &found, &e)) {
        out->given = true;
        out->gap_mm = found.gap.gap_mm;
        out->gap_pm_mm = found.gap.uncertainty_mm;
        line_of(picture, found.axis, scale, out->axis_x, out->axis_y);
        line_of(picture, found.thread, scale, out->thread_x, out->thread_y);
        line_of(picture, found.across, scale, out->gap_x, out->gap_y);
        return true;
    }
    return e.code != ERR_CANCEL;
}
