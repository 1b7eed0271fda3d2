/* photo_frame.c - how a photo shows its plug, set by hand for the Line-up: the photo is moved, enlarged and turned
 * until the plug lies in a frame that stays where it is, and Enter keeps that. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

/* The thread is as wide as this share of the shorter side of the view: the most of the photo still fits in. */
#define TIP_SHARE  0.8f
#define SIDE_SHARE 0.45f

static float thread_px(const struct screen_state *st, struct rect view)
{
    return fminf(view.w, view.h) * (st->bench.framing == BENCH_FRAME_TIP ? TIP_SHARE : SIDE_SHARE);
}

static double thread_mm(const struct model *m)
{
    double major_mm, pitch_mm;

    engine_thread_size(m->record->engine.plug.thread, &major_mm, &pitch_mm);
    return major_mm;
}

static const struct logbook_crop *set_before(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    enum crop_view view = st->bench.framing == BENCH_FRAME_TIP ? CROP_TIP : CROP_SIDE;

    for (size_t i = 0; i < m->n_crops; i++)
        if (m->crops[i].view == view && strcmp(m->crops[i].photo, p->id) == 0)
            return &m->crops[i];
    return NULL;
}

void bench_frame_next(struct screen_state *st)
{
    bench_pick(st, -1);
    st->bench.beside = 0;
    st->bench.framing = st->bench.framing == BENCH_FRAME_NONE ? BENCH_FRAME_TIP : st->bench.framing == BENCH_FRAME_TIP ? BENCH_FRAME_SIDE : BENCH_FRAME_NONE;
}

/* Light on dark, to be seen on any photo. */
static void both_lines(struct ui *ui, float x0, float y0, float x1, float y1)
{
    ui_line(ui, x0, y0, x1, y1, 4, UI_EDGE_DARK);
    ui_line(ui, x0, y0, x1, y1, 2, UI_EDGE_LIGHT);
}

void bench_frame_draw(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, struct rect view)
{
    float x = view.x + view.w / 2, y = view.y + view.h / 2, d = thread_px(st, view);
    const char *kept = set_before(m, st, p) != NULL ? "set by hand" : "";

    if (st->bench.framing == BENCH_FRAME_TIP) {
        ui_ring(ui, x, y, d / 2 + 1, 4, ui_rgba(UI_EDGE_DARK));
        ui_ring(ui, x, y, d / 2, 2, ui_rgba(UI_EDGE_LIGHT));
        both_lines(ui, x - 14, y, x + 14, y);
        both_lines(ui, x, y - 14, x, y + 14);
    } else {
        both_lines(ui, x - d / 2, y + d * 0.1f, x - d / 2, y + d * 0.9f);
        both_lines(ui, x + d / 2, y + d * 0.1f, x + d / 2, y + d * 0.9f);
        both_lines(ui, x - d * 0.2f, y, x + d * 0.2f, y);
    }
    ui_note(ui, "photo.frame", (struct rect){x - d / 2, y - d / 2, d, d}, st->bench.framing == BENCH_FRAME_TIP ? "frame of the tip" : "frame of the side", kept);
}

void bench_frame_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, char *to, size_t n_room)
{
    bool kept = set_before(m, st, p) != NULL;

    text_format(to, n_room, "%s   wheel, drag, Q W T   Enter: keep   %sShift+L: %s   Esc",
                st->bench.framing == BENCH_FRAME_TIP ? "Ring: the thread's edge, from the tip" : "Lines: the thread's edges, firing end up; bar: end of the centre electrode",
                kept ? "Delete: as found   " : "", st->bench.framing == BENCH_FRAME_TIP ? "the side" : "none");
}

bool bench_frame_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at, struct rect view)
{
    const struct logbook_crop *kept = set_before(m, st, p);

    if (ui_key(ui, "Escape")) {
        st->bench.framing = BENCH_FRAME_NONE;
        return true;
    }
    if (kept != NULL && m->can_write && ui_key(ui, "Delete")) {
        text_copy(actions_add(out, ACT_REMOVE_CROP)->id, UUID_BYTES, kept->id);
        return true;
    }
    if (m->can_write && ui_key(ui, "Enter")) {
        struct action *a = actions_add(out, ACT_SET_CROP);

        text_copy(a->id, sizeof a->id, p->id);
        a->number = st->bench.framing == BENCH_FRAME_TIP ? CROP_TIP : CROP_SIDE;
        photo_from_screen(at, view.x + view.w / 2, view.y + view.h / 2, &a->figures[0], &a->figures[1]);
        a->figures[2] = remainder(at->turn * 90 + at->lean_deg, 360);
        a->figures[3] = (double)(thread_px(st, view) / at->zoom) / thread_mm(m);
        st->bench.framing = BENCH_FRAME_NONE;
        return true;
    }
    return false;
}
