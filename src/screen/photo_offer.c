/* photo_offer.c - scale and gap lines that were found in a photo without drawing, until a person takes them or turns them
 * down. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/commands.h"
#include "screen/photo_bench.h"

#define DASH_PX 7.0f
#define SPACE_PX 5.0f

static bool turned_down(const struct screen_state *st, const char *photo)
{
    for (int i = 0; i < (int)(sizeof st->bench.no_offer / sizeof st->bench.no_offer[0]); i++)
        if (strcmp(st->bench.no_offer[i], photo) == 0)
            return true;
    return false;
}

/* No line is drawn yet that tells a scale or a gap. */
static bool is_bare(const struct model *m, const struct logbook_photo *p)
{
    static const enum mark_kind drawn[] = {MARK_SCALE, MARK_HEX, MARK_LENGTH, MARK_GAP};

    for (size_t i = 0; i < sizeof drawn / sizeof drawn[0]; i++)
        if (bench_find(m, p, drawn[i]) != NULL)
            return false;
    return m->can_write && photo_ready(p);
}

bool bench_offer_wanted(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    return !m->offers_off && is_bare(m, p) && !turned_down(st, p->id);
}

/* Something else is being done: an offer waits, and so does one turned down. */
static bool is_busy(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    const struct bench_state *b = &st->bench;

    return b->tool >= 0 || b->levelling || b->draft.n_points > 0 || b->beside > 0 || bench_selected(m, st, p) != NULL;
}

const struct photo_offer *bench_offer(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    const struct photo_measured *got = bench_measured(m, p->id);

    return got != NULL && got->offer.given && !is_busy(m, st, p) && bench_offer_wanted(m, st, p) ? &got->offer : NULL;
}

/* Lines are wanted and not found: so far, while it is busy. */
static bool without_offer(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, bool busy)
{
    const struct photo_measured *got = bench_measured(m, p->id);

    return got != NULL && got->busy == busy && !got->offer.given && bench_offer_wanted(m, st, p);
}

bool bench_offer_coming(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    return without_offer(m, st, p, true);
}

bool bench_offer_missed(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    return without_offer(m, st, p, false);
}

static void take(struct ui *ui, struct actions *out, const struct logbook_photo *p, const struct photo_offer *o)
{
    struct logbook_mark marks[2];

    logbook_mark_init(&marks[0], p->id, MARK_SCALE);
    logbook_mark_init(&marks[1], p->id, MARK_GAP);
    for (int i = 0; i < 2; i++) {
        marks[0].x[i] = o->thread_x[i], marks[0].y[i] = o->thread_y[i];
        marks[1].x[i] = o->gap_x[i], marks[1].y[i] = o->gap_y[i];
        marks[i].n_points = 2;
    }
    bench_put(ui, out, marks, 2, "Lines offered were taken");
}

static void turn_down(struct screen_state *st, const struct logbook_photo *p)
{
    int n = (int)(sizeof st->bench.no_offer / sizeof st->bench.no_offer[0]);

    text_copy(st->bench.no_offer[st->bench.next_no_offer], UUID_BYTES, p->id);
    st->bench.next_no_offer = (st->bench.next_no_offer + 1) % n;
}

/* The lines once more: whoever turned them down may have been wrong. */
static void bring_back(struct screen_state *st, const struct logbook_photo *p)
{
    for (int i = 0; i < (int)(sizeof st->bench.no_offer / sizeof st->bench.no_offer[0]); i++)
        if (strcmp(st->bench.no_offer[i], p->id) == 0)
            st->bench.no_offer[i][0] = '\0';
}

bool bench_offer_back_part(struct bench_column *c, const struct model *m, struct screen_state *st, const struct logbook_photo *p)
{
    struct ui_button back = {.look = UI_LOOK_QUIET, .key = command_key("offer-again")};

    if (!is_bare(m, p) || !turned_down(st, p->id) || is_busy(m, st, p))
        return false;
    if (bench_button(c, "bench.offer-back", "Offer the lines found again", &back))
        bring_back(st, p);
    return true;
}

bool bench_offer_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_offer *o = bench_offer(m, st, p);

    if (is_bare(m, p) && turned_down(st, p->id) && !is_busy(m, st, p) && ui_key(ui, "Shift+O")) {
        bring_back(st, p);
        return true;
    }
    if (o == NULL)
        return false;
    if (ui_key(ui, "Enter")) {
        take(ui, out, p, o);
        return true;
    }
    if (ui_key(ui, "Escape")) {
        turn_down(st, p);
        return true;
    }
    return false;
}

