#include "app/fingers.h"

#include <math.h>

#define LEAST_PX 4.0f /* fingers nearer than that tell no size */

bool fingers_down(struct fingers *f, int64_t id, float x, float y)
{
    if (f->n == 2)
        return false;
    f->id[f->n] = id;
    f->x[f->n] = x;
    f->y[f->n++] = y;
    if (f->n < 2)
        return false;
    f->pinching = true;
    return true;
}

static int find(const struct fingers *f, int64_t id)
{
    for (int i = 0; i < f->n; i++)
        if (f->id[i] == id)
            return i;
    return -1;
}

void fingers_up(struct fingers *f, int64_t id)
{
    int i = find(f, id);

    if (i < 0)
        return;
    f->n--;
    if (i == 0) {
        f->id[0] = f->id[1];
        f->x[0] = f->x[1];
        f->y[0] = f->y[1];
    }
    f->pinching = f->pinching && f->n > 0;
}

bool fingers_move(struct fingers *f, int64_t id, float x, float y, struct fingers_pinch *out)
{
    int i = find(f, id);
    float was_x, was_y, was;

    if (i < 0)
        return false;
    was_x = (f->x[0] + f->x[1]) / 2;
    was_y = (f->y[0] + f->y[1]) / 2;
    was = hypotf(f->x[1] - f->x[0], f->y[1] - f->y[0]);
    f->x[i] = x;
    f->y[i] = y;
    if (f->n < 2)
        return false;
    out->x = (f->x[0] + f->x[1]) / 2;
    out->y = (f->y[0] + f->y[1]) / 2;
    out->dx = out->x - was_x;
    out->dy = out->y - was_y;
    out->by = logf(fmaxf(hypotf(f->x[1] - f->x[0], f->y[1] - f->y[0]), LEAST_PX) / fmaxf(was, LEAST_PX));
    return true;
}
