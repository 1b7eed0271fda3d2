#include "app/measure.h"
#include "app/measure_offer.h"
#include "app/measure_scale.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/background.h"
#include "base/colour.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_around.h"
#include "gauge/gauge_colour.h"
#include "engine/engine.h"
#include "gauge/gauge_gap.h"
#include "gauge/gauge_which.h"
#include "photo/pool.h"

/* A hand at the mouse is good to some pixels of the screen; edges are looked for within as many of the
 * picture. A picture of finer scale is made smaller first, and the ends found there are what the full
 * size starts from. */
#define COARSE_PX_PER_MM 32.0
#define PAUSE_MS 300 /* before lines are looked for: somebody who only leafs through photos does not wait for it */
#define LINE_PX 360.0 /* a scale line is read over so many pixels at the most */

/* Marked copies that are wanted. */
struct save {
    bool asked, done;
    char original[1400], folder[1100], path[1400];
    struct logbook_photo photo;
    struct report_mark *marks; /* owned */
    size_t n;
    struct err err;
};

/* Lengths as they were read: a grey patch that is drawn changes none of them, and what is taken back and done again is not read
 * again. The question tells all they rest on, since an original never changes. */
#define MOST_READ 8
#define LAST_LENGTH MARK_GAP /* of the kinds of marks; those behind are of colours */
struct lengths_read {
    struct measure_question of;
    struct photo_measured got;
};

struct measurer {
    struct background back; /* its lock guards all below but pool */
    struct photo_pool *pool; /* the thread's own */
    bool asked, running, ready;
    struct measure_question wanted;
    struct photo_measured result;
    struct save save;
    struct measure_offers found; /* the thread's own */
    struct lengths_read read[MOST_READ]; /* the thread's own, the latest first */
    int n_read;
    void (*wake)(void *ctx);
    void *ctx;
};

/* ---- questions ---- */

void measure_question_make(struct measure_question *q, const struct logbook_photo *p, const char *path, const char *thread,
                           const struct logbook_mark *marks, size_t n_marks)
{
    memset(q, 0, sizeof *q);
    text_copy(q->path, sizeof q->path, path);
    text_copy(q->photo, sizeof q->photo, p->id);
    text_copy(q->thread, sizeof q->thread, thread);
    q->width = p->width;
    q->height = p->height;
    for (size_t i = 0; i < n_marks; i++)
        if (marks[i].kind <= MARK_NOSE && strcmp(marks[i].photo, p->id) == 0) {
            q->has[marks[i].kind] = true;
            q->marks[marks[i].kind] = marks[i];
        }
    if (q->has[MARK_SCALE] && q->marks[MARK_SCALE].thread[0] != '\0') /* said of this photo: not the card's plug */
        text_copy(q->thread, sizeof q->thread, q->marks[MARK_SCALE].thread);
}

static bool same_mark(const struct logbook_mark *a, const struct logbook_mark *b)
{
    return strcmp(a->hex, b->hex) == 0 && strcmp(a->lies, b->lies) == 0 && strcmp(a->marks, b->marks) == 0 && a->n_points == b->n_points && memcmp(a->x, b->x, (size_t)a->n_points * sizeof a->x[0]) == 0 &&
           memcmp(a->y, b->y, (size_t)a->n_points * sizeof a->y[0]) == 0 && memcmp(&a->known, &b->known, sizeof a->known) == 0;
}

/* As far as marks up to this kind ask. */
static bool same_up_to(const struct measure_question *a, const struct measure_question *b, enum mark_kind last)
{
    if (strcmp(a->photo, b->photo) != 0 || strcmp(a->path, b->path) != 0 || strcmp(a->thread, b->thread) != 0)
        return false;
    for (int i = 0; i <= (int)last; i++)
        if (a->has[i] != b->has[i] || (a->has[i] && !same_mark(&a->marks[i], &b->marks[i])))
            return false;
    return true;
}

bool measure_question_same(const struct measure_question *a, const struct measure_question *b)
{
    return a->find == b->find && same_up_to(a, b, MARK_NOSE);
}

/* ---- pixels ---- */

