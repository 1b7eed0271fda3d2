/* sheet.h - the line-up as one picture: all plugs side by side, the visits above one another, to be saved, printed, sent. */
#ifndef REPORT_SHEET_H
#define REPORT_SHEET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/units.h"
#include "logbook/logbook.h"

struct arena;
struct drawing;
struct err;
struct lineup_cell;
struct record;

struct sheet_ask {
    enum crop_view view;
    bool firing;       /* columns in firing order, else by bank */
    int n_visits;      /* the latest; 0: all */
    int skip_visits;   /* of those, so many of the newest are on an earlier page */
    int first_column, n_columns; /* plugs; 0: all */
    struct unit_choice units;
    struct sheet_laid {
        bool on;
        int over, under;   /* of the record's visits, two of them */
        int share;         /* %, how much of the upper shows; 100 or 0: seen in turn, the one or the other */
    } laid;            /* a row above the visits, on the first page */
};
/* As a drawing in the arena; cells as lineup_load() gives them. */
void sheet_draw(const struct record *r, const struct lineup_cell *cells, const struct sheet_ask *ask, struct arena *a, struct drawing *out);
/* Loads the plugs of a record's visits, draws them and gives PNG bytes (malloc'd); nothing of the photos but their
 * pixels is in it. Decodes photos: not for the window's process. Fails as the logbook does, ERR_LIMIT when it would be
 * too large. */
bool sheet_png(struct logbook *lb, const struct record *r, const struct sheet_ask *ask, uint8_t **bytes, size_t *n_bytes, struct err *e);
/* The same on paper: as many pages as are needed to be read, upright or lying, whichever takes fewer. */
struct report_paper;
struct text;
bool sheet_pdf(struct logbook *lb, const struct record *r, const struct sheet_ask *ask, const struct report_paper *paper, struct text *out, struct err *e);

#endif
