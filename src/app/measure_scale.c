#include "app/measure_scale.h"

#include <math.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "engine/engine.h"
#include "gauge/gauge_length.h"
#include "gauge/gauge_ruler.h"
#include "gauge/gauge_span.h"

/* A hand at the mouse is good to about a pixel of the screen, and a photo drawn on is shown some 1,200 wide. */
#define SCREEN_PX 1200.0

#define INCH_16_MM 1.5875 /* exact: an inch is 25.4 mm */
#define SPAN_PX_MM 24.0   /* of a hex: a side is told to a hundredth of a millimetre at this */
#define RULER_PX 900.0    /* of a line along a ruler: as many samples tell its marks */

/* A line as it was used. */
struct held {
    bool held;                   /* to edges or marks; else as it was drawn */
    struct gauge_point line[2];  /* px of the photo */
    double end_sd_px, n_marks;
    struct err why;              /* where it could not be held */
};

/* What each line is taken for. */
struct taken {
    const struct held *hex_line, *length_line;
    struct gauge_hex hex;
    enum gauge_lies hex_lies, length_lies;
    const char *thread; /* "" not said */
    double known_mm;
};

double measure_pitch(const char *thread)
{
    double major_mm, pitch_mm;

    engine_thread_size(thread, &major_mm, &pitch_mm);
    return pitch_mm;
}

static enum gauge_lies lies_of(const struct logbook_mark *m)
{
    static const struct {
        const char *id;
        enum gauge_lies lies;
        bool of_hex;
    } rows[] = {{"corners", GAUGE_LIES_CORNERS, true}, {"flats", GAUGE_LIES_FLATS, true}, {"bench", GAUGE_LIES_BENCH, false}, {"level", GAUGE_LIES_LEVEL, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].id, m->lies) == 0 && rows[i].of_hex == (m->kind == MARK_HEX))
            return rows[i].lies;
    return GAUGE_LIES_UNSAID;
}

/* The line of known length: one of its own, or a scale line that was said to be one. NULL none. */
static const struct logbook_mark *length_line(const struct measure_question *q)
{
    if (q->has[MARK_LENGTH])
        return &q->marks[MARK_LENGTH];
    return q->has[MARK_SCALE] && q->marks[MARK_SCALE].known > 0 ? &q->marks[MARK_SCALE] : NULL;
}

static void as_drawn(const struct measure_question *q, const struct logbook_mark *m, struct held *out)
{
    *out = (struct held){.line = {{m->x[0], m->y[0]}, {m->x[1], m->y[1]}}, .end_sd_px = fmax(1, fmax(q->width, q->height) / SCREEN_PX)};
}

/* Pixels that are `k` times as coarse, in *room where they had to be made; the line in them. False without memory. */
static bool coarser(const struct measure_pixels *p, double k, const struct held *h, struct photo_pixels *room, struct gauge_picture *out, struct gauge_point line[2], double *scale)
{
    int side = p->px->width > p->px->height ? p->px->width : p->px->height;
    const struct photo_pixels *px = p->px;

    *room = (struct photo_pixels){0};
    if (k > 1.2) {
        if (!photo_shrink(p->px, (int)fmax(64, side / k), room, NULL))
            return false;
        px = room;
    }
    *scale = (double)p->px->width / px->width;
    *out = (struct gauge_picture){px->width, px->height, px->rgba};
    for (int i = 0; i < 2; i++)
        line[i] = (struct gauge_point){(h->line[i].x - p->x) / *scale, (h->line[i].y - p->y) / *scale};
    return true;
}

static void hold(const struct measure_pixels *p, const struct gauge_point ends[2], double scale, struct held *h)
{
    h->held = true;
    for (int i = 0; i < 2; i++)
        h->line[i] = (struct gauge_point){p->x + ends[i].x * scale, p->y + ends[i].y * scale};
}

/* The line across the hex, held to its sides. */
static void hold_hex(const struct measure_pixels *p, double mm, struct held *h)
{
    double px_mm = hypot(h->line[1].x - h->line[0].x, h->line[1].y - h->line[0].y) / mm, scale;
    struct photo_pixels room;
    struct gauge_picture picture;
    struct gauge_point line[2];
    struct gauge_span span;

    if (!coarser(p, px_mm / SPAN_PX_MM, h, &room, &picture, line, &scale))
        return;
    if (gauge_span_read(&picture, line, px_mm / scale, &span, &h->why)) {
        hold(p, span.ends, scale, h);
        h->end_sd_px = span.end_sd_px * scale;
    }
    photo_pixels_release(&room);
}

