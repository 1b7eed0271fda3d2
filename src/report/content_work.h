/* content_work.h - what the files that make a report's content share; not for others. */
#ifndef REPORT_CONTENT_WORK_H
#define REPORT_CONTENT_WORK_H

#include "record/record.h"
#include "report/content.h"
#include "report/drawing.h"
#include "report/report.h"

struct maker {
    struct content *c;
    size_t n_room;
    struct arena *a;
    const struct report_source *source;
    const struct report_ask *ask;
    int depth;                    /* of a part's heading: 2, or 3 below a visit's */
};
struct cells { /* of a table, or lines of a card */
    struct content_line *list;
    size_t n, n_room;
};
bool maker_wants(const struct maker *m, enum report_part part);
struct content_block *maker_add(struct maker *m, enum content_kind kind);
void maker_heading(struct maker *m, int depth, const char *text);
void maker_part(struct maker *m, enum report_part part); /* its heading */
void maker_text(struct maker *m, enum content_tone tone, const char *text);
void maker_alert(struct maker *m, enum level level, const char *text);
void maker_cell(struct maker *m, struct cells *cells, enum content_tone tone, const char *text);
/* Takes out of a table, its first column aside, those in which no row says anything: all cells empty or `nothing`. Gives which,
 * by their places before. */
uint32_t maker_drop_empty(struct maker *m, struct content_block *b, const char *nothing);
/* Heads live as long as the program; cells are taken over. */
struct content_block *maker_table(struct maker *m, const char *const *heads, int n_columns, int head_column, const struct cells *cells);

/* content_short.c */
bool content_is_renewed(const struct record *r, const struct stand_out *s); /* the part it was seen on was replaced after this reading */
/* ", repaired": a person's verdict at the record's last visit on a cause found there; "" none. */
const char *content_judged(const struct maker *m, const struct record *r, const struct cause *c);
void content_short(struct maker *m, const struct record *r, const struct report_visit *v);
/* content_visit.c */
void content_engine(struct maker *m, const struct record *r);
void content_visit(struct maker *m, const struct record *r);
void content_readings(struct maker *m, const struct record *r);
/* content_job.c */
void content_repairs(struct maker *m, const struct record *r);
void content_steps(struct maker *m, const struct record *r, const struct report_visit *v);
void content_needs(struct maker *m, const struct report_visit *v);
void content_closing(struct maker *m, const struct record *r, const struct report_visit *v);
void content_torque(struct maker *m, const struct record *r); /* plugs tightened far off the book */
void content_refit(struct maker *m, const struct record *r);
void content_next_time(struct maker *m);
/* content_trend.c */
void content_trends(struct maker *m, const struct record *r);
/* content_plugs.c */
void content_plan(struct maker *m, const struct record *r, const struct report_visit *v);
void content_lineup(struct maker *m, const struct record *r);
void content_photos(struct maker *m, const struct record *r, const struct report_visit *v);
/* A plug in its bore: its photo, the tip drawn from the reading, or an open bore. among: others it is compared with, so
 * that scale and light are told. */
void content_plug(struct drawing *d, double x, double y, double radius, const struct reading *q, int cylinder, const struct report_picture *photo, bool among);
void content_pill(struct drawing *d, const struct engine_plug_spec *spec, const struct unit_choice *units, const struct reading *q, double x, double y, double w); /* its gap, which is given */
void content_fit(const char *label, double px, char *to, size_t n_room); /* cut to the letters there is room for at 11 px */
void content_mark(struct drawing *d, double x, double y, enum level level);
void content_tag(struct drawing *d, double x, double y, double w, const char *label); /* the plug's name; y: its top */

#endif
