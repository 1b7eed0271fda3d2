/* labels.c - every place around the anchors is weighed, near ones first, and the first that hides nothing taken;
 * else the one that hides least. */
#include "base/labels.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

#define PI 3.14159265358979323846
#define N_WAYS 16
#define CLEAR 4.0   /* between words and a line, units */
#define AWAY 22.0   /* farther than this a leader is drawn, units */
/* What it costs, in units of distance: by trial on the sample photos. Words over words can't be read at all. */
#define ON_WORDS 2000.0
#define ON_LINE 400.0     /* and so much more for each unit of the line */
#define ON_LINE_MORE 4.0
#define ON_VIEWED 120.0   /* and so much more for the share of the label */
#define ON_VIEWED_MORE 200.0
#define LEADER_CROSSES 60.0

static const double distances[] = {10, 18, 30, 48, 70, 96, 130, 170, 220, 280, 350};

void labels_begin(struct labels *l, struct arena *a, const double edge[4], double unit)
{
    *l = (struct labels){.arena = a, .unit = unit};
    memcpy(l->edge, edge, sizeof l->edge);
}

void labels_add_line(struct labels *l, int mark, double x0, double y0, double x1, double y1)
{
    struct labels_line *to = arena_push(l->arena, (void **)&l->lines, &l->n_lines, &l->lines_room, sizeof *l->lines);

    *to = (struct labels_line){x0, y0, x1, y1, mark};
}

void labels_add_box(struct labels *l, const double box[4], bool filled)
{
    struct labels_box *to = arena_push(l->arena, (void **)&l->boxes, &l->n_boxes, &l->boxes_room, sizeof *l->boxes);

    memcpy(to->at, box, sizeof to->at);
    to->filled = filled;
}

double labels_length_inside(const double box[4], const struct labels_line *line)
{
    const double dx = line->x1 - line->x0, dy = line->y1 - line->y0;
    const double by[4] = {-dx, dx, -dy, dy}, room[4] = {line->x0 - box[0], box[2] - line->x0, line->y0 - box[1], box[3] - line->y0};
    double from = 0, to = 1;

    /* cut at each side in turn */
    for (int i = 0; i < 4; i++) {
        if (by[i] == 0) {
            if (room[i] < 0)
                return -1;
        } else if (by[i] < 0) {
            from = fmax(from, room[i] / by[i]);
        } else {
            to = fmin(to, room[i] / by[i]);
        }
    }
    return from <= to ? (to - from) * hypot(dx, dy) : -1;
}

static double shared_area(const double a[4], const double b[4])
{
    double w = fmin(a[2], b[2]) - fmax(a[0], b[0]), h = fmin(a[3], b[3]) - fmax(a[1], b[1]);

    return w > 0 && h > 0 ? w * h : 0;
}

static double turned(const double a[2], const double b[2], const double c[2])
{
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

static bool cross(const double leader[4], const struct labels_line *line)
{
    const double *a = leader, *b = leader + 2, c[2] = {line->x0, line->y0}, d[2] = {line->x1, line->y1};

    return turned(a, b, c) * turned(a, b, d) < 0 && turned(c, d, a) * turned(c, d, b) < 0;
}

/* enough: more is not asked for. */
static double cost_of(const struct labels *l, int mark, const struct labels_spot *s, double enough)
{
    const double clear = CLEAR * l->unit, *b = s->box, wide[4] = {b[0] - clear, b[1] - clear, b[2] + clear, b[3] + clear};
    const struct labels_line leader = {s->leader[0], s->leader[1], s->leader[2], s->leader[3], mark};
    double cost = hypot(s->leader[2] - s->leader[0], s->leader[3] - s->leader[1]) / l->unit;

    for (size_t i = 0; i < l->n_boxes && cost < enough; i++) {
        double area = shared_area(l->boxes[i].filled ? wide : b, l->boxes[i].at);

        if (area > 0)
            cost += l->boxes[i].filled ? ON_WORDS + area / (l->unit * l->unit) : ON_VIEWED + ON_VIEWED_MORE * area / ((b[2] - b[0]) * (b[3] - b[1]));
        if (l->boxes[i].filled && s->away && labels_length_inside(l->boxes[i].at, &leader) > 0)
            cost += ON_WORDS;
    }
    for (size_t i = 0; i < l->n_lines && cost < enough; i++) {
        double length = labels_length_inside(wide, &l->lines[i]);

        if (length >= 0)
            cost += ON_LINE + ON_LINE_MORE * length / l->unit;
        if (s->away && l->lines[i].mark != mark && cross(s->leader, &l->lines[i]))
            cost += LEADER_CROSSES;
    }
    return cost;
}

static double within(double at, double size, double from, double to)
{
    return fmax(from, fmin(at, to - size));
}

/* So far from the anchor, that way, as far as the edges allow. */
static void spot_at(const struct labels *l, const double anchor[2], double angle, double distance, double w, double h, struct labels_spot *s)
{
    const double c = cos(angle), d = sin(angle), wide = fmax(-1, fmin(c * 1.5, 1)), high = fmax(-1, fmin(d * 1.5, 1));
    const double x = within(anchor[0] + c * distance * l->unit + wide * w / 2 - w / 2, w, l->edge[0], l->edge[2]);
    const double y = within(anchor[1] + d * distance * l->unit + high * h / 2 - h / 2, h, l->edge[1], l->edge[3]);

    s->box[0] = x, s->box[1] = y, s->box[2] = x + w, s->box[3] = y + h;
    s->leader[0] = fmax(x, fmin(anchor[0], x + w));
    s->leader[1] = fmax(y, fmin(anchor[1], y + h));
    s->leader[2] = anchor[0];
    s->leader[3] = anchor[1];
    s->away = hypot(s->leader[2] - s->leader[0], s->leader[3] - s->leader[1]) > AWAY * l->unit;
}

void labels_place(struct labels *l, int mark, const double *anchors, int n, double w, double h, struct labels_spot *out)
{
    double least = INFINITY;

    for (size_t k = 0; k < sizeof distances / sizeof distances[0] && distances[k] < least; k++)
        for (int i = 0; i < n; i++)
            for (int way = 0; way < N_WAYS; way++) {
                struct labels_spot s;
                double cost;

                spot_at(l, &anchors[2 * i], (way % 2 ? -1 : 1) * ((way + 1) / 2) * 2 * PI / N_WAYS - PI / 2, distances[k], w, h, &s); /* above first */
                cost = cost_of(l, mark, &s, least);
                if (cost < least)
                    least = cost, *out = s;
            }
    labels_add_box(l, out->box, true);
    if (out->away)
        labels_add_line(l, -1, out->leader[0], out->leader[1], out->leader[2], out->leader[3]);
}
