#include "gauge/gauge_band.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

#define PI 3.14159265358979323846
#define COARSE_PX 640       /* longest side of the picture looked at: a plug's turns are 5 to 20 px of it */
#define TENSOR_PX 8         /* half a window in which edges run one way: two turns */
#define BINS 60             /* of direction, 3 degrees each */
#define DIRECTIONS 9        /* most looked at */
#define APART 2             /* bins between two of them */
#define PERIODS 34
#define SHORTEST_PX 3.6
#define RATIO 1.07          /* from one period to the next: a window of five turns tells no finer */
#define TURNS 5.0           /* of a window */
#define GRAIN2 4.0          /* grey levels squared that are no pattern */
#define STEP_X 4            /* of the map, px */
#define STEP_Y 3
#define LEAST_SHARP 0.8      /* of a score with the outlines */
#define LEAST 0.12          /* of a score; sand and cloth stay below */

bool gauge_stopped(const struct gauge_stop *stop)
{
    return stop != NULL && stop->wanted != NULL && stop->wanted(stop->ctx);
}

/* A grey picture. */
struct plane {
    int w, h;
    float *v;
};

static struct plane plane_make(int w, int h)
{
    return (struct plane){w, h, mem_alloc((size_t)w * (size_t)h, sizeof(float))};
}

/* Made smaller by whole-pixel means, `k` of them to one. */
static struct plane reduce(const struct gauge_picture *p, double k)
{
    struct plane out = plane_make((int)(p->width / k), (int)(p->height / k));

    for (int y = 0; y < out.h; y++) {
        int y0 = (int)(y * k), y1 = (int)((y + 1) * k);

        y1 = y1 > y0 ? y1 : y0 + 1;
        for (int x = 0; x < out.w; x++) {
            int x0 = (int)(x * k), x1 = (int)((x + 1) * k), sum = 0;

            x1 = x1 > x0 ? x1 : x0 + 1;
            for (int j = y0; j < y1; j++)
                for (int i = x0; i < x1; i++) {
                    const uint8_t *c = p->rgba + 4 * ((size_t)j * (size_t)p->width + (size_t)i);

                    sum += 5 * c[0] + 9 * c[1] + 2 * c[2];
                }
            out.v[(size_t)y * (size_t)out.w + (size_t)x] = (float)sum / 16 / (float)((y1 - y0) * (x1 - x0));
        }
    }
    return out;
}

/* Mean over 2 n + 1 pixels in rows and columns, fewer at the picture's edge. */
static void box_mean(struct plane *a, int n)
{
    int longest = a->w > a->h ? a->w : a->h;
    double *sum = mem_alloc((size_t)longest + 1, sizeof *sum);

    for (int way = 0; way < 2; way++) {
        int lines = way ? a->w : a->h, length = way ? a->h : a->w;
        size_t step = way ? (size_t)a->w : 1;

        for (int k = 0; k < lines; k++) {
            float *v = a->v + (way ? (size_t)k : (size_t)k * (size_t)a->w);

            for (int i = 0; i < length; i++)
                sum[i + 1] = sum[i] + v[(size_t)i * step];
            for (int i = 0; i < length; i++) {
                int from = i - n < 0 ? 0 : i - n, to = i + n + 1 > length ? length : i + n + 1;

                v[(size_t)i * step] = (float)((sum[to] - sum[from]) / (to - from));
            }
        }
    }
    free(sum);
}

