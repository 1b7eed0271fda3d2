/* photo_bench.h - what the parts of Photos share: where a photo is drawn, its marks, the tools. */
#ifndef SCREEN_PHOTO_BENCH_H
#define SCREEN_PHOTO_BENCH_H

#include "screen/model.h"

/* ---- where it lies (photo_place.c) ---- */
/* Where a photo is drawn: its middle, logical pixels for one of its own, quarter turns clockwise and degrees
 * besides. */
struct photo_place {
    float cx, cy, zoom;
    int turn, width, height; /* of the photo as displayed, not turned */
    double lean_deg;
};
void photo_to_screen(const struct photo_place *p, double x, double y, float *sx, float *sy);
void photo_from_screen(const struct photo_place *p, float sx, float sy, double *x, double *y);
/* The place that shows a whole photo in the middle of r. */
struct photo_place photo_fit(const struct logbook_photo *p, struct rect r);
/* The corners of a rectangle between two opposite ones in the photo, on the screen: it turns with it. */
void photo_corners(const struct photo_place *p, double x0, double y0, double x1, double y1, float xy[8]);
struct rect photo_bounds(const struct photo_place *at); /* the upright box around all of it */
/* Its picture, small copy first, sharp tiles over it as far as they are there; those that are wanted are
 * added to st's. Clip is the caller's. other: the photo compared with, `share` of it laid over what is there. */
void photo_paint_other(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view, float share);
void photo_paint(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view);

/* ---- turning (photo_turn.c) ---- */
/* By so many degrees clockwise; more than 45 besides the quarters become a quarter. fine: further ones join
 * its step of undo. */
void bench_turn(struct actions *out, const struct logbook_photo *p, int quarters, double deg, bool fine);
/* Until the line from one point of the photo to the other is level or upright, what is nearer. */
void bench_turn_by_line(struct actions *out, const struct logbook_photo *p, double x0, double y0, double x1, double y1);
/* Keys that turn; true when one was used. */
bool bench_turn_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p);
void bench_level(const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p); /* by the chosen line, else by one to be drawn */

/* ---- two photos (photo_compare.c) ---- */
/* The photo compared with, NULL none. */
const struct logbook_photo *bench_other(const struct model *m, const struct screen_state *st);
/* p in `view`, enlarged and moved as the first one lies in `beside` (NULL: whole); least: the zoom that shows all of
 * that. */
void bench_beside(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *first, float least, struct rect beside, struct rect view);
/* In the clip of the view, right behind photo_paint(): lays the other over p as it lies `at` (least: the zoom that shows all of it), and the slider of its share. */
void bench_blend(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, float least, struct rect view);
struct rect bench_share_place(struct rect view); /* where that slider is */
/* A key, or the button with that key below the photo. pressed: NULL none. */
bool bench_asked(struct ui *ui, const char *pressed, const char *key);
bool bench_compare_keys(struct ui *ui, const struct model *m, struct screen_state *st, const char *pressed);
struct rect bench_title_place(struct ui *ui, const struct model *m, const struct logbook_photo *p, struct rect view);
void bench_title(struct ui *ui, const struct model *m, const struct logbook_photo *p, struct rect view);

/* ---- the plug's frame for the Line-up, set by hand (photo_frame.c) ---- */
void bench_frame_next(struct screen_state *st); /* of the tip, of the side, none */
void bench_frame_draw(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, struct rect view);
void bench_frame_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, char *to, size_t n_room);
/* Keeps it, lets it go, takes one away that was set; true when a key was used. */
bool bench_frame_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at, struct rect view);

/* ---- tools (photo_tools.c) ---- */
struct bench_tool {
    int kind;              /* enum mark_kind, -1: select */
    const char *label;     /* below its sign */
    const char *key, *shown;
    const char *words;     /* what to do with it, in the line below the photo */
    const float *sign;     /* polylines in a field of 20 × 20: x, y pairs, each ended by -1, the last by -2 */
};
const struct bench_tool *bench_tools(int *n);
const struct bench_tool *bench_tool_of(int kind);
void bench_pick(struct screen_state *st, int kind);
void bench_tool_column(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r);

