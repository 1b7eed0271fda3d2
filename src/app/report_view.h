/* report_view.h - puts the report together as it will be, for the Report screen: one background thread with a
 * connection of its own, which only reads. A newer question takes the place of an older one. */
#ifndef APP_REPORT_VIEW_H
#define APP_REPORT_VIEW_H

#include <stdbool.h>
#include <stdint.h>
#include "screen/model.h"

struct report_view;

struct report_question {
    char engine[UUID_BYTES], visit[UUID_BYTES], compression_rule[24];
    struct report_ask ask;
    uint64_t state;     /* of the logbook: differs after an edit */
};
bool report_question_same(const struct report_question *a, const struct report_question *b);

/* wake is called from the thread when one is ready. NULL when no thread can be started. */
struct report_view *report_view_create(const char *folder, void (*wake)(void *ctx), void *ctx);
void report_view_destroy(struct report_view *v); /* cancels, joins; NULL is fine */
void report_view_ask(struct report_view *v, const struct report_question *q);
/* The newest one, when there is a new one; it lives until the next is taken. e: why there is none. */
bool report_view_take(struct report_view *v, struct report_preview **out, struct err *e);
bool report_view_busy(struct report_view *v);

#endif