/* How many pixels have edges that run one way, by that way: bins over half a turn of the gradient. */
static void directions(const struct plane *g, double votes[BINS])
{
    struct plane xx = plane_make(g->w, g->h), xy = plane_make(g->w, g->h), yy = plane_make(g->w, g->h);
    double raw[BINS] = {0};

    for (int y = 1; y + 1 < g->h; y++)
        for (int x = 1; x + 1 < g->w; x++) {
            size_t i = (size_t)y * (size_t)g->w + (size_t)x, w = (size_t)g->w;
            float dx = 2 * (g->v[i + 1] - g->v[i - 1]) + g->v[i + 1 - w] - g->v[i - 1 - w] + g->v[i + 1 + w] - g->v[i - 1 + w];
            float dy = 2 * (g->v[i + w] - g->v[i - w]) + g->v[i + w - 1] - g->v[i - w - 1] + g->v[i + w + 1] - g->v[i - w + 1];
            float n2 = dx * dx + dy * dy, k = 1 / (1 + sqrtf(n2) / 60); /* a card's rim is not to outshine the turns beside it */

            xx.v[i] = k * dx * dx, xy.v[i] = k * dx * dy, yy.v[i] = k * dy * dy;
        }
    box_mean(&xx, TENSOR_PX), box_mean(&xy, TENSOR_PX), box_mean(&yy, TENSOR_PX);
    for (int y = 0; y < g->h; y += 2)
        for (int x = 0; x < g->w; x += 2) {
            size_t i = (size_t)y * (size_t)g->w + (size_t)x;
            double a = xx.v[i], b = xy.v[i], c = yy.v[i], sum = a + c, coherent = hypot(a - c, 2 * b) / (sum + 30), angle = 0.5 * atan2(2 * b, a - c);

            raw[(int)floor((angle / PI + 1) * BINS) % BINS] += coherent * coherent * coherent;
        }
    for (int k = 0; k < BINS; k++)
        votes[k] = raw[(k + BINS - 1) % BINS] + 2 * raw[k] + raw[(k + 1) % BINS];
    free(xx.v), free(xy.v), free(yy.v);
}

/* Part of the picture turned so that a direction lies along its rows; outside the picture `seen` is 0. */
struct turned {
    struct plane grey, seen;
    double *grey_to, *seen_to;     /* sums of each row up to a pixel, w + 1 a row */
    int (*span)[2];                /* of each row: its first pixel that is seen, and the one behind the last */
    double ux, uy, x0, y0, step_y; /* first pixel of the first row, in turned coordinates; px a row */
    size_t room, rows;             /* pixels and rows that there is memory for: one is turned after another */
};

typedef double pair __attribute__((vector_size(16))); /* a place, or cosine and sine: worked on at once */

/* A line to be looked at: the place of its first pixel is a0 of (ux, uy) from `from`. */
struct line {
    const struct plane *g;
    pair u, from;
    double a0;
};

static inline pair place_of(const struct line *l, int i)
{
    const double a = l->a0 + i;

    return a * l->u - l->from - 0.5;
}

static inline bool inside(const struct line *l, int i)
{
    const pair at = place_of(l, i);

    return at[0] >= 0 && at[1] >= 0 && at[0] < l->g->w - 1 && at[1] < l->g->h - 1;
}

/* Adds a line to a row of w pixels. What of it lies inside the picture lies together. */
static void add_line(const struct line *l, int w, float *grey, float *seen)
{
    const size_t width = (size_t)l->g->w;
    int first = 0;

    while (first < w && !inside(l, first))
        first++;
    while (w > first && !inside(l, w - 1))
        w--;
    for (int i = first; i < w; i++) {
        const pair at = place_of(l, i);
        const int x = (int)at[0], y = (int)at[1];
        const float fx = (float)(at[0] - x), fy = (float)(at[1] - y), *v = l->g->v + (size_t)y * width + (size_t)x;

        grey[i] += (1 - fy) * ((1 - fx) * v[0] + fx * v[1]) + fy * ((1 - fx) * v[width] + fx * v[width + 1]);
        seen[i] += 1;
    }
}

/* Of row j: means of its lines, what is seen in more than half of them, and both summed up. */
static void finish_row(struct turned *t, int j, int lines)
{
    const size_t w = (size_t)t->grey.w;
    float *grey = t->grey.v + (size_t)j * w, *seen = t->seen.v + (size_t)j * w;
    double *grey_to = t->grey_to + (size_t)j * (w + 1), *seen_to = t->seen_to + (size_t)j * (w + 1), sum = 0, n = 0;
    int first = 0, behind = 0;

    grey_to[0] = seen_to[0] = 0;
    for (int i = 0; i < t->grey.w; i++) {
        if (seen[i] > 0) {
            grey[i] /= seen[i];
            seen[i] = seen[i] > (float)lines / 2;
            if (seen[i] > 0)
                first = behind > 0 ? first : i, behind = i + 1;
            sum += (double)grey[i], n += (double)seen[i];
        }
        grey_to[i + 1] = sum, seen_to[i + 1] = n;
    }
    t->span[j][0] = first, t->span[j][1] = behind;
}