/* A part of the photo, or all of it made smaller; what it shows. */
struct part {
    struct photo_pixels px;
    double x, y;      /* of its corner in the photo */
    double scale;     /* px of the photo for one of its own */
    double focal_px;  /* of the part's own pixels, 0 unknown */
};

static bool fetch(struct measurer *m, const char *path, int width, int height, const struct photo_region *region, int max_px, struct part *out, struct err *e)
{
    struct photo_job job = {.work = region != NULL ? PHOTO_WORK_REGION : PHOTO_WORK_DECODE, .path = path, .urgent = true, .max_px = max_px, .shrink = 1};
    struct photo_result r;
    size_t n_bytes;

    if (region != NULL)
        job.region = *region;
    photo_pool_submit(m->pool, &job);
    if (!photo_pool_wait(m->pool, &r))
        return err_set(e, ERR_IO, "The photo cannot be read.");
    if (!r.ok) {
        *e = r.err;
        photo_result_release(&r);
        return false;
    }
    memset(out, 0, sizeof *out);
    n_bytes = (size_t)r.width * (size_t)r.height * 4;
    out->px = (struct photo_pixels){r.width, r.height, mem_try(n_bytes, 1)};
    if (out->px.rgba != NULL)
        memcpy(out->px.rgba, r.rgba, n_bytes);
    out->x = region != NULL ? region->x : 0;
    out->y = region != NULL ? region->y : 0;
    out->scale = region != NULL ? 1 : (double)width / r.width;
    /* a film frame is 36 mm wide; what a lens sees of it is told along the longer side */
    out->focal_px = r.info.focal_as_35mm_mm / 36 * fmax(width, height) / out->scale;
    photo_result_release(&r);
    return out->px.rgba != NULL || err_set(e, ERR_LIMIT, "There is not enough memory to measure in this photo.");
}

/* Widens a reach by two kinds of marks and what lies about them. */
static void widen(const struct measure_question *q, enum mark_kind a, enum mark_kind b, double times, struct gauge_reach *reach)
{
    struct gauge_point at[2 * MARK_MAX_POINTS];
    const enum mark_kind kinds[] = {a, b};
    int n = 0;

    for (int k = 0; k < (a == b ? 1 : 2); k++)
        for (int i = 0; q->has[kinds[k]] && i < q->marks[kinds[k]].n_points; i++)
            at[n++] = (struct gauge_point){q->marks[kinds[k]].x[i], q->marks[kinds[k]].y[i]};
    gauge_around_widen(reach, at, n, times);
}

static struct photo_region region_of(const struct measure_question *q, const struct gauge_reach *reach)
{
    struct gauge_around p = gauge_around_of(reach, q->width, q->height);

    return (struct photo_region){p.x, p.y, p.width, p.height};
}

static struct gauge_picture picture_of(const struct part *p)
{
    return (struct gauge_picture){p->px.width, p->px.height, p->px.rgba};
}

static void points_of(const struct part *p, const struct logbook_mark *mark, struct gauge_point *to)
{
    for (int i = 0; i < mark->n_points; i++)
        to[i] = (struct gauge_point){(mark->x[i] - p->x) / p->scale, (mark->y[i] - p->y) / p->scale};
}

static void to_photo(const struct part *p, double x, double y, double *px, double *py)
{
    *px = p->x + x * p->scale;
    *py = p->y + y * p->scale;
}

/* ---- scale ---- */

static void thread_sentence(const struct gauge_thread *t, bool named, const char *thread, char *to, size_t n_room)
{
    size_t used = 0;

    to[0] = '\0';
    if (!named) {
        text_format(to, n_room, "The engine's card names no thread. By its width it is an %s, and no other. ", thread);
        used = strlen(to);
    }
    if (t->on_outline)
        text_copy(to + used, n_room - used, "The outline of the thread lies as far away as the gap.");
    else if (t->distance_mm > 0)
        text_format(to + used, n_room - used, "The middle of the thread lies nearer than the gap; taken from %.0f mm away by the focal length, that is allowed for. Along the outline it would not have to be.", t->distance_mm);
    else
        text_copy(to + used, n_room - used, "The middle of the thread lies nearer than the gap, how much is not known without a focal length: hence the wide ±. Draw along the outline instead.");
}