/* The line along a ruler, held to marks of it. */
static void hold_ruler(const struct measure_pixels *p, struct held *h)
{
    double length = hypot(h->line[1].x - h->line[0].x, h->line[1].y - h->line[0].y), scale;
    struct photo_pixels room;
    struct gauge_picture picture;
    struct gauge_point line[2];
    struct gauge_ruler ruler;

    if (!coarser(p, length / RULER_PX, h, &room, &picture, line, &scale))
        return;
    if (gauge_ruler_read(&picture, line, &ruler, &h->why)) {
        hold(p, ruler.ends, scale, h);
        h->n_marks = ruler.n;
        h->end_sd_px = ruler.mark_sd_px * ruler.n / sqrt(2) * scale;
    }
    photo_pixels_release(&room);
}

static double mark_mm(const struct logbook_mark *m)
{
    return strcmp(m->marks, "inch16") == 0 ? INCH_16_MM : 1;
}

/* The scale that one of the lines tells when it is taken so; false when there is none. */
static bool scale_of(enum photo_scale_kind k, const struct taken *as, double focal_px, const struct gauge_thread *thread, double pitch_mm,
                     struct gauge_thread *t, double *mm, struct err *e)
{
    struct gauge_length what;

    *mm = 0;
    if (k == PHOTO_SCALE_THREAD) {
        if (thread == NULL)
            return false;
        *t = *thread;
        t->px_per_mm *= pitch_mm / measure_pitch(as->thread);
        t->px_per_mm_sd *= pitch_mm / measure_pitch(as->thread);
        return true;
    }
    if (k == PHOTO_SCALE_HEX) {
        gauge_hex_length(&as->hex, as->hex_lies, &what);
        *mm = as->hex.flats_mm;
        return gauge_length_read(as->hex_line->line, as->hex_line->end_sd_px, &what, focal_px, t, e);
    }
    gauge_ruler_length(as->known_mm, as->length_lies, as->hex.flats_mm, &what);
    *mm = as->known_mm;
    return gauge_length_read(as->length_line->line, as->length_line->end_sd_px, &what, focal_px, t, e);
}

static const char *hex_turned(enum gauge_lies l)
{
    return l == GAUGE_LIES_CORNERS ? ", across its corners" : l == GAUGE_LIES_FLATS ? ", across its flats" : "";
}

static void name_of(enum photo_scale_kind k, const struct taken *as, char *to, size_t n_room)
{
    char mm[32];

    if (k == PHOTO_SCALE_THREAD)
        text_format(to, n_room, "the thread (%s)", as->thread[0] != '\0' ? as->thread : "M14x1.25");
    else if (k == PHOTO_SCALE_HEX)
        text_format(to, n_room, "the hex (%s mm%s)", as->hex.id, hex_turned(as->hex_lies));
    else {
        text_from_double(mm, sizeof mm, as->known_mm, 2);
        text_format(to, n_room, "the length of %s mm", mm);
    }
}

/* ---- two that do not agree ---- */

static bool agree(const struct gauge_thread *a, const struct gauge_thread *b)
{
    double sa = a->px_per_mm_sd / a->px_per_mm, sb = b->px_per_mm_sd / b->px_per_mm;

    return fabs(log(a->px_per_mm / b->px_per_mm)) <= 2 * hypot(sa, sb);
}

struct remedy {
    char words[200];
    int n;
};

static void add_remedy(struct remedy *r, const char *words)
{
    size_t used = strlen(r->words);

    if (r->n++ < 3)
        text_format(r->words + used, sizeof r->words - used, "%s%s", used > 0 ? " or " : "", words);
}

/* What else a line could be taken for, so that it agrees with the other. */
static void look_for_remedies(enum photo_scale_kind k, const struct taken *as, double focal_px, const struct gauge_thread *thread,
                              const struct gauge_thread *other, struct remedy *r)
{
    struct gauge_thread t;
    struct taken other_way = *as;
    double mm, pitch = measure_pitch(as->thread);
    char words[80];
    struct err e;

    if (k == PHOTO_SCALE_HEX) {
        struct gauge_hex all[GAUGE_MAX_HEXES];
        int n = gauge_hexes(all);

        for (int i = 0; i < n; i++) {
            other_way.hex = all[i];
            if (strcmp(all[i].id, as->hex.id) != 0 && scale_of(k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other)) {
                text_format(words, sizeof words, "a hex of %s mm", all[i].id);
                add_remedy(r, words);
            }
        }
        other_way.hex = as->hex;
        other_way.hex_lies = as->hex_lies == GAUGE_LIES_CORNERS ? GAUGE_LIES_FLATS : GAUGE_LIES_CORNERS;
        if (as->hex_lies != GAUGE_LIES_UNSAID && scale_of(k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other))
            add_remedy(r, as->hex_lies == GAUGE_LIES_CORNERS ? "a hex seen with an edge in the middle" : "a hex seen with a face in the middle");
    } else if (k == PHOTO_SCALE_THREAD) {
        struct csv threads;

        if (!asset_table("threads.csv", &threads, NULL))
            return;
        for (size_t row = 1; row < threads.n_rows; row++) {
            other_way.thread = csv_named(&threads, row, "thread");
            if (fabs(measure_pitch(other_way.thread) - pitch) > 0.01 && scale_of(k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other)) {
                text_format(words, sizeof words, "a thread of %s", other_way.thread);
                add_remedy(r, words);
            }
        }
        csv_release(&threads);
    } else {
        other_way.length_lies = as->length_lies == GAUGE_LIES_LEVEL ? GAUGE_LIES_BENCH : GAUGE_LIES_LEVEL;
        if (as->length_lies != GAUGE_LIES_UNSAID && scale_of(k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other))
            add_remedy(r, other_way.length_lies == GAUGE_LIES_BENCH ? "a length that lies on the bench" : "a length as high as the plug's middle");
    }
}