static void turned_release(struct turned *t)
{
    free(t->grey.v), free(t->seen.v), free(t->grey_to), free(t->seen_to), free(t->span);
}

/* Makes room for planes of w by h, which are 0. */
static void turned_clear(struct turned *t, int w, int h)
{
    const size_t n = (size_t)(w + 1) * (size_t)h;

    if (n > t->room || (size_t)h > t->rows) {
        turned_release(t);
        t->room = n, t->rows = (size_t)h;
        t->grey.v = mem_alloc(n, sizeof *t->grey.v), t->seen.v = mem_alloc(n, sizeof *t->seen.v);
        t->grey_to = mem_alloc(n, sizeof *t->grey_to), t->seen_to = mem_alloc(n, sizeof *t->seen_to);
        t->span = mem_alloc((size_t)h, sizeof *t->span);
    } else {
        memset(t->grey.v, 0, n * sizeof *t->grey.v), memset(t->seen.v, 0, n * sizeof *t->seen.v);
    }
    t->grey.w = t->seen.w = w, t->grey.h = t->seen.h = h;
}

static void turn(const struct plane *g, double angle, double x0, double x1, double y0, double y1, double step_y, struct turned *t)
{
    int lines = (int)ceil(step_y);

    turned_clear(t, (int)(x1 - x0) + 1, (int)((y1 - y0) / step_y) + 1);
    t->ux = cos(angle), t->uy = sin(angle), t->x0 = x0, t->y0 = y0, t->step_y = step_y;
    for (int j = 0; j < t->grey.h; j++) {
        const size_t at = (size_t)j * (size_t)t->grey.w;

        for (int m = 0; m < lines; m++) {
            const double b = y0 + (j + (m + 0.5) / lines - 0.5) * step_y;

            add_line(&(struct line){g, {t->ux, t->uy}, {b * t->uy, -(b * t->ux)}, x0}, t->grey.w, t->grey.v + at, t->seen.v + at);
        }
        finish_row(t, j, lines);
    }
}

/* The whole of it. */
static void turn_all(const struct plane *g, double angle, double step_y, struct turned *t)
{
    double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;

    for (int k = 0; k < 4; k++) {
        double x = k & 1 ? g->w : 0, y = k & 2 ? g->h : 0, a = x * cos(angle) + y * sin(angle), b = -x * sin(angle) + y * cos(angle);

        x0 = fmin(x0, a), x1 = fmax(x1, a), y0 = fmin(y0, b), y1 = fmax(y1, b);
    }
    turn(g, angle, x0, x1, y0, y1, step_y, t);
}

/* A row's waves of a period and of half of it, and its squares, each summed up to a pixel. */
struct waves {
    pair whole, half;
    double square;
};

/* Share of what a window of so many turns shows that has this period or half of it, for every STEP_X-th place of every row. `room` is
 * twice as long as a row and one more. */
