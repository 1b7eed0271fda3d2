/* What a plan would write, what it leaves out and what it took for granted, in words. */
#include "takeover/plan.h"


#include "base/text.h"
#include "base/units.h"

static void add_count(struct text *t, size_t n, const char *noun)
{
    text_addf(t, "%zu %s%s", n, noun, n == 1 ? "" : "s");
}

bool take_plan_left_out(const struct take_plan *p, char *to, size_t n_room)
{
    struct text t = {0};

    if (p->n_bad_rows > 0)
        add_count(&t, p->n_bad_rows, "row");
    if (p->n_bad_rows > 0 && p->n_bad_cells > 0)
        text_add(&t, " and ");
    if (p->n_bad_cells > 0)
        add_count(&t, p->n_bad_cells, "cell");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
    return to[0] != '\0';
}

void take_plan_words(const struct take_plan *p, char *to, size_t n_room)
{
    char left_out[80];
    struct text t = {0};

    if (p->n_values == 0) {
        text_add(&t, "nothing: no row could be read");
    } else if (p->n_new + p->n_replaced == 0) {
        text_add(&t, "nothing new: ");
        add_count(&t, p->n_same, "value");
        text_addf(&t, " of the table %s in the logbook already", p->n_same == 1 ? "is" : "are");
    } else {
        if (p->n_changed > 0) {
            add_count(&t, p->n_changed, "reading");
            text_add(&t, " with ");
        }
        add_count(&t, p->n_new + p->n_replaced, "value");
        text_add(&t, " into ");
        add_count(&t, p->n_visits, p->n_new_visits == p->n_visits ? "new visit" : "visit");
        if (p->n_new_visits == 0)
            text_add(&t, " of the logbook");
        else if (p->n_new_visits < p->n_visits)
            text_addf(&t, ", %zu of them new", p->n_new_visits);
        if (p->n_replaced > 0)
            text_addf(&t, "; %zu %s the place of another", p->n_replaced, p->n_replaced == 1 ? "takes" : "take");
        if (p->n_same > 0) {
            text_add(&t, "; ");
            add_count(&t, p->n_same, "value");
            text_add(&t, " there already");
        }
    }
    if (p->plug_type[0] != '\0')
        text_addf(&t, "; “%s” onto the engine's card as its plug", p->plug_type);
    if (take_plan_left_out(p, left_out, sizeof left_out))
        text_addf(&t, "; %s left out", left_out);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void take_plan_assumed(const struct take_table *t, const struct take_plan *p, bool in_window, struct text *to)
{
    char heading[80];
    int first = -1;

    for (int i = 0; i < t->n_columns; i++) {
        const struct take_column *c = &t->columns[i];

        if (!p->assumed[i])
            continue;
        text_addf(to, "%s%s is taken as %s", first < 0 ? "" : ", ", take_table_heading(t, i, heading, sizeof heading), unit_find(c->unit)->label);
        first = first < 0 ? i : first;
    }
    if (first < 0)
        return;
    text_add(to, ": no unit is written there. ");
    if (in_window) {
        text_add(to, "Choose the column and press U for another.");
        return;
    }
    take_table_heading(t, first, heading, sizeof heading);
    text_addf(to, "Another is said in the heading, as in “%s (%s)”, or by --columns %d=%s:UNIT (", heading, t->columns[first].unit, first + 1, take_field(t->columns[first].field)->id);
    for (int k = 0; k < 5 && take_field(t->columns[first].field)->units[k] != NULL; k++)
        text_addf(to, "%s%s", k ? ", " : "", take_field(t->columns[first].field)->units[k]);
    text_add(to, ").");
}