static void tell_conflict(const struct taken *as, double focal_px, const struct gauge_thread *thread, const struct gauge_thread found[PHOTO_SCALE_COUNT],
                          struct photo_measured *out)
{
    enum photo_scale_kind a = PHOTO_SCALE_COUNT, b = a;
    double worst = 0;
    char one[80], two[80];
    struct remedy r = {.n = 0};
    double apart, reach;

    for (int i = 0; i < PHOTO_SCALE_COUNT; i++)
        for (int k = i + 1; k < PHOTO_SCALE_COUNT; k++)
            if (out->scales[i].given && out->scales[k].given && !agree(&found[i], &found[k]) && fabs(log(found[i].px_per_mm / found[k].px_per_mm)) > worst) {
                worst = fabs(log(found[i].px_per_mm / found[k].px_per_mm));
                a = (enum photo_scale_kind)i, b = (enum photo_scale_kind)k;
            }
    if (a == PHOTO_SCALE_COUNT)
        return;
    name_of(a, as, one, sizeof one);
    name_of(b, as, two, sizeof two);
    apart = 100 * fabs(found[b].px_per_mm / found[a].px_per_mm - 1);
    reach = 200 * hypot(found[a].px_per_mm_sd / found[a].px_per_mm, found[b].px_per_mm_sd / found[b].px_per_mm);
    look_for_remedies(a, as, focal_px, thread, &found[b], &r);
    look_for_remedies(b, as, focal_px, thread, &found[a], &r);
    out->at_odds[a] = out->at_odds[b] = true;
    text_format(out->conflict, sizeof out->conflict, "Two scales do not agree: %s says %.2f px/mm, %s %.2f, %.0f %% apart where both ± allow %.0f %%. %s%s%s",
                one, found[a].px_per_mm, two, found[b].px_per_mm, apart, reach, r.n > 0 ? "They would agree with " : "Look whether both belong to this plug, and draw the doubtful line again.", r.words,
                r.n > 0 ? ": choose what is there, or draw the doubtful line again." : "");
}

/* ---- all of them ---- */

/* How the figures' line was held, or why not; behind what is said of where it lies. */
static void tell_held(struct photo_scale *s, enum photo_scale_kind k, const struct held *h, const struct logbook_mark *mark)
{
    size_t used = strlen(s->words);

    s->held = h->held;
    s->n_marks = h->n_marks;
    for (int i = 0; i < 2; i++)
        s->x[i] = h->line[i].x, s->y[i] = h->line[i].y;
    if (h->held && k == PHOTO_SCALE_LENGTH)
        text_format(s->words + used, sizeof s->words - used, " Counted: %.0f times %s between the bars.", h->n_marks, strcmp(mark->marks, "inch16") == 0 ? "1/16 inch" : "1 mm");
    else if (h->held)
        text_copy(s->words + used, sizeof s->words - used, " Both ends are held to its sides.");
    else if (h->why.text[0] != '\0')
        text_format(s->words + used, sizeof s->words - used, " The ends are where you drew them: %c%s", h->why.text[0] >= 'A' && h->why.text[0] <= 'Z' ? h->why.text[0] + ('a' - 'A') : h->why.text[0], h->why.text + 1);
}