static void share_map(const struct turned *t, double period, double turns, struct waves *room, struct plane *out)
{
    int w = t->grey.w, half = (int)lround(turns / 2 * period), smooth = (int)lround(0.75 * period);
    struct waves *wave = room, *to = room + w;

    for (int i = 0; i < w; i++) {
        double c = cos(2 * PI / period * i), s = sin(2 * PI / period * i);

        wave[i] = (struct waves){{c, s}, {c * c - s * s, 2 * c * s}, 0};
    }
    to[0] = (struct waves){0};
    for (int j = 0; j < t->grey.h; j++) {
        const float *v = t->grey.v + (size_t)j * (size_t)w, *seen = t->seen.v + (size_t)j * (size_t)w;
        const double *at = t->grey_to + (size_t)j * ((size_t)w + 1), *n_seen = t->seen_to + (size_t)j * ((size_t)w + 1);
        float *share = out->v + (size_t)j * (size_t)out->w;
        const int first = t->span[j][0], behind = t->span[j][1];
        struct waves sum = {0};

        for (int i = 1; i <= first; i++) /* nothing is seen there */
            to[i] = sum;
        for (int i = first; i < behind; i++) {
            int from = i - smooth < 0 ? 0 : i - smooth, next = i + smooth + 1 > w ? w : i + smooth + 1;
            double x = seen[i] > 0 ? (double)v[i] - (at[next] - at[from]) / (n_seen[next] - n_seen[from]) : 0;

            sum.whole += x * wave[i].whole;
            sum.half += x * wave[i].half;
            sum.square += x * x;
            to[i + 1] = sum;
        }
        for (int i = behind; i < w; i++)
            to[i + 1] = sum;
        for (int k = 0; k < out->w; k++) {
            int i = k * STEP_X, a = i - half < 0 ? 0 : i - half, b = i + half > w ? w : i + half;
            double n = n_seen[b] - n_seen[a];
            pair one = to[b].whole - to[a].whole, two = to[b].half - to[a].half;

            one *= one, two *= two;
            /* where too little of the window is seen: not known */
            share[k] = n < 1.4 * half ? -1 : (float)fmin(2 * (one[0] + one[1] + two[0] + two[1]) / (n * (to[b].square - to[a].square + GRAIN2 * n)), 1);
        }
    }
}

/* Sums over rectangles of the map; what is not seen does not count. */
struct table {
    int w, h;
    double *sum, *n;
};

static void table_fill(struct table *t, const struct plane *map)
{
    memset(t->sum, 0, (size_t)t->w * sizeof *t->sum), memset(t->n, 0, (size_t)t->w * sizeof *t->n);
    for (int y = 0; y < map->h; y++) {
        const float *v = map->v + (size_t)y * (size_t)map->w;
        double *sum = t->sum + (size_t)(y + 1) * (size_t)t->w, *n = t->n + (size_t)(y + 1) * (size_t)t->w, row = 0, row_n = 0;

        sum[0] = n[0] = 0;
        for (int x = 0; x < map->w; x++) {
            if (v[x] >= 0)
                row += (double)v[x], row_n++;
            sum[x + 1] = sum[x + 1 - t->w] + row;
            n[x + 1] = n[x + 1 - t->w] + row_n;
        }
    }
}

/* Mean over x0..x1, y0..y1 (ends not included); -1 when less than `part` of it is seen. */
static double table_mean(const struct table *t, int x0, int x1, int y0, int y1, double part)
{
    int all = (x1 - x0) * (y1 - y0);
    size_t a, b, c, d;
    double n;

    x0 = x0 < 0 ? 0 : x0, y0 = y0 < 0 ? 0 : y0, x1 = x1 > t->w - 1 ? t->w - 1 : x1, y1 = y1 > t->h - 1 ? t->h - 1 : y1;
    if (x1 <= x0 || y1 <= y0)
        return -1;
    a = (size_t)y0 * (size_t)t->w + (size_t)x0, b = (size_t)y0 * (size_t)t->w + (size_t)x1;
    c = (size_t)y1 * (size_t)t->w + (size_t)x0, d = (size_t)y1 * (size_t)t->w + (size_t)x1;
    n = t->n[d] - t->n[b] - t->n[c] + t->n[a];
    return n >= part * all && n > 0 ? (t->sum[d] - t->sum[b] - t->sum[c] + t->sum[a]) / n : -1;
}

/* The table at both ends of some columns, which many means are taken over. */
struct rows {
    double *sum[2], *n[2];
};

static struct rows rows_make(const struct table *t, int x0, int x1)
{
    struct rows r;

    for (int e = 0; e < 2; e++) {
        r.sum[e] = mem_alloc((size_t)t->h, sizeof(double)), r.n[e] = mem_alloc((size_t)t->h, sizeof(double));
        for (int y = 0; y < t->h; y++) {
            size_t at = (size_t)y * (size_t)t->w + (size_t)(e ? x1 : x0);

            r.sum[e][y] = t->sum[at], r.n[e][y] = t->n[at];
        }
    }
    return r;
}

