#include "app/measure_scale.h"

#include <math.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "gauge/gauge_length.h"

/* A hand at the mouse is good to about a pixel of the screen, and a photo drawn on is shown some 1,200 wide. */
#define SCREEN_PX 1200.0

/* What each line is taken for. */
struct taken {
    struct gauge_hex hex;
    enum gauge_lies hex_lies, length_lies;
    const char *thread; /* "" not said */
    double known_mm;
};

double measure_pitch(const char *thread)
{
    const char *x = strchr(thread, 'x');
    double mm;

    return x != NULL && text_to_double(x + 1, &mm) && mm > 0.2 && mm < 4 ? mm : 1.25;
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

static bool line_scale(const struct measure_question *q, const struct logbook_mark *m, const struct gauge_length *what, double focal_px, struct gauge_thread *t, struct err *e)
{
    const struct gauge_point line[2] = {{m->x[0], m->y[0]}, {m->x[1], m->y[1]}};

    return gauge_length_read(line, fmax(1, fmax(q->width, q->height) / SCREEN_PX), what, focal_px, t, e);
}

/* The scale that one of the lines tells when it is taken so; false when there is none. */
static bool scale_of(const struct measure_question *q, enum photo_scale_kind k, const struct taken *as, double focal_px, const struct gauge_thread *thread, double pitch_mm,
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
        return line_scale(q, &q->marks[MARK_HEX], &what, focal_px, t, e);
    }
    gauge_ruler_length(as->known_mm, as->length_lies, as->hex.flats_mm, &what);
    *mm = as->known_mm;
    return line_scale(q, length_line(q), &what, focal_px, t, e);
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
static void look_for_remedies(const struct measure_question *q, enum photo_scale_kind k, const struct taken *as, double focal_px, const struct gauge_thread *thread,
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
            if (strcmp(all[i].id, as->hex.id) != 0 && scale_of(q, k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other)) {
                text_format(words, sizeof words, "a hex of %s mm", all[i].id);
                add_remedy(r, words);
            }
        }
        other_way.hex = as->hex;
        other_way.hex_lies = as->hex_lies == GAUGE_LIES_CORNERS ? GAUGE_LIES_FLATS : GAUGE_LIES_CORNERS;
        if (as->hex_lies != GAUGE_LIES_UNSAID && scale_of(q, k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other))
            add_remedy(r, as->hex_lies == GAUGE_LIES_CORNERS ? "a hex seen with an edge in the middle" : "a hex seen with a face in the middle");
    } else if (k == PHOTO_SCALE_THREAD) {
        struct csv threads;

        if (!asset_table("threads.csv", &threads, NULL))
            return;
        for (size_t row = 1; row < threads.n_rows; row++) {
            other_way.thread = csv_named(&threads, row, "thread");
            if (fabs(measure_pitch(other_way.thread) - pitch) > 0.01 && scale_of(q, k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other)) {
                text_format(words, sizeof words, "a thread of %s", other_way.thread);
                add_remedy(r, words);
            }
        }
        csv_release(&threads);
    } else {
        other_way.length_lies = as->length_lies == GAUGE_LIES_LEVEL ? GAUGE_LIES_BENCH : GAUGE_LIES_LEVEL;
        if (as->length_lies != GAUGE_LIES_UNSAID && scale_of(q, k, &other_way, focal_px, thread, pitch, &t, &mm, &e) && agree(&t, other))
            add_remedy(r, other_way.length_lies == GAUGE_LIES_BENCH ? "a length that lies on the bench" : "a length as high as the plug's middle");
    }
}

static void tell_conflict(const struct measure_question *q, const struct taken *as, double focal_px, const struct gauge_thread *thread, const struct gauge_thread found[PHOTO_SCALE_COUNT],
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
    look_for_remedies(q, a, as, focal_px, thread, &found[b], &r);
    look_for_remedies(q, b, as, focal_px, thread, &found[a], &r);
    text_format(out->conflict, sizeof out->conflict, "Two scales do not agree: %s says %.2f px/mm, %s %.2f, %.0f %% apart where both ± allow %.0f %%. %s%s%s",
                one, found[a].px_per_mm, two, found[b].px_per_mm, apart, reach, r.n > 0 ? "They would agree with " : "Look whether both belong to this plug, and draw the doubtful line again.", r.words,
                r.n > 0 ? ": choose what is there, or draw the doubtful line again." : "");
}

/* ---- all of them ---- */

bool measure_scales(const struct measure_question *q, double focal_px, const struct gauge_thread *thread, struct gauge_thread *counts, struct photo_measured *out)
{
    struct gauge_thread found[PHOTO_SCALE_COUNT], surest;
    const struct logbook_mark *length = length_line(q);
    struct taken as = {.thread = q->thread, .known_mm = length != NULL ? length->known : 0, .length_lies = length != NULL ? lies_of(length) : GAUGE_LIES_UNSAID,
                       .hex_lies = q->has[MARK_HEX] ? lies_of(&q->marks[MARK_HEX]) : GAUGE_LIES_UNSAID};
    bool drawn[PHOTO_SCALE_COUNT] = {[PHOTO_SCALE_THREAD] = q->has[MARK_SCALE] && length != &q->marks[MARK_SCALE], [PHOTO_SCALE_HEX] = q->has[MARK_HEX], [PHOTO_SCALE_LENGTH] = length != NULL};
    double pitch = measure_pitch(q->thread), own_mm[PHOTO_SCALE_COUNT] = {0};
    int best = -1;

    if (!gauge_hex_find(q->has[MARK_HEX] ? q->marks[MARK_HEX].hex : "", q->thread, &as.hex) && !gauge_hex_find("", q->thread, &as.hex))
        return false;
    for (int k = 0; k < PHOTO_SCALE_COUNT; k++) {
        struct photo_scale *s = &out->scales[k];
        struct err e = {0};

        s->drawn = drawn[k];
        if (!drawn[k])
            continue;
        if (k == PHOTO_SCALE_LENGTH && !(as.known_mm > 0)) {
            text_copy(s->words, sizeof s->words, "How long is it? Type its millimetres.");
            continue;
        }
        s->given = scale_of(q, (enum photo_scale_kind)k, &as, focal_px, thread, pitch, &found[k], &own_mm[k], &e);
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
    }
    if (best < 0)
        return false;
    for (int k = 0; k < PHOTO_SCALE_COUNT; k++)
        if (out->scales[k].given && k != PHOTO_SCALE_THREAD)
            out->scales[k].by_counted_mm = own_mm[k] * out->scales[k].px_per_mm / out->scales[best].px_per_mm;
    surest = thread != NULL ? *thread : found[best]; /* a thread tells the axis and the angle of view, whichever scale counts */
    surest.px_per_mm = found[best].px_per_mm;
    surest.px_per_mm_sd = found[best].px_per_mm_sd;
    tell_conflict(q, &as, focal_px, thread, found, out);
    out->scale_given = true;
    out->counts = best;
    out->px_per_mm = out->scales[best].px_per_mm;
    out->px_per_mm_pm = out->scales[best].pm;
    *counts = surest;
    return true;
}
