#include "gauge/gauge_colour.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

/* Clipped: the top of eight bits after a JPEG's ripple. Dark: below this an eight-bit value is mostly
 * noise and rounding. Common practice, no source. */
#define CLIPPED 250
#define DARK 12
#define DARK_L 25.0 /* carbon's lightness; porcelain with oil or rust stays above. From our own truth set */
/* No surface gives back more light than falls on it: a perfect white is L* 100, the cleanest porcelain some 95, which
 * leaves 5 for noise and for a card that is not quite what it is said to be. Half a step above for rounding. */
#define WHITEST_L 100.5
/* A film shines in few spots; single bright pixels are noise or the grain of clean steel. On rendered plugs
 * oil's gloss lies mostly in spots of 1/250 of the nose and more, the grain of a strap in 1/1000 and less. */
#define LEAST_SPOT (1.0 / 500)

double gauge_linear(double value)
{
    double v = value / 255;

    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

void gauge_lab(const double linear[3], double lab[3])
{
    static const double m[3][3] = {{0.41239079926595934, 0.357584339383878, 0.1804807884018343},
                                   {0.21263900587151027, 0.715168678767756, 0.07219231536073371},
                                   {0.01933081871559182, 0.11919477979462598, 0.9505321522496607}};
    static const double white[3] = {0.9504559270516717, 1, 1.0890577507598784};
    double f[3];

    for (int i = 0; i < 3; i++) {
        double t = (m[i][0] * linear[0] + m[i][1] * linear[1] + m[i][2] * linear[2]) / white[i];

        f[i] = t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }
    lab[0] = 116 * f[1] - 16;
    lab[1] = 500 * (f[0] - f[1]);
    lab[2] = 200 * (f[1] - f[2]);
}

static double luminance(const double v[3])
{
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2];
}

static const uint8_t *pixel(const struct gauge_picture *p, int x, int y)
{
    return p->rgba + 4 * ((size_t)y * (size_t)p->width + (size_t)x);
}

bool gauge_light_read(const struct gauge_picture *p, const struct gauge_box *patch, double reflectance,
                      struct gauge_light *out, struct err *e)
{
    int x0 = (int)ceil(patch->x - 0.5), x1 = (int)ceil(patch->x + patch->width - 0.5);
    int y0 = (int)ceil(patch->y - 0.5), y1 = (int)ceil(patch->y + patch->height - 0.5);
    long n = 0, n_clipped = 0, n_dark = 0;
    double sum[3] = {0}, square = 0, lum = 0;

    if (!(reflectance >= 0.02 && reflectance <= 1))
        return err_set(e, ERR_BADARG, "A patch reflects between 0.02 and 1 of the light, not %g. A grey card has 0.18, white paper about 0.8.",
                       reflectance);
    if (x0 < 0 || y0 < 0 || x1 > p->width || y1 > p->height)
        return err_set(e, ERR_MEASURE, "The neutral patch reaches outside the picture of %d × %d px. Draw it inside the card.", p->width, p->height);
    if (x1 - x0 < 6 || y1 - y0 < 6)
        return err_set(e, ERR_MEASURE, "The neutral patch is smaller than 6 × 6 px. Draw it larger, inside the card.");
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            const uint8_t *q = pixel(p, x, y);
            double v[3], l;

            for (int c = 0; c < 3; c++)
                sum[c] += v[c] = gauge_linear(q[c]);
            l = luminance(v);
            lum += l;
            square += l * l;
            n_clipped += q[0] >= CLIPPED || q[1] >= CLIPPED || q[2] >= CLIPPED;
            n_dark += q[0] < DARK || q[1] < DARK || q[2] < DARK;
            n++;
        }
    if (n_clipped * 50 > n)
        return err_set(e, ERR_MEASURE, "The neutral patch is clipped: at least one colour of it is as bright as the picture can hold, so the light "
                       "cannot be told. Take the photo darker, or draw the patch on a greyer place.");
    if (n_dark * 10 > n)
        return err_set(e, ERR_MEASURE, "The neutral patch is too dark to tell the light by. Take the photo brighter, or light the card as the nose is lit.");
    lum /= (double)n;
    if (sqrt(fmax(square / (double)n - lum * lum, 0)) > 0.35 * lum)
        return err_set(e, ERR_MEASURE, "The neutral patch is not even: it seems to reach over the card's edge or a shadow. Draw it inside the card.");
    for (int c = 0; c < 3; c++)
        out->gain[c] = reflectance * (double)n / sum[c];
    return true;
}