static void rows_release(struct rows *r)
{
    for (int e = 0; e < 2; e++)
        free(r->sum[e]), free(r->n[e]);
}

/* As table_mean() over these columns, n_x of them, and rows that lie in the table. */
static double rows_mean(const struct rows *r, int n_x, int y0, int y1, double part)
{
    double n = r->n[1][y1] - r->n[1][y0] - r->n[0][y1] + r->n[0][y0];

    return n >= part * (n_x * (y1 - y0)) && n > 0 ? (r->sum[1][y1] - r->sum[1][y0] - r->sum[0][y1] + r->sum[0][y0]) / n : -1;
}

static void keep(struct gauge_band *best, int *n_best, const struct gauge_band *b)
{
    int place = *n_best;

    for (int k = 0; k < *n_best; k++) { /* of two that overlap the better one */
        double dx = best[k].middle.x - b->middle.x, dy = best[k].middle.y - b->middle.y;

        if (hypot(dx, dy) > 0.4 * fmax(best[k].width_px, b->width_px))
            continue;
        if (best[k].score >= b->score)
            return;
        memmove(best + k, best + k + 1, (size_t)(*n_best - k - 1) * sizeof *best);
        --*n_best, k--;
    }
    for (place = *n_best; place > 0 && best[place - 1].score < b->score; place--)
        ;
    if (place >= GAUGE_MAX_BANDS)
        return;
    if (*n_best == GAUGE_MAX_BANDS)
        --*n_best;
    memmove(best + place + 1, best + place, (size_t)(*n_best - place) * sizeof *best);
    best[place] = *b;
    ++*n_best;
}

/* Bands of this direction and period: as many periods wide as threads are, at least six turns long. */
static void bands_of(const struct turned *t, const struct table *sums, double period, struct gauge_band *best, int *n_best)
{
    /* major diameter over pitch of M8x1 to M18x1.5; the window smears nothing across */
    static const double ratios[] = {8, 9.8, 11.6};
    static const double turns[] = {6, 9, 14}; /* between the middles of the first window and the last are three less */

    for (size_t r = 0; r < sizeof ratios / sizeof *ratios; r++)
        for (size_t m = 0; m < sizeof turns / sizeof *turns; m++) {
            int high = (int)lround(ratios[r] * period / t->step_y), wide = (int)lround((turns[m] - 3) * period / STEP_X), skip = high / 16 + 1, margin = high / 4;
            int step_x = wide / 6 + 1, step_y = high / 16 + 1;

            if (high < 8 || high > sums->h - 1 || wide < 2)
                continue;
            for (int y = 0; y + high < sums->h; y += step_y)
                for (int x = 0; x + wide < sums->w; x += step_x) {
                    double in = table_mean(sums, x, x + wide, y + high / 10, y + high - high / 10, 0.9), above, below, score;

                    if (in < LEAST)
                        continue;
                    above = table_mean(sums, x, x + wide, y - skip - margin, y - skip, 0.4);
                    below = table_mean(sums, x, x + wide, y + high + skip, y + high + skip + margin, 0.4);
                    if (above < 0 && below < 0)
                        continue;
                    score = (in - fmax(above, below)) * (1 - 0.8 / turns[m]);
                    if (score > LEAST) {
                        double a = t->x0 + (x + wide / 2.0) * STEP_X, b = t->y0 + (y + high / 2.0) * t->step_y;

                        keep(best, n_best, &(struct gauge_band){{a * t->ux - b * t->uy, a * t->uy + b * t->ux}, t->ux, t->uy,
                                                                turns[m] * period, ratios[r] * period, period, score});
                    }
                }
        }
}

/* Room for maps of one turned picture, and of the next. */
struct maps {
    struct plane share;
    struct table sums;
    struct waves *room;
    size_t n_share, n_sums, n_room;
};

static void maps_release(struct maps *m)
{
    free(m->share.v), free(m->sums.sum), free(m->sums.n), free(m->room);
}

