#include "app/draft.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "screen/engine_form_text.h"

#define PAUSE_S 0.5 /* as of every field: ui_field.c */

#define LEFT_LINE "left\t1\n" /* it was left: it comes with the key that opens it, not by itself */

/* The form that holds what is added nowhere yet: the one that is open, else one that was left; NULL none. */
static const struct engine_form *draft_of(const struct model *m, const struct screen_state *st)
{
    const bool open = st->new_open || (m->record == NULL && m->n_engines == 0);

    if (!m->can_write)
        return NULL;
    if (open && form_holds(m, &st->fresh))
        return &st->fresh;
    for (int i = 0; i < 2; i++)
        if (form_holds(m, &st->left[i]))
            return &st->left[i];
    return NULL;
}

void draft_keep(struct draft *d, struct logbook *lb, const struct model *m, const struct screen_state *st, struct ui *ui)
{
    const struct engine_form *f;
    struct text t = {0};

    if (m->record != NULL && st->new_open) /* it stands open behind an engine that is looked at */
        return;
    f = draft_of(m, st);
    if (f == NULL) {
        if (d->there && logbook_keep_draft(lb, "", NULL))
            d->there = false;
        d->pending = false;
        return;
    }
    if (!engine_form_same(&d->seen, f) || strcmp(d->seen.editing, f->editing) != 0 || d->left != (f != &st->fresh) || !(d->pending || d->there)) {
        d->seen = *f;
        d->left = f != &st->fresh;
        d->changed_at_s = ui_now_s(ui);
        d->pending = true;
    }
    if (!d->pending)
        return;
    if (ui_now_s(ui) < d->changed_at_s + PAUSE_S) {
        ui_wake_at_s(ui, d->changed_at_s + PAUSE_S);
        return;
    }
    engine_form_format(f, &t);
    if (d->left)
        text_add(&t, LEFT_LINE);
    d->there = logbook_keep_draft(lb, text_get(&t), NULL) || d->there;
    d->pending = false;
    text_release(&t);
}

void draft_take_up(struct draft *d, struct logbook *lb, const struct model *m, struct screen_state *st)
{
    char *kept = mem_alloc(ENGINE_FORM_TEXT_BYTES, 1);
    struct engine_form said = {.touched = false}, form;

    if (logbook_read_draft(lb, kept, ENGINE_FORM_TEXT_BYTES) && kept[0] != '\0') {
        d->there = true; /* what cannot be taken up goes when it is looked at next */
        if (m->can_write && engine_form_parse(kept, &said) && form_as_begun(m, said.editing, said.inches, &form) && engine_form_parse(kept, &form)) {
            form.taken_up = true;
            d->seen = form;
            d->left = m->n_engines > 0 && text_ends(kept, LEFT_LINE);
            if (d->left) {
                st->left[form.editing[0] != '\0'] = form;
            } else {
                st->fresh = form;
                st->new_open = true;
            }
        }
    }
    free(kept);
}