static void words_of(const struct model *m, const struct photo_offer *o, char *to, size_t n_room)
{
    char size[16], pm[16];

    if (!(o->gap_mm > 0)) {
        text_copy(to, n_room, "which thread it is will be asked before the gap is told");
        return;
    }
    model_format_gap(m, o->gap_mm, size, sizeof size);
    model_format_gap(m, o->gap_pm_mm, pm, sizeof pm);
    text_format(to, n_room, "%s ± %s %s", size, pm, m->inches ? "in" : "mm");
}

bool bench_offer_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_offer *o = bench_offer(m, st, p);
    struct ui_button use = {.look = UI_LOOK_DARK, .key = "Enter"}, no = {.look = UI_LOOK_QUIET, .key = "Esc"};
    char gap[48], words[240];

    if (o == NULL)
        return false;
    words_of(m, o, gap, sizeof gap);
    ui_note(c->ui, "bench.offer", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "lines offered", gap);
    text_format(words, sizeof words, "Thread and gap were found without drawing: %s. Do the dashed lines lie along the thread and end on the metal?", gap);
    bench_say(c, words, UI_TEXT);
    if (bench_button(c, "bench.offer-use", "Use these lines", &use))
        take(c->ui, out, p, o);
    if (bench_button(c, "bench.offer-no", "No, I draw them myself", &no))
        turn_down(st, p);
    return true;
}

/* ---- on the photo ---- */

static void dashed(struct ui *ui, const float xy[4], float width, struct rgba ink)
{
    float dx = xy[2] - xy[0], dy = xy[3] - xy[1], length = hypotf(dx, dy);

    if (!(length > 0))
        return;
    dx /= length, dy /= length;
    for (int pass = 0; pass < 2; pass++)
        for (float s = 0; s < length; s += DASH_PX + SPACE_PX) {
            float e = fminf(s + DASH_PX, length), x0 = xy[0] + s * dx, y0 = xy[1] + s * dy, x1 = xy[0] + e * dx, y1 = xy[1] + e * dy;

            if (pass == 0)
                ui_line(ui, x0, y0, x1, y1, width + 2, UI_EDGE_DARK);
            else
                ui_line_rgba(ui, x0, y0, x1, y1, width, ink);
        }
}

static void bar(struct ui *ui, const float xy[4], int end, float half, struct rgba ink)
{
    float dx = xy[2] - xy[0], dy = xy[3] - xy[1], length = fmaxf(hypotf(dx, dy), 1), nx = -dy / length * half, ny = dx / length * half, x = xy[2 * end], y = xy[2 * end + 1];

    ui_line(ui, x - nx, y - ny, x + nx, y + ny, 4, UI_EDGE_DARK);
    ui_line_rgba(ui, x - nx, y - ny, x + nx, y + ny, 2, ink);
}

void bench_draw_offer(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at)
{
    const struct photo_offer *o = bench_offer(m, st, p);

    if (o == NULL)
        return;
    for (int k = 0; k < 3; k++) {
        static const enum mark_kind kinds[] = {MARK_RULER, MARK_SCALE, MARK_GAP}; /* the axis becomes no mark */
        const double *x = k == 0 ? o->axis_x : k == 1 ? o->thread_x : o->gap_x, *y = k == 0 ? o->axis_y : k == 1 ? o->thread_y : o->gap_y;
        struct logbook_mark like;
        const struct mark_colour_row *c;
        struct rgba ink;
        float xy[4];

        logbook_mark_init(&like, p->id, kinds[k]);
        c = mark_colour_row(like.colour);
        ink = k == 0 ? ui_rgba(UI_EDGE_LIGHT) : (struct rgba){c->r, c->g, c->b, 255};
        for (int i = 0; i < 2; i++)
            photo_to_screen(at, x[i], y[i], &xy[2 * i], &xy[2 * i + 1]);
        dashed(ui, xy, k == 0 ? 1 : 2, ink);
        for (int end = 0; k > 0 && end < 2; end++)
            bar(ui, xy, end, k == 1 ? 6 : 10, ink);
    }
}