/* Even-odd rule on the pixel's middle. */
static bool inside(const struct gauge_point *o, int n, double x, double y)
{
    bool in = false;

    for (int i = 0, j = n - 1; i < n; j = i++)
        if ((o[i].y > y) != (o[j].y > y) && x < (o[j].x - o[i].x) * (y - o[i].y) / (o[j].y - o[i].y) + o[i].x)
            in = !in;
    return in;
}

/* An outline's box and half its size about it, inside the picture. */
struct field {
    const struct gauge_picture *p;
    const struct gauge_light *light;
    double limit; /* brighter is a highlight */
    int x0, y0, width, height;
    uint8_t *state; /* of each pixel, as below */
    int *stack, n_stack;
};
enum { NOSE = 1, SEEN = 2 };

static bool field_make(struct field *f, const struct gauge_picture *p, const struct gauge_light *light, int x0, int y0, int x1, int y1)
{
    int across = (x1 - x0 + 1) / 2, down = (y1 - y0 + 1) / 2;
    size_t room;

    *f = (struct field){.p = p, .light = light, .x0 = x0 > across ? x0 - across : 0, .y0 = y0 > down ? y0 - down : 0};
    f->width = (x1 + across < p->width ? x1 + across : p->width) - f->x0;
    f->height = (y1 + down < p->height ? y1 + down : p->height) - f->y0;
    room = (size_t)f->width * (size_t)f->height;
    f->state = mem_try(room, sizeof *f->state);
    f->stack = mem_try(room, sizeof *f->stack);
    return f->state && f->stack;
}

static void field_release(struct field *f)
{
    free(f->state), free(f->stack);
}

static void field_visit(struct field *f, int x, int y)
{
    int at = y * f->width + x;
    const uint8_t *q = pixel(f->p, f->x0 + x, f->y0 + y);
    double v[3];

    if (f->state[at] & SEEN)
        return;
    f->state[at] |= SEEN;
    for (int c = 0; c < 3; c++)
        v[c] = gauge_linear(q[c]) * f->light->gain[c];
    if (luminance(v) > f->limit)
        f->stack[f->n_stack++] = at;
}

/* Pixels of highlights that are the nose's own, of n. A bright spot that lies more outside the outline than in it, or runs
 * on to the field's rim, is the strap's, or of whatever else is seen across the nose. */