/* Which thread it is, where none was named for this photo: the card's, unless the picture shows that it is another; without a
 * card's the only one that is as wide as what is seen. False where a person has to say it, or there is none. */
static bool tell_thread(const struct gauge_picture *picture, const struct gauge_point ends[2], double focal_px, const char *card, struct gauge_line *drawn, char thread[24],
                        struct photo_measured *out)
{
    struct photo_scale *s = &out->scales[PHOTO_SCALE_THREAD];
    char names[120], apart[100], why[120];
    struct gauge_which w;
    struct err e = {0};
    bool fits = card[0] != '\0'; /* one that the table does not have is taken as said */

    text_copy(thread, 24, card);
    if (!gauge_which_read(picture, ends, 0, focal_px, drawn, &w, &e)) {
        text_copy(s->words, sizeof s->words, e.text);
        return card[0] != '\0';
    }
    for (int i = 0; i < w.n; i++)
        fits &= strcmp(w.rows[i].thread, card) != 0 || w.rows[i].fits;
    if (fits)
        return true;
    if (card[0] == '\0' && w.n_fit == 1) {
        text_copy(thread, 24, w.rows[0].thread);
        return true;
    }
    out->n_which = w.n_fit < PHOTO_MAX_WHICH ? w.n_fit : PHOTO_MAX_WHICH;
    for (int i = 0; i < out->n_which; i++)
        text_copy(out->which[i], sizeof out->which[i], w.rows[i].thread);
    gauge_which_names(&w, names, sizeof names);
    if (card[0] != '\0')
        text_format(why, sizeof why, "The engine's card says %s, which is not as wide.", card);
    else
        text_copy(why, sizeof why, "The engine's card names none.");
    if (w.n_fit == 1)
        text_copy(apart, sizeof apart, "");
    else if (gauge_which_spread(&w) > 0)
        text_format(apart, sizeof apart, ", and the gap up to %.0f %% another", 100 * gauge_which_spread(&w));
    else
        text_copy(apart, sizeof apart, ": their scale is the same, their electrodes are not as thick");
    text_format(s->words, sizeof s->words, "Which thread is it? %s By its width, %.1f times its pitch, it may be %s%s. It stands on the plug's box; or measure across the thread: an M14 is 14 mm.", why, w.wide, names, apart);
    return false;
}

/* Asks for the thread where the one on the card was read, and the outlines stand where another one has them. */
static void ask_other(const struct gauge_other *other, const char *card, struct photo_measured *out)
{
    struct photo_scale *s = &out->scales[PHOTO_SCALE_THREAD];

    out->n_which = 1;
    text_copy(out->which[0], sizeof out->which[0], other->thread);
    text_format(s->words, sizeof s->words, "Which thread is it? The engine's card says %s, but its outlines stand as far apart as those of an %s, and the gap would be %.0f %% %s. It stands on the plug's box; or measure across the thread: an M14 is 14 mm. Where the card is right, say so under Scale, of this photo.",
                card, other->thread, 100 * fabs(other->wider), other->wider > 0 ? "wider" : "narrower");
}

static bool read_thread(const struct part *p, const struct measure_question *q, char thread[24], struct gauge_thread *t, struct photo_measured *out)
{
    const struct logbook_mark *line = &q->marks[MARK_SCALE];
    struct photo_scale *s = &out->scales[PHOTO_SCALE_THREAD];
    struct gauge_picture picture = picture_of(p);
    struct gauge_point ends[2];
    struct gauge_other other;
    struct err e = {0};
    double mx, my, half, along, major_mm, pitch_mm;
    struct gauge_line *drawn = gauge_line_create();
    bool told, fine = false;

    points_of(p, line, ends);
    text_copy(thread, 24, q->thread);
    told = line->thread[0] != '\0' || tell_thread(&picture, ends, p->focal_px, q->thread, drawn, thread, out);
    if (told) {
        engine_thread_size(thread, &major_mm, &pitch_mm);
        fine = gauge_thread_read_as(&picture, ends, pitch_mm, major_mm, p->focal_px, drawn, t, &e);
    }
    gauge_line_destroy(drawn);
    if (told && !fine)
        text_copy(s->words, sizeof s->words, e.text);
    if (!fine)
        return false;
    if (line->thread[0] == '\0' && q->thread[0] != '\0' && gauge_which_other(&picture, t, &other)) {
        ask_other(&other, thread, out);
        return false;
    }
    along = (ends[1].x - ends[0].x) * t->ux + (ends[1].y - ends[0].y) * t->uy;
    mx = (ends[0].x + ends[1].x) / 2, my = (ends[0].y + ends[1].y) / 2;
    half = floor(fabs(along) / t->pitch_px) * t->pitch_px / 2; /* whole threads */
    out->pitch_px = t->pitch_px * p->scale;
    out->n_periods = half * 2 / t->pitch_px;
    out->on_outline = t->on_outline;
    text_copy(out->thread, sizeof out->thread, thread);
    for (int i = 0; i < 2; i++)
        to_photo(p, mx + (i ? half : -half) * t->ux, my + (i ? half : -half) * t->uy, &out->scale_x[i], &out->scale_y[i]);
    thread_sentence(t, q->thread[0] != '\0', thread, s->words, sizeof s->words);
    return true;
}