static void maps_for(struct maps *m, const struct turned *t)
{
    const int w = (t->grey.w + STEP_X - 1) / STEP_X, h = t->grey.h;
    const size_t n_share = (size_t)w * (size_t)h, n_sums = (size_t)(w + 1) * (size_t)(h + 1), n_room = 2 * (size_t)t->grey.w + 1;

    if (n_share > m->n_share || n_sums > m->n_sums || n_room > m->n_room) {
        maps_release(m);
        m->n_share = n_share, m->n_sums = n_sums, m->n_room = n_room;
        m->share.v = mem_alloc(n_share, sizeof *m->share.v), m->room = mem_alloc(n_room, sizeof *m->room);
        m->sums.sum = mem_alloc(n_sums, sizeof *m->sums.sum), m->sums.n = mem_alloc(n_sums, sizeof *m->sums.n);
    }
    m->share.w = w, m->share.h = h;
    m->sums.w = w + 1, m->sums.h = h + 1;
}

/* Direction, outlines and period again, from what lies near the band: the outlines are where repeating ends on
 * both sides, in every third of the length. */
static void sharpen(const struct plane *g, double reach_deg, double step_deg, bool twice, struct gauge_band *b)
{
    enum { PIECES = 3 };
    struct gauge_band best = *b;
    double angle = atan2(b->uy, b->ux);
    struct turned t = {0};
    struct maps m = {0};

    best.score = -1;
    for (double off = -reach_deg; off <= reach_deg + 0.01; off += step_deg)
        for (int octave = 0; octave <= (twice ? 1 : 0); octave++) { /* twice the period: one edge of a turn may be as bright as the other */
            double a = angle + off * PI / 180, mx = b->middle.x * cos(a) + b->middle.y * sin(a), my = -b->middle.x * sin(a) + b->middle.y * cos(a);
            double about = b->period_px * (octave + 1), length = fmax(b->length_px, 6 * about), half_x = length / 2 + 2 * about;
            double half_y = fmax(0.95 * b->width_px, (octave ? 1.6 : 1) * 7 * about);

            turn(g, a, mx - half_x, mx + half_x, my - half_y, my + half_y, 2, &t);
            maps_for(&m, &t);
            for (int k = -3; k <= 3; k++) {
                double period = about * (1 + 0.04 * reach_deg / 12 * k);
                int margin = (int)fmax(2, 1.2 * period / t.step_y), from = (int)(2 * period / STEP_X), n_x = m.share.w - 2 * from;
                double *edge[2];
                struct rows rows;

                if (n_x < PIECES)
                    continue;
                share_map(&t, period, 3.5, m.room, &m.share);
                table_fill(&m.sums, &m.share);
                rows = rows_make(&m.sums, from, from + n_x);
                for (int side = 0; side < 2; side++) { /* contrast of what lies within an outline here and beyond it */
                    edge[side] = mem_alloc((size_t)m.share.h, sizeof *edge[side]);
                    for (int y = 0; y < m.share.h; y++)
                        for (int p = 0; p < PIECES; p++) {
                            int x0 = from + p * n_x / PIECES, x1 = from + (p + 1) * n_x / PIECES;
                            double up = table_mean(&m.sums, x0, x1, y - margin, y, 0.6), down = table_mean(&m.sums, x0, x1, y, y + margin, 0.6);

                            if (up >= 0 && down >= 0)
                                edge[side][y] += (side ? up - down : down - up) / PIECES;
                        }
                }
                for (int y = 0; y < m.share.h; y++)
                    for (int h = (int)(7.4 * period / t.step_y); h <= 13 * period / t.step_y && y + h < m.share.h; h++) {
                        double in = rows_mean(&rows, n_x, y, y + h, 0.8), score = in + 0.5 * (edge[0][y] + edge[1][y + h]);

                        if (in >= 0 && score > best.score) {
                            double across = t.y0 + (y + h / 2.0) * t.step_y;

                            best = (struct gauge_band){{mx * t.ux - across * t.uy, mx * t.uy + across * t.ux}, t.ux, t.uy, length, h * t.step_y, period, score};
                        }
                    }
                rows_release(&rows);
                free(edge[0]), free(edge[1]);
            }
        }
    maps_release(&m);
    turned_release(&t);
    *b = best;
}

