/* window.h - the window: SDL's events in, frames out. The script player drives the same one. */
#ifndef APP_WINDOW_H
#define APP_WINDOW_H

#include <stdbool.h>
#include "ui/ui.h"

struct err;
struct session;
struct ui_render;
struct window;

struct window_options {
    const char *folder;
    int width, height;  /* logical px; 0: a usual size */
    float scale;        /* 0: as the screen says */
    bool hidden_caret;  /* for pictures */
    bool software;      /* SDL's software renderer */
    bool apart;         /* standard settings; the person's are neither read nor written */
};
struct window *window_create(const struct window_options *o, struct err *e);
void window_destroy(struct window *w);
struct ui *window_ui(struct window *w);
struct ui_render *window_render(struct window *w);

/* Runs until the window is closed. */
void window_run(struct window *w);
/* One turn: SDL's events are taken, frames run while events wait, drawn if there is a reason. Waits
 * at most wait_s for something to happen. False when to quit. */
bool window_turn(struct window *w, double wait_s);
/* Draws the present state whether or not there is a reason; seconds it took. */
double window_draw(struct window *w);
bool window_set_size(struct window *w, int width, int height, float scale, struct err *e);
void window_offer_lines(struct window *w, bool on); /* whether photos are looked through for lines to offer; on at first */
bool window_settled(struct window *w); /* nothing is computed, taken in or waiting to be drawn */

struct window_counts {
    long n_frames;      /* drawn */
    double worst_s;
    double *frame_s;    /* of each drawn frame, n_frames of them */
    double answer_s;    /* the longest from taking an input until what came of it was drawn, since it was set to 0 */
};
const struct window_counts *window_count(const struct window *w);
void window_count_answers(struct window *w); /* anew */

#endif