/* ---- gap ---- */

static void read_gap(const struct part *p, const struct logbook_mark *mark, const struct gauge_thread *t, struct photo_measured *out)
{
    struct gauge_picture picture = picture_of(p);
    struct gauge_thread scale = *t;
    struct gauge_point line[2];
    struct gauge_gap gap;
    struct gauge_budget budget;
    struct err e = {0};

    points_of(p, mark, line);
    if (scale.pitch_px <= 0) { /* a known length tells no direction: the line's own is taken */
        double length = hypot(line[1].x - line[0].x, line[1].y - line[0].y);

        scale.ux = length > 0 ? (line[1].x - line[0].x) / length : 1;
        scale.uy = length > 0 ? (line[1].y - line[0].y) / length : 0;
    }
    if (!gauge_gap_read(&picture, line, &scale, &gap, &e)) {
        text_copy(out->gap_words, sizeof out->gap_words, e.text);
        return;
    }
    out->gap_given = true;
    out->gap_mm = gap.gap_mm;
    out->gap_pm_mm = gap.uncertainty_mm;
    gauge_budget_make(&picture, &scale, &gap, p->focal_px, &budget);
    memcpy(out->gap_part_mm, budget.mm, sizeof out->gap_part_mm);
    gauge_budget_remedy(&budget, budget.largest, out->gap_remedy, sizeof out->gap_remedy);
    for (int i = 0; i < 2; i++)
        to_photo(p, gap.across[i].x, gap.across[i].y, &out->gap_x[i], &out->gap_y[i]);
    text_copy(out->gap_words, sizeof out->gap_words, "");
    if (gap.off_deg > 1.5 && gap.off_deg > 2 * gap.off_sd_deg)
        text_format(out->gap_words, sizeof out->gap_words, "Taken %.0f° off square: to the eye the gap is about {%.2f mm} short, which is added.", gap.off_deg, gap.hidden_mm);
}

/* The same part made smaller, by 1 / k or a little more; false when memory is short. */
static bool make_coarse(const struct part *p, double k, struct part *out)
{
    int side = p->px.width > p->px.height ? p->px.width : p->px.height, max_px = (int)(side / k);

    if (max_px < 64)
        return false;
    *out = *p;
    if (!photo_shrink(&p->px, max_px, &out->px, NULL))
        return false;
    out->scale = p->scale * p->px.width / out->px.width;
    out->focal_px = p->focal_px * p->scale / out->scale;
    return true;
}

/* What was found in pixels of one part, in those of another that are k times as many. */
static void thread_to(struct gauge_thread *t, double k)
{
    t->pitch_px *= k, t->pitch_sd_px *= k, t->radius_px *= k, t->length_px *= k, t->px_per_mm *= k, t->px_per_mm_sd *= k;
    t->middle.x *= k, t->middle.y *= k;
}

