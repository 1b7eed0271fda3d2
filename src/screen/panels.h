/* panels.h - shared by the panels that open over a screen. */
#ifndef SCREEN_PANELS_H
#define SCREEN_PANELS_H

#include "screen/model.h"

struct rect panel_middle(struct ui *ui, float w, float h); /* of the screen, no larger than it is below the bar, in which it is said what was done */
/* Where so much room does not do, up over the bar; what is said there then comes beside the title (panel_beside_title()). */
struct rect panel_tall(struct ui *ui, float w, float h);
struct rect panel_beside_title(struct ui *ui, struct rect panel, const char *title);
/* The same with `more` px of what came since, at its foot: its upper edge stays. */
struct rect panel_grown(struct ui *ui, float w, float h, float more);
#define VISIT_TITLE "This visit"
#define VISIT_W 860
#define VISIT_H 864
void panel_visit(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* What was done after a visit's readings, from the top of r, which it cuts off: taken back by a press, added to by chips. */
void panel_work(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r);
void panel_measures(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void panel_take(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void panel_old_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void panel_take_busy(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void panel_merge(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void panel_conflicts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* What merged copies say differently of the selected plug, with both values, to choose there: its gaps, or all else. */
void conflicts_at_field(struct ui *ui, const struct model *m, const struct screen_state *st, struct actions *out, bool gap, struct rect *r);
void conflicts_of_plug(struct ui *ui, const struct model *m, const struct screen_state *st, struct rect *r); /* that there are any, in one line */
/* Chooses a value of the first of them. */
void conflicts_settle_here(const struct model *m, const struct screen_state *st, struct actions *out, int value);
/* Of an engine's card: how many, and those of these columns (NULL ends them), with both values, to choose where the form is
 * not being changed. */
int conflicts_of_card(const struct model *m, const char *engine);
void conflicts_at_card(struct ui *ui, const struct model *m, struct actions *out, const char *engine, const char *const *columns, bool can_choose, struct rect *r);
/* A small mark where a field of the visit shown has another value in another copy, with that value. */
void conflicts_mark(struct ui *ui, const struct model *m, const char *table, const char *column, struct rect r);
void panel_plug(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* What is measured of a cylinder; a->number of ACT_SET_MEASURE is its row. */
struct measure_column {
    const char *id, *label;
    const char *column, *name;   /* of the reading's row; in the label of undo */
    bool pressure;               /* in the unit set */
    size_t at;                   /* struct maybe in struct reading */
    double most;                 /* in its own unit; of pressures in kPa */
    const char *says;            /* "… is not SAYS"; of pressures the unit follows */
};
const struct measure_column *measure_columns(int *n);
#define MEASURE_DRY 0
/* Its field for a cylinder; true when Enter left it. Its name is that under which it may be refused. */
bool measure_field(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, int cylinder, int column, const char *id, struct rect r);
void measure_field_name(int cylinder, int column, char to[64]);
bool measure_is_field(const char *name); /* such a name */
/* The panel goes while something typed in it was not taken: nobody should think that it was. */
void panel_tell_what_waits(struct ui *ui, const struct screen_state *st, enum panel_id panel);
/* Visit is opened: with the field in view that waits with what was refused. */
void panel_show_what_waits(struct screen_state *st);

#endif
