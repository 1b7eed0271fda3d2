/* session.h - an open logbook and what is shown of it: the model in memory, kept in step with the
 * disk; actions of the screens become edits here. No SDL. */
#ifndef APP_SESSION_H
#define APP_SESSION_H

#include <stdbool.h>
#include "screen/model.h"

struct err;
struct session;

/* Opens the logbook (it is made when the folder does not exist or is empty). wake is called from
 * other threads when something is ready. apart: with the standard settings, and the person's file stays
 * as it is. */
struct session *session_create(const char *folder, bool apart, void (*wake)(void *ctx), void *ctx, struct err *e);
void session_destroy(struct session *s);

struct model *session_model(struct session *s);
struct screen_state *session_state(struct session *s);

/* Carries out what the screens asked for; what failed is shown as a toast. True when to quit. */
bool session_apply(struct session *s, struct ui *ui, const struct actions *actions);
/* After each frame: what stands in a form that is not added yet is kept. */
void session_keep_draft(struct session *s, struct ui *ui);
/* Takes results of other threads and changes of other programs; true when something is new. */
bool session_poll(struct session *s, struct ui *ui);
/* Nothing is being computed or taken in. */
bool session_settled(struct session *s);

/* Pictures that the window should have: calls put for each that is ready and not there yet. */
struct session_pictures {
    bool (*has)(void *ctx, uint64_t key);
    bool (*put)(void *ctx, uint64_t key, const uint8_t *rgba, int w, int h);
    void *ctx;
};
void session_set_pictures(struct session *s, struct session_pictures p);

#endif