/* The pitch is as exact over some hundred pixels as over a thousand, and found a good deal sooner. */
static bool read_thread_soon(const struct part *p, const struct measure_question *q, char thread[24], struct gauge_thread *t, struct photo_measured *out)
{
    const struct logbook_mark *line = &q->marks[MARK_SCALE];
    double length = hypot(line->x[1] - line->x[0], line->y[1] - line->y[0]) / p->scale;
    struct part coarse;
    bool fine;

    if (length <= LINE_PX || !make_coarse(p, length / LINE_PX, &coarse))
        return read_thread(p, q, thread, t, out);
    fine = read_thread(&coarse, q, thread, t, out);
    thread_to(t, coarse.scale / p->scale);
    photo_pixels_release(&coarse.px);
    return fine;
}

/* In pixels of a part that is not made smaller. */
static bool read_scale(const struct part *p, const struct measure_question *q, struct gauge_thread *t, struct photo_measured *out)
{
    struct measure_question named = *q;
    bool thread = q->has[MARK_SCALE] && !(q->marks[MARK_SCALE].known > 0) && read_thread_soon(p, q, named.thread, t, out);

    return measure_scales(&named, &(struct measure_pixels){&p->px, p->x, p->y}, p->focal_px, thread ? t : NULL, t, out);
}

static void read_lengths(const struct part *p, const struct measure_question *q, struct photo_measured *out)
{
    struct measure_question fine = *q;
    struct gauge_thread t = {0};
    struct photo_measured rough_gap;
    struct part coarse;

    if (!q->has[MARK_SCALE] && !q->has[MARK_HEX] && !q->has[MARK_LENGTH]) {
        if (q->has[MARK_GAP])
            text_copy(out->gap_words, sizeof out->gap_words, "There is no scale yet: draw a line along the threads (S), across the hex (6), or along anything of known length (5).");
        return;
    }
    if (!read_scale(p, q, &t, out)) {
        if (q->has[MARK_GAP])
            text_copy(out->gap_words, sizeof out->gap_words, out->n_which > 0 ? "Say which thread it is: then the gap is told." : "Without a scale the gap cannot be told in millimetres.");
        return;
    }
    if (!q->has[MARK_GAP])
        return;
    if (t.px_per_mm > COARSE_PX_PER_MM && make_coarse(p, t.px_per_mm / COARSE_PX_PER_MM, &coarse)) {
        struct gauge_thread rough = t;

        thread_to(&rough, p->scale / coarse.scale);
        read_gap(&coarse, &q->marks[MARK_GAP], &rough, out);
        for (int i = 0; i < 2 && out->gap_given; i++) {
            fine.marks[MARK_GAP].x[i] = out->gap_x[i];
            fine.marks[MARK_GAP].y[i] = out->gap_y[i];
        }
        photo_pixels_release(&coarse.px);
        if (!out->gap_given)
            return;
    }
    rough_gap = *out;
    out->gap_given = false;
    read_gap(p, &fine.marks[MARK_GAP], &t, out);
    if (!out->gap_given && rough_gap.gap_given) /* blurred over more pixels than an edge may be wide: the copy was sharp enough */
        *out = rough_gap;
}

/* ---- colour ---- */

