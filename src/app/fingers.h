/* fingers.h - two fingers on a touch screen as one pinch: how far its middle moved and how much wider it
 * became. Pure. */
#ifndef APP_FINGERS_H
#define APP_FINGERS_H

#include <stdbool.h>
#include <stdint.h>

struct fingers {
    int n;           /* that are followed, 0 to 2; more are not looked at */
    bool pinching;   /* from the second finger down until the last is up */
    int64_t id[2];
    float x[2], y[2]; /* logical px */
};
struct fingers_pinch {
    float x, y;   /* its middle now */
    float dx, dy; /* moved by */
    float by;     /* natural logarithm of wider ÷ before: adds up */
};
/* True when a pinch begins with this finger. */
bool fingers_down(struct fingers *f, int64_t id, float x, float y);
void fingers_up(struct fingers *f, int64_t id);
/* True when the pinch moved; *out then says how. */
bool fingers_move(struct fingers *f, int64_t id, float x, float y, struct fingers_pinch *out);

#endif