bool measure_scales(const struct measure_question *q, const struct measure_pixels *pixels, double focal_px, const struct gauge_thread *thread, struct gauge_thread *counts, struct photo_measured *out)
{
    struct gauge_thread found[PHOTO_SCALE_COUNT], surest;
    const struct logbook_mark *length = length_line(q);
    struct taken as = {.thread = q->thread, .known_mm = length != NULL ? length->known : 0, .length_lies = length != NULL ? lies_of(length) : GAUGE_LIES_UNSAID,
                       .hex_lies = q->has[MARK_HEX] ? lies_of(&q->marks[MARK_HEX]) : GAUGE_LIES_UNSAID};
    struct held hex_line = {0}, length_held = {0};
    bool counted = length != NULL && length->kind == MARK_LENGTH && length->marks[0] != '\0';
    bool drawn[PHOTO_SCALE_COUNT] = {[PHOTO_SCALE_THREAD] = q->has[MARK_SCALE] && length != &q->marks[MARK_SCALE], [PHOTO_SCALE_HEX] = q->has[MARK_HEX], [PHOTO_SCALE_LENGTH] = length != NULL};
    double pitch = measure_pitch(q->thread), own_mm[PHOTO_SCALE_COUNT] = {0};
    int best = -1;

    if (!gauge_hex_find(q->has[MARK_HEX] ? q->marks[MARK_HEX].hex : "", q->thread, &as.hex) && !gauge_hex_find("", q->thread, &as.hex))
        return false;
    if (q->has[MARK_HEX]) {
        struct gauge_length what;

        as_drawn(q, &q->marks[MARK_HEX], &hex_line);
        gauge_hex_length(&as.hex, as.hex_lies, &what);
        if (pixels != NULL)
            hold_hex(pixels, what.mm, &hex_line);
    }
    if (length != NULL) {
        as_drawn(q, length, &length_held);
        if (counted && pixels != NULL)
            hold_ruler(pixels, &length_held);
        if (counted)
            as.known_mm = length_held.n_marks * mark_mm(length);
    }
    as.hex_line = &hex_line, as.length_line = &length_held;
    for (int k = 0; k < PHOTO_SCALE_COUNT; k++) {
        struct photo_scale *s = &out->scales[k];
        struct err e = {0};

        s->drawn = drawn[k];
        if (!drawn[k])
            continue;
        if (k == PHOTO_SCALE_LENGTH && !(as.known_mm > 0)) {
            text_copy(s->words, sizeof s->words, !counted ? "How long is it? Type its millimetres, or say which marks of a ruler are to be counted."
                                                 : length_held.why.text[0] != '\0' ? length_held.why.text : "The ruler's marks cannot be counted.");
            continue;
        }
        s->given = scale_of((enum photo_scale_kind)k, &as, focal_px, thread, pitch, &found[k], &own_mm[k], &e);
        if (!s->given) {
            if (e.text[0] != '\0')
                text_copy(s->words, sizeof s->words, e.text);
            continue;
        }
        s->px_per_mm = found[k].px_per_mm;
        s->pm = 2 * found[k].px_per_mm_sd;
        if (best < 0 || s->pm / s->px_per_mm < out->scales[best].pm / out->scales[best].px_per_mm)
            best = k;
        if (k == PHOTO_SCALE_HEX)
            text_copy(s->words, sizeof s->words,
                      as.hex_lies == GAUGE_LIES_CORNERS ? "A face in the middle: the corners lie as far away as the gap."
                      : as.hex_lies == GAUGE_LIES_FLATS ? "An edge in the middle: its flats lie nearer than the gap, which is allowed for, and every degree it is turned counts. A face towards the camera is surer."
                                                        : "How the hex is turned is not said: hence the wide ±.");
        else if (k == PHOTO_SCALE_LENGTH)
            text_copy(s->words, sizeof s->words,
                      as.length_lies == GAUGE_LIES_BENCH   ? "The bench lies farther away than the gap by half the hex, which is allowed for."
                      : as.length_lies == GAUGE_LIES_LEVEL ? "Taken to lie as far away as the gap."
                                                           : "Where it lies is not said: nearer or farther than the gap, hence the wide ±.");
        if (k != PHOTO_SCALE_THREAD)
            tell_held(s, (enum photo_scale_kind)k, k == PHOTO_SCALE_HEX ? &hex_line : &length_held, length);
    }
    if (best < 0)
        return false;
    for (int k = 0; k < PHOTO_SCALE_COUNT; k++)
        if (out->scales[k].given && k != PHOTO_SCALE_THREAD)
            out->scales[k].by_counted_mm = own_mm[k] * out->scales[k].px_per_mm / out->scales[best].px_per_mm;
    surest = thread != NULL ? *thread : found[best]; /* a thread tells the axis and the angle of view, whichever scale counts */
    surest.px_per_mm = found[best].px_per_mm;
    surest.px_per_mm_sd = found[best].px_per_mm_sd;
    tell_conflict(&as, focal_px, thread, found, out);
    out->scale_given = true;
    out->counts = best;
    out->px_per_mm = out->scales[best].px_per_mm;
    out->px_per_mm_pm = out->scales[best].pm;
    *counts = surest;
    return true;
}