static void read_colour(const struct part *p, const struct measure_question *q, struct photo_measured *out)
{
    const struct logbook_mark *patch = &q->marks[MARK_PATCH], *nose = &q->marks[MARK_NOSE];
    struct gauge_picture picture = picture_of(p);
    struct gauge_point corners[2], outline[MARK_MAX_POINTS];
    struct gauge_light light;
    struct gauge_colour c;
    struct err e = {0};

    if (!q->has[MARK_PATCH]) {
        text_copy(out->colour_words, sizeof out->colour_words,
                  q->has[MARK_NOSE] ? "Without a grey card or white paper in the picture (P) a colour cannot be told: the light is not known. Only parts of one picture can be compared."
                                    : "Draw around the insulator's nose (N) to read its colour.");
        return;
    }
    points_of(p, patch, corners);
    if (!gauge_light_read(&picture, &(struct gauge_box){fmin(corners[0].x, corners[1].x), fmin(corners[0].y, corners[1].y), fabs(corners[1].x - corners[0].x), fabs(corners[1].y - corners[0].y)},
                          patch->known > 0 ? patch->known : GAUGE_REFLECTANCE, &light, &e)) { /* told before a nose is drawn too */
        text_copy(out->colour_words, sizeof out->colour_words, e.text);
        return;
    }
    if (!q->has[MARK_NOSE]) {
        text_copy(out->colour_words, sizeof out->colour_words, "The patch tells the light. Draw around the insulator's nose (N) to read its colour.");
        return;
    }
    points_of(p, nose, outline);
    if (!gauge_colour_read(&picture, outline, nose->n_points, &light, &c, &e)) {
        text_copy(out->colour_words, sizeof out->colour_words, e.text);
        return;
    }
    out->colour_given = true;
    memcpy(out->lab, c.lab, sizeof out->lab);
    colour_from_lab(c.lab[0], c.lab[1], c.lab[2], out->srgb);
    out->spread = c.spread;
    out->dark_share = c.dark_share;
    out->gloss_share = c.gloss_share;
    text_format(out->colour_words, sizeof out->colour_words, "Light corrected by the patch, taken as %.0f %% grey.", 100 * (patch->known > 0 ? patch->known : GAUGE_REFLECTANCE));
    for (int i = 0; i < c.n_suggested; i++) {
        size_t used = strlen(out->suggest);

        text_format(out->suggest + used, sizeof out->suggest - used, "%s%s", i ? "; " : "Looks ", c.suggested[i].reason);
    }
    if (c.n_suggested > 0) {
        size_t used = strlen(out->suggest);

        text_copy(out->suggest + used, sizeof out->suggest - used, ". Note it on the plug if you agree.");
    }
}

/* ---- lengths, or as they were read before ---- */

static bool asks_lengths(const struct measure_question *q)
{
    return q->has[MARK_SCALE] || q->has[MARK_HEX] || q->has[MARK_LENGTH] || q->has[MARK_GAP];
}

static bool same_lengths(const struct measure_question *a, const struct measure_question *b)
{
    return a->width == b->width && a->height == b->height && same_up_to(a, b, LAST_LENGTH) &&
           strcmp(a->marks[MARK_SCALE].thread, b->marks[MARK_SCALE].thread) == 0; /* said of the photo, or only on the card */
}

/* Moves those read for this question to the front. */
static bool find_read(struct measurer *m, const struct measure_question *q)
{
    int k = 0;
    struct lengths_read *found;

    while (k < m->n_read && !same_lengths(&m->read[k].of, q))
        k++;
    if (k == m->n_read)
        return false;
    found = mem_alloc(1, sizeof *found);
    *found = m->read[k];
    memmove(m->read + 1, m->read, (size_t)k * sizeof m->read[0]);
    m->read[0] = *found;
    free(found);
    return true;
}

static void keep_read(struct measurer *m, const struct measure_question *q, const struct photo_measured *got)
{
    m->n_read += m->n_read < MOST_READ;
    memmove(m->read + 1, m->read, (size_t)(m->n_read - 1) * sizeof m->read[0]);
    m->read[0].of = *q;
    m->read[0].got = *got;
}

static void answer_lengths(struct measurer *m, const struct measure_question *q, struct photo_measured *out)
{
    struct gauge_reach reach = GAUGE_AROUND_NOTHING;
    struct photo_region r;
    struct part p;
    struct err e = {0};

    if (find_read(m, q)) {
        *out = m->read[0].got;
        return;
    }
    text_copy(out->photo, sizeof out->photo, q->photo);
    widen(q, MARK_SCALE, MARK_GAP, GAUGE_AROUND_PLUG, &reach);
    widen(q, MARK_HEX, MARK_HEX, GAUGE_AROUND_LINE, &reach);
    widen(q, MARK_LENGTH, MARK_LENGTH, GAUGE_AROUND_LINE, &reach);
    r = region_of(q, &reach);
    if (fetch(m, q->path, q->width, q->height, &r, 0, &p, &e)) {
        read_lengths(&p, q, out);
        photo_pixels_release(&p.px);
        keep_read(m, q, out);
    } else {
        text_copy(out->gap_words, sizeof out->gap_words, e.text);
    }
}

/* ---- lines nobody drew ---- */

static bool newer_asked(void *ctx)
{
    struct measurer *m = ctx;
    bool newer;

    pthread_mutex_lock(&m->back.lock);
    newer = m->asked || m->back.quit;
    pthread_mutex_unlock(&m->back.lock);
    return newer;
}

