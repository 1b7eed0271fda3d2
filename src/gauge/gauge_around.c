#include "gauge/gauge_around.h"

#include <math.h>

#define LEAST_MARGIN_PX 200.0

void gauge_around_widen(struct gauge_reach *r, const struct gauge_point *at, int n, double times)
{
    struct gauge_reach own = GAUGE_AROUND_NOTHING;
    double margin;

    for (int i = 0; i < n; i++) {
        own.from.x = fmin(own.from.x, at[i].x), own.to.x = fmax(own.to.x, at[i].x);
        own.from.y = fmin(own.from.y, at[i].y), own.to.y = fmax(own.to.y, at[i].y);
    }
    if (n == 0)
        return;
    margin = fmax(LEAST_MARGIN_PX, times * hypot(own.to.x - own.from.x, own.to.y - own.from.y));
    r->from.x = fmin(r->from.x, own.from.x - margin), r->from.y = fmin(r->from.y, own.from.y - margin);
    r->to.x = fmax(r->to.x, own.to.x + margin), r->to.y = fmax(r->to.y, own.to.y + margin);
}

struct gauge_around gauge_around_of(const struct gauge_reach *r, int width, int height)
{
    double x0 = fmin(fmax(floor(r->from.x), 0), width - 1), y0 = fmin(fmax(floor(r->from.y), 0), height - 1);
    double x1 = fmin(fmax(ceil(r->to.x), x0 + 1), width), y1 = fmin(fmax(ceil(r->to.y), y0 + 1), height);

    return (struct gauge_around){(int)x0, (int)y0, (int)(x1 - x0), (int)(y1 - y0)};
}
