/* draft.h - the engine's form while it is being filled in: no row of the logbook yet, and kept there all the same, half a
 * second after typing paused, as everything else that is typed. Taken up again when the window is opened anew. */
#ifndef APP_DRAFT_H
#define APP_DRAFT_H

#include "screen/model.h"

struct logbook;

struct draft {
    struct engine_form seen; /* as it was looked at last */
    double changed_at_s;
    bool left;               /* it was left, not open */
    bool pending, there;     /* to be written; something is kept */
};

/* After each frame. What is added, started over or changed back is no draft any more; what was left still is. A form that cannot be kept (a full disk) is
 * tried again when it changes. */
void draft_keep(struct draft *d, struct logbook *lb, const struct model *m, const struct screen_state *st, struct ui *ui);
/* Opens the form as it stood when the window ended; one that was left comes when it is asked for. */
void draft_take_up(struct draft *d, struct logbook *lb, const struct model *m, struct screen_state *st);

#endif