/* The gap these lines give once they are taken: measured as any that are drawn are, on the photo's own pixels. What is
 * offered is what is noted then; lines that would give none are not offered. */
static void measure_as_taken(struct measurer *m, const struct measure_question *q, struct photo_offer *offer)
{
    struct measure_question *taken = mem_alloc(1, sizeof *taken);
    struct photo_measured *got = mem_alloc(1, sizeof *got);

    *taken = *q;
    for (int k = 0; k < 2; k++) {
        struct logbook_mark *line = &taken->marks[k ? MARK_GAP : MARK_SCALE];

        logbook_mark_init(line, q->photo, k ? MARK_GAP : MARK_SCALE);
        line->n_points = 2;
        memcpy(line->x, k ? offer->gap_x : offer->thread_x, sizeof offer->gap_x);
        memcpy(line->y, k ? offer->gap_y : offer->thread_y, sizeof offer->gap_y);
        taken->has[line->kind] = true;
    }
    answer_lengths(m, taken, got);
    offer->given = got->gap_given || got->n_which > 0; /* then the thread is asked for once they are taken */
    offer->gap_mm = got->gap_mm;
    offer->gap_pm_mm = got->gap_pm_mm;
    free(got);
    free(taken);
}

static void find_lines(struct measurer *m, const struct measure_question *q, struct photo_offer *out)
{
    double pitch_mm = q->thread[0] != '\0' ? measure_pitch(q->thread) : 0;
    struct gauge_picture picture;
    struct timespec until;
    struct part p;
    struct err e = {0};
    bool fine;

    if (measure_offer_kept(&m->found, q->photo, pitch_mm, out))
        return;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += PAUSE_MS * 1000000L;
    until.tv_sec += until.tv_nsec / 1000000000L, until.tv_nsec %= 1000000000L;
    pthread_mutex_lock(&m->back.lock);
    while (!m->asked && !m->back.quit && pthread_cond_timedwait(&m->back.work, &m->back.lock, &until) == 0)
        ;
    pthread_mutex_unlock(&m->back.lock);
    if (newer_asked(m) || !fetch(m, q->path, q->width, q->height, NULL, MEASURE_OFFER_PX, &p, &e))
        return;
    picture = picture_of(&p);
    fine = measure_offer(&picture, p.scale, pitch_mm, p.focal_px, &(struct gauge_stop){newer_asked, m}, out);
    photo_pixels_release(&p.px);
    if (!fine)
        return;
    if (out->given)
        measure_as_taken(m, q, out);
    measure_offer_keep(&m->found, q->photo, pitch_mm, out);
}

/* ---- the thread ---- */

static void answer(struct measurer *m, const struct measure_question *q, struct photo_measured *out)
{
    struct part p;
    struct err e = {0};

    memset(out, 0, sizeof *out);
    text_copy(out->photo, sizeof out->photo, q->photo);
    if (asks_lengths(q))
        answer_lengths(m, q, out);
    if (q->has[MARK_PATCH] || q->has[MARK_NOSE]) {
        struct gauge_reach reach = GAUGE_AROUND_NOTHING;
        struct photo_region r;

        widen(q, MARK_PATCH, MARK_NOSE, GAUGE_AROUND_PLUG, &reach);
        r = region_of(q, &reach);
        if (fetch(m, q->path, q->width, q->height, &r, 0, &p, &e)) {
            read_colour(&p, q, out);
            photo_pixels_release(&p.px);
        } else {
            text_copy(out->colour_words, sizeof out->colour_words, e.text);
        }
    }
    if (q->find)
        find_lines(m, q, &out->offer);
}

static void save_copy(struct measurer *m, struct save *s)
{
    struct part p;

    if (fetch(m, s->original, s->photo.width, s->photo.height, NULL, 0, &p, &s->err)) {
        if (!report_marks_write(s->folder, &s->photo, &p.px, s->marks, s->n, s->path, sizeof s->path, &s->err))
            s->path[0] = '\0';
        photo_pixels_release(&p.px);
    } else {
        s->path[0] = '\0';
    }
}