/* How far it goes on repeating both ways: middle and length. */
static void stretch(const struct plane *g, struct gauge_band *b)
{
    double mx = b->middle.x * b->ux + b->middle.y * b->uy, my = -b->middle.x * b->uy + b->middle.y * b->ux, most = 0, from, to, half = b->width_px * 2.2;
    struct turned t = {0};
    struct maps m = {0};
    double *in;
    int middle, a, c;

    turn(g, atan2(b->uy, b->ux), mx - half, mx + half, my - 0.4 * b->width_px, my + 0.4 * b->width_px, 2, &t);
    maps_for(&m, &t);
    share_map(&t, b->period_px, 2.5, m.room, &m.share);
    table_fill(&m.sums, &m.share);
    in = mem_alloc((size_t)m.share.w, sizeof *in);
    middle = m.share.w / 2;
    for (int x = 0; x < m.share.w; x++) {
        in[x] = table_mean(&m.sums, x, x + 1, 0, m.share.h, 0.5);
        if (abs(x - middle) * STEP_X < b->length_px / 3)
            most = fmax(most, in[x]);
    }
    for (a = middle; a > 0 && in[a - 1] > 0.5 * most; a--)
        ;
    for (c = middle; c + 1 < m.share.w && in[c + 1] > 0.5 * most; c++)
        ;
    from = t.x0 + a * STEP_X - b->period_px / 2, to = t.x0 + c * STEP_X + b->period_px / 2;
    mx = (from + to) / 2;
    b->middle = (struct gauge_point){mx * b->ux - my * b->uy, mx * b->uy + my * b->ux};
    b->length_px = to - from;
    free(in);
    maps_release(&m);
    turned_release(&t);
}

int gauge_band_find(const struct gauge_picture *p, const struct gauge_stop *stop, struct gauge_band out[GAUGE_MAX_BANDS])
{
    double scale = fmax(1, fmax(p->width, p->height) / (double)COARSE_PX), votes[BINS];
    struct turned t = {0};
    struct maps m = {0};
    struct plane g;
    int n_best = 0;

    if (p->width < 64 || p->height < 64)
        return 0;
    g = reduce(p, scale);
    directions(&g, votes);
    for (int d = 0; d < DIRECTIONS && !gauge_stopped(stop); d++) {
        int top = 0;

        for (int k = 1; k < BINS; k++)
            if (votes[k] > votes[top])
                top = k;
        if (votes[top] <= 0)
            break;
        for (int k = -APART; k <= APART; k++)
            votes[(top + k + BINS) % BINS] = 0;
        turn_all(&g, (top + 0.5) * PI / BINS, STEP_Y, &t);
        maps_for(&m, &t);
        for (int k = 0; k < PERIODS && !gauge_stopped(stop); k++) {
            double period = SHORTEST_PX * pow(RATIO, k);

            share_map(&t, period, TURNS, m.room, &m.share);
            table_fill(&m.sums, &m.share);
            bands_of(&t, &m.sums, period, out, &n_best);
        }
    }
    maps_release(&m);
    turned_release(&t);
    for (int k = 0; k < n_best && !gauge_stopped(stop); k++)
        sharpen(&g, 12, 2, true, &out[k]);
    for (int k = 1; k < n_best; k++)
        for (int i = k; i > 0 && out[i - 1].score < out[i].score; i--) {
            struct gauge_band swap = out[i];

            out[i] = out[i - 1], out[i - 1] = swap;
        }
    for (int k = 0; k < n_best && !gauge_stopped(stop); k++) {
        struct gauge_band *b = &out[k];

        if (b->score < LEAST_SHARP) {
            n_best = k;
            break;
        }
        stretch(&g, b);
        sharpen(&g, 2.4, 0.6, false, b);
        stretch(&g, b);
        b->middle.x *= scale, b->middle.y *= scale;
        b->length_px *= scale, b->width_px *= scale, b->period_px *= scale;
    }
    free(g.v);
    return gauge_stopped(stop) ? 0 : n_best;
}