static int own_highlights(struct field *f, int n)
{
    int own = 0;

    for (int y = 0; y < f->height; y++)
        for (int x = 0; x < f->width; x++) {
            int in = 0, out = 0;
            bool runs_on = false;

            if (!(f->state[y * f->width + x] & NOSE))
                continue;
            field_visit(f, x, y);
            while (f->n_stack > 0) {
                int at = f->stack[--f->n_stack], px = at % f->width, py = at / f->width;

                if (f->state[at] & NOSE)
                    in++;
                else
                    out++, runs_on |= px == 0 || py == 0 || px == f->width - 1 || py == f->height - 1;
                if (px > 0)
                    field_visit(f, px - 1, py);
                if (px < f->width - 1)
                    field_visit(f, px + 1, py);
                if (py > 0)
                    field_visit(f, px, py - 1);
                if (py < f->height - 1)
                    field_visit(f, px, py + 1);
            }
            if (in >= LEAST_SPOT * n && out <= in && !runs_on)
                own += in;
        }
    return own;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double sorted_at(double *v, int n, double share)
{
    assert(n > 0);
    qsort(v, (size_t)n, sizeof *v, by_value);
    return v[(int)(share * (n - 1) + 0.5)];
}

/* Deposits as mechanics tell them by eye: dark and matt, or shining as a wet surface does. The limits
 * are common practice put into figures on rendered plugs (dry ones show 0 to 0.007 of gloss, oily ones 0.009 to 0.15); no source. */
static void suggest_deposits(struct gauge_colour *c)
{
    bool glossy = c->gloss_share >= 0.008;

    if (c->dark_share >= 0.5 && !glossy) {
        c->suggested[c->n_suggested].id = "carbon";
        text_format(c->suggested[c->n_suggested++].reason, sizeof c->suggested[0].reason, "dark on %.0f %% of the nose, matt: dry carbon",
                    100 * c->dark_share);
    }
    if (glossy) {
        c->suggested[c->n_suggested].id = "wet-oil";
        text_format(c->suggested[c->n_suggested++].reason, sizeof c->suggested[0].reason, "highlights on %.0f %% of the nose, as on a wet surface: oil",
                    100 * c->gloss_share);
    }
}

bool gauge_colour_read(const struct gauge_picture *p, const struct gauge_point *outline, int n_corners,
                       const struct gauge_light *light, struct gauge_colour *out, struct err *e)
{
    double left = p->width, top = p->height, right = 0, bottom = 0, (*v)[3], *lum, *work, median[3], middle, limit;
    int n = 0, n_bad = 0, n_dark = 0, n_own, x0, x1, y0, y1;
    struct field field;
    size_t room;

    assert(n_corners >= 3 && n_corners <= GAUGE_MAX_CORNERS);
    *out = (struct gauge_colour){.n_pixels = 0};
    for (int i = 0; i < n_corners; i++) {
        left = fmin(left, outline[i].x), right = fmax(right, outline[i].x);
        top = fmin(top, outline[i].y), bottom = fmax(bottom, outline[i].y);
    }
    x0 = (int)fmax(floor(left), 0), x1 = (int)fmin(ceil(right), p->width);
    y0 = (int)fmax(floor(top), 0), y1 = (int)fmin(ceil(bottom), p->height);
    if (x1 <= x0 || y1 <= y0)
        return err_set(e, ERR_MEASURE, "The outline of the nose lies outside the picture of %d × %d px.", p->width, p->height);
    room = (size_t)(x1 - x0) * (size_t)(y1 - y0);
    v = mem_try(room, sizeof *v);
    lum = mem_try(room, sizeof *lum);
    work = mem_try(room, sizeof *work);
    if (!field_make(&field, p, light, x0, y0, x1, y1) || !v || !lum || !work) {
        free(v), free(lum), free(work), field_release(&field);
        return err_set(e, ERR_LIMIT, "There is not enough memory to read the nose's colour. Draw a smaller outline.");
    }
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            const uint8_t *q = pixel(p, x, y);

            if (!inside(outline, n_corners, x + 0.5, y + 0.5))
                continue;
            for (int c = 0; c < 3; c++)
                v[n][c] = gauge_linear(q[c]) * light->gain[c];
            n_bad += q[0] >= CLIPPED + 4 || q[1] >= CLIPPED + 4 || q[2] >= CLIPPED + 4 || (q[0] < 2 && q[1] < 2 && q[2] < 2);
            lum[n] = work[n] = luminance(v[n]);
            field.state[(y - field.y0) * field.width + x - field.x0] = NOSE;
            n++;
        }
    if (n < 30 || n_bad * 2 > n) {
        free(v), free(lum), free(work), field_release(&field);
        if (n < 30)
            return err_set(e, ERR_MEASURE, "The outline of the nose holds only %d pixels; 30 are needed. Draw it larger, or take the photo nearer.", n);
        return err_set(e, ERR_MEASURE, "Most of the nose is black, or as bright in some colour as the picture can hold, so its colour is not in the picture. Take the photo with another exposure.");
    }
    middle = sorted_at(work, n, 0.5);
    limit = 3 * middle + 0.15 * GAUGE_REFLECTANCE; /* soot scatters: three times nearly nothing is no highlight */
    for (int i = 0; i < n; i++) {
        const double grey[3] = {lum[i], lum[i], lum[i]};
        double lab[3];

        gauge_lab(grey, lab);
        n_dark += lab[0] < DARK_L;
    }
    field.limit = limit;
    n_own = own_highlights(&field, n);
    for (int c = 0; c < 3; c++) {
        int k = 0;

        for (int i = 0; i < n; i++)
            if (lum[i] <= limit)
                work[k++] = v[i][c];
        median[c] = sorted_at(work, k, 0.5);
    }
    gauge_lab(median, out->lab);
    for (int pass = 0; pass < 2; pass++) {
        double l = sorted_at(lum, n, pass ? 0.75 : 0.25), grey[3] = {l, l, l}, lab[3];

        gauge_lab(grey, lab);
        out->spread += pass ? lab[0] : -lab[0];
    }
    out->n_pixels = n;
    out->dark_share = (double)n_dark / n;
    out->gloss_share = (double)n_own / n;
    suggest_deposits(out);
    free(v), free(lum), free(work), field_release(&field);
    return out->lab[0] <= WHITEST_L ||
           err_set(e, ERR_MEASURE, "The nose comes out lighter than white (L* %.0f, white is 100): more light falls on it than on the neutral patch, or the patch reflects "
                   "less than is said. Put the card beside the nose, at its height and in the same light, and check the reflectance that is set for the patch.", out->lab[0]);
}