static void *run(void *arg)
{
    struct measurer *m = arg;

    pthread_mutex_lock(&m->back.lock);
    while (!m->back.quit) {
        struct measure_question q;
        struct photo_measured got;

        if (!m->asked && m->save.asked && !m->save.done) {
            m->running = true;
            pthread_mutex_unlock(&m->back.lock);
            save_copy(m, &m->save); /* nobody else touches it before it is done */
            pthread_mutex_lock(&m->back.lock);
            m->running = false;
            m->save.done = true;
            pthread_mutex_unlock(&m->back.lock);
            m->wake(m->ctx);
            pthread_mutex_lock(&m->back.lock);
            continue;
        }
        if (!m->asked) {
            pthread_cond_wait(&m->back.work, &m->back.lock);
            continue;
        }
        q = m->wanted;
        m->asked = false;
        m->running = true;
        pthread_mutex_unlock(&m->back.lock);
        answer(m, &q, &got);
        pthread_mutex_lock(&m->back.lock);
        m->running = false;
        if (!m->asked) { /* else it is out of date */
            m->result = got;
            m->ready = true;
        }
        pthread_mutex_unlock(&m->back.lock);
        m->wake(m->ctx);
        pthread_mutex_lock(&m->back.lock);
    }
    pthread_mutex_unlock(&m->back.lock);
    return NULL;
}

struct measurer *measurer_create(void (*wake)(void *ctx), void *ctx)
{
    struct measurer *m = mem_alloc(1, sizeof *m);
    struct photo_pool_options o = {.n_helpers = 1};

    m->wake = wake;
    m->ctx = ctx;
    m->pool = photo_pool_create(&o, NULL);
    if (m->pool == NULL) {
        free(m);
        return NULL;
    }
    if (!background_begin(&m->back, run, m)) {
        photo_pool_destroy(m->pool);
        free(m);
        return NULL;
    }
    return m;
}

void measurer_destroy(struct measurer *m)
{
    if (m == NULL)
        return;
    pthread_mutex_lock(&m->back.lock);
    m->asked = false;
    photo_pool_cancel_all(m->pool);
    background_end(&m->back);
    photo_pool_destroy(m->pool);
    free(m->save.marks);
    free(m);
}

void measurer_ask(struct measurer *m, const struct measure_question *q)
{
    pthread_mutex_lock(&m->back.lock);
    m->wanted = *q;
    m->asked = true;
    pthread_cond_signal(&m->back.work);
    pthread_mutex_unlock(&m->back.lock);
}

bool measurer_take(struct measurer *m, struct photo_measured *out)
{
    bool have;

    pthread_mutex_lock(&m->back.lock);
    have = m->ready;
    if (have)
        *out = m->result;
    m->ready = false;
    pthread_mutex_unlock(&m->back.lock);
    return have;
}

bool measurer_save(struct measurer *m, const char *original, const char *folder, const struct logbook_photo *photo, const struct report_mark *marks, size_t n)
{
    bool free_now;

    pthread_mutex_lock(&m->back.lock);
    free_now = !m->save.asked;
    if (free_now) {
        struct save *s = &m->save;

        memset(s, 0, sizeof *s);
        s->asked = true;
        text_copy(s->original, sizeof s->original, original);
        text_copy(s->folder, sizeof s->folder, folder);
        s->photo = *photo;
        s->marks = mem_alloc(n + 1, sizeof *s->marks);
        memcpy(s->marks, marks, n * sizeof *marks);
        s->n = n;
        pthread_cond_signal(&m->back.work);
    }
    pthread_mutex_unlock(&m->back.lock);
    return free_now;
}

bool measurer_saved(struct measurer *m, char *path, size_t n_room, struct err *e)
{
    bool done;

    pthread_mutex_lock(&m->back.lock);
    done = m->save.asked && m->save.done;
    if (done) {
        text_copy(path, n_room, m->save.path);
        *e = m->save.err;
        free(m->save.marks);
        m->save.marks = NULL;
        m->save.asked = false;
    }
    pthread_mutex_unlock(&m->back.lock);
    return done;
}

bool measurer_busy(struct measurer *m)
{
    bool busy;

    pthread_mutex_lock(&m->back.lock);
    busy = m->asked || m->running || m->ready || m->save.asked;
    pthread_mutex_unlock(&m->back.lock);
    return busy;
}