/* ---- marks (photo_marks.c) ---- */
const struct logbook_mark *bench_marks(const struct model *m, const char *photo, size_t *n); /* of one photo, in the model */
const struct logbook_mark *bench_find(const struct model *m, const struct logbook_photo *p, enum mark_kind kind); /* NULL none */
const struct logbook_mark *bench_selected(const struct model *m, const struct screen_state *st, const struct logbook_photo *p); /* NULL none */
const struct photo_measured *bench_measured(const struct model *m, const char *photo); /* what its marks gave, NULL not asked yet */
void bench_let_go(struct screen_state *st); /* nothing selected, nothing begun */
struct bench_covered { /* what lies over the photo: no label goes there */
    struct rect r[3];
    int n;
};
/* Draws the marks of a photo, in the clip of its view; st NULL: none is selected or being drawn; covered NULL: without
 * their words. */
void bench_draw_marks(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view, const struct bench_covered *covered);
int bench_marks_in(struct ui *ui, const struct model *m, const struct logbook_photo *p, const struct photo_place *at, struct rect r); /* how many of them touch it */
/* What a mark says: "gap 1.32 mm", "9 threads · 11.25 mm", its text. */
void bench_mark_words(const struct model *m, const struct logbook_mark *mark, char *to, size_t n_room);

/* The mark with its ends where they are drawn: straightened to the thread, held to the edges. */
void bench_mark_as_seen(const struct model *m, const struct logbook_mark *mark, struct logbook_mark *to);

/* ---- lines found without drawing (photo_offer.c) ---- */
/* A photo for which they are looked for: no lines in it yet, none turned down. */
bool bench_offer_wanted(const struct model *m, const struct screen_state *st, const struct logbook_photo *p);
/* What is offered now, NULL nothing: while something is drawn or chosen, an offer waits. */
const struct photo_offer *bench_offer(const struct model *m, const struct screen_state *st, const struct logbook_photo *p);
bool bench_offer_coming(const struct model *m, const struct screen_state *st, const struct logbook_photo *p); /* it is being looked for */
bool bench_offer_missed(const struct model *m, const struct screen_state *st, const struct logbook_photo *p); /* it was looked for, and nothing sure was found */
bool bench_offer_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p);
void bench_draw_offer(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at);

/* ---- drawing (photo_draw.c) ---- */
/* The pointer on the view; true when it is the tools' and not for panning. */
bool bench_pointer(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p,
                   const struct photo_place *at, const struct ui_hit *hit, struct rect view);
/* An outline is being set corner by corner. */
bool bench_corners_begun(const struct bench_state *b);
/* Keys that act on marks: Enter, arrows, Delete, Escape. True when one was used. */
/* Enter puts the photo, which waits, onto the plug chosen on the plan. */
bool bench_places_here(const struct model *m, const struct screen_state *st, const struct logbook_photo *p);
bool bench_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at);
void bench_reorder(struct ui *ui, const struct model *m, struct actions *out, const struct logbook_mark *mark, int step); /* 1 in front of the next one, -1 behind the one before */
void bench_next_colour(struct ui *ui, struct actions *out, const struct logbook_mark *mark);
void bench_put(struct ui *ui, struct actions *out, const struct logbook_mark *marks, int n, const char *label);

/* ---- beside the photo (photo_facts.c; photo_scale.c, photo_colour.c, photo_chosen.c) ---- */
struct bench_column { /* filled from the top */
    struct ui *ui;
    struct rect r;
};
void bench_say(struct bench_column *c, const char *words, enum ui_colour colour);
void bench_heading(struct bench_column *c, const char *words);
bool bench_button(struct bench_column *c, const char *id, const char *label, const struct ui_button *o);
/* The plug that a figure would be taken for: the photo's, else the one selected on the plan. False: none. */
bool bench_plug_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, int *cylinder, int *position);
void bench_plug_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, char *to, size_t n_room); /* "" none */
const struct reading *bench_reading_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p); /* NULL none */
const char *bench_hex(const struct model *m, const struct logbook_mark *mark); /* the size of a hex line: chosen, or usual for the thread */
bool bench_offer_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p); /* false: nothing offered */
bool bench_offer_back_part(struct bench_column *c, const struct model *m, struct screen_state *st, const struct logbook_photo *p); /* lines turned down can be had again; false: none were */
/* Several threads are as wide as what is seen: which is it? */
void bench_ask_thread(struct bench_column *c, const struct model *m, struct actions *out, const struct photo_measured *got);
void bench_scale_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got);
void bench_colour_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got);
void bench_marks_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p);
void photo_facts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, struct rect r);
/* What Enter takes now: the gap. True when there was something. */
bool bench_take(const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p);
bool bench_take_colour(const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p);

#endif
