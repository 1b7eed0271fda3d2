/* photo_turn.c - turning a photo: by quarters, by degrees, and until a line in it is level or upright. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

#define PI 3.14159265358979323846

void bench_turn(struct actions *out, const struct logbook_photo *p, int quarters, double deg, bool fine)
{
    struct action *a = actions_add(out, ACT_TURN_PHOTO);
    int lean = p->lean_mdeg + (int)lrint(deg * 1000), turn = p->turn + quarters;

    while (lean > 45000)
        lean -= 90000, turn++;
    while (lean < -45000)
        lean += 90000, turn--;
    text_copy(a->id, sizeof a->id, p->id);
    a->number = turn & 3;
    a->amount = lean;
    a->flag = fine;
}

void bench_turn_by_line(struct actions *out, const struct logbook_photo *p, double x0, double y0, double x1, double y1)
{
    double seen = atan2(y1 - y0, x1 - x0) * 180 / PI + p->lean_mdeg / 1000.0; /* quarters change nothing */

    bench_turn(out, p, 0, rint(seen / 90) * 90 - seen, false);
}

void bench_level(const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct logbook_mark *mark = bench_selected(m, st, p);
    struct logbook_mark seen;
    bool was = st->bench.levelling;

    if (mark != NULL && (mark->kind == MARK_SCALE || mark->kind == MARK_HEX || mark->kind == MARK_LENGTH || mark->kind == MARK_GAP || mark->kind == MARK_RULER || mark->kind == MARK_ARROW)) {
        bench_mark_as_seen(m, mark, &seen);
        bench_turn_by_line(out, p, seen.x[0], seen.y[0], seen.x[1], seen.y[1]);
        return;
    }
    bench_pick(st, -1);
    st->bench.levelling = !was;
}

bool bench_turn_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    static const struct {
        const char *key;
        double deg;
    } by[] = {{"q", -1}, {"w", 1}, {"Shift+Q", -0.1}, {"Shift+W", 0.1}};

    if (!m->can_write)
        return false;
    for (size_t i = 0; i < sizeof by / sizeof by[0]; i++)
        if (ui_key(ui, by[i].key)) {
            bench_turn(out, p, 0, by[i].deg, true);
            return true;
        }
    if (ui_key(ui, "t")) {
        bench_turn(out, p, 1, 0, false);
    } else if (ui_key(ui, "0")) {
        bench_turn(out, p, 0, -p->lean_mdeg / 1000.0, false);
    } else if (ui_key(ui, "u")) {
        bench_level(m, st, out, p);
    } else if (st->bench.levelling && ui_key(ui, "Escape")) {
        st->bench.levelling = false;
    } else {
        return false;
    }
    return true;
}
