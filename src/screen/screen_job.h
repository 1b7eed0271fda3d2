/* screen_job.h - shared inside the Job screen only. */
#ifndef SCREEN_SCREEN_JOB_H
#define SCREEN_SCREEN_JOB_H

#include "screen/model.h"

/* What a list of the Job screen shows, and what it is drawn with. */
struct job_pen {
    struct ui *ui;
    float x, y, w;
    bool draws; /* false: only measures */
};
void job_put(struct job_pen *p, const char *text, const struct ui_style *style, float gap);
/* A row of chips that hold one of several words; gives the word chosen now, -1 none. */
struct job_choice {
    const char *id, *label, *key; /* key: NULL none */
};
int job_chips(struct ui *ui, const char *prefix, struct rect r, const struct job_choice *choices, int n, int on);
/* The same under a chosen row, with their keys, and a last one that opens the row's fields. */
int job_row_chips(struct ui *ui, struct screen_state *st, const char *prefix, struct rect r, const struct job_choice *choices, int n, int on);
float job_row_chips_px(struct ui *ui, float w, const struct job_choice *choices, int n);
/* A field with its heading, cut from the top of r, and under it why what was typed is not taken. When something else was
 * typed than `value`, the action that keeps it, with the text in it: the caller says of what. Else NULL. */
struct job_asked {
    const char *id, *label, *hint, *value;
    const char *of; /* whose value it is: what is refused stays with that; "" there is one only */
    size_t n_room;
    enum action_type type;
};
float job_field_px(struct ui *ui, struct screen_state *st, const char *id, const char *of, float w); /* its height */
struct action *job_field(struct ui *ui, struct screen_state *st, struct actions *out, const struct job_asked *f, struct rect *r);
/* A field that only takes new things: true when words were entered, or left in it; it is empty again then. */
bool job_new_field(struct ui *ui, const char *id, const struct ui_field *opts, const char *key, struct rect r, char *typed, size_t n_room);
extern const struct job_choice job_kinds[4]; /* parts that change holes */
void job_keep_scrap(const struct model *m, struct actions *out, int cylinder, int position);
bool job_has_kind(const struct model *m, int kind); /* no leads with a coil on each plug, no injectors where no cylinder has its own; one that was written down stays */
int job_kind_after(const struct model *m, int kind); /* the next of them; plugs are always there */
void job_ask_swap(const struct screen_state *st, struct actions *out, int from, int to);
/* A new part of the kind chosen into the hole chosen; all plugs as the scheme says. */
void job_renew_here(const struct model *m, struct screen_state *st, struct actions *out);
void job_rotate(const struct model *m, struct screen_state *st, struct actions *out);
/* The part of one cylinder waits for the other; picked again, they change places. */
void job_swap_at(struct screen_state *st, struct actions *out, int cylinder);
/* Of the chosen plug: it was cleaned and dried, its lead or connector is still off; asked again, taken back. */
void job_clean(const struct model *m, struct actions *out, int cylinder, int position);
void job_unplug(const struct model *m, struct actions *out, int cylinder, int position);
bool job_chosen(const struct screen_state *st, enum job_section section, int row);
void job_choose(struct screen_state *st, enum job_section section, int row); /* by a person */
void job_await(const struct model *m, struct screen_state *st, enum job_section section); /* a row is being added at its end: it will be the one chosen */
void job_turn_fields(struct screen_state *st); /* of what is chosen: shown, in view, or not any more */
/* The verdict of this visit on a cause, NULL when it is not judged. */
enum job_state job_verdict(const struct model *m, const struct cause *c); /* what was said of it at this visit */
int job_n_causes(const struct model *m); /* those worth showing */

void job_left_words(const struct model *m, const char *visit_id, char *to, size_t n_room);
/* Draw from y on within the column and give where they end. */
float job_causes_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y);
void job_steps_head(struct ui *ui, struct rect r); /* stays when the steps are scrolled */
float job_steps_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y);
float job_closing(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y); /* what was checked, what stays open */
float job_parts_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y);
float job_refit_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y);
float job_things_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect in, float y);
float job_facts_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y);

#endif
