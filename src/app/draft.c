#include "app/draft.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "screen/engine_form_text.h"

#define PAUSE_S 0.5 /* as of every field: ui_field.c */

/* The form before anything was typed into it; false: it is of an engine that is not there. */
static bool as_begun(const struct model *m, const char *editing, bool inches, struct engine_form *out)
{
    memset(out, 0, sizeof *out);
    if (editing[0] == '\0') {
        engine_form_begin(out, inches);
        return true;
    }
    for (size_t i = 0; i < m->n_engines; i++)
        if (strcmp(m->engines[i].id, editing) == 0) {
            text_copy(out->editing, sizeof out->editing, editing);
            engine_form_fill(out, &m->engines[i].engine, inches);
            return true;
        }
    return false;
}

static bool is_draft(const struct model *m, const struct screen_state *st)
{
    struct engine_form begun;

    return m->can_write && (st->new_open || (m->record == NULL && m->n_engines == 0)) && st->fresh.touched && as_begun(m, st->fresh.editing, st->fresh.inches, &begun) &&
           !engine_form_same(&begun, &st->fresh);
}

void draft_keep(struct draft *d, struct logbook *lb, const struct model *m, const struct screen_state *st, struct ui *ui)
{
    struct text t = {0};

    if (m->record != NULL && st->new_open) /* it stands open behind an engine that is looked at */
        return;
    if (!is_draft(m, st)) {
        if (d->there && logbook_keep_draft(lb, "", NULL))
            d->there = false;
        d->pending = false;
        return;
    }
    if (!engine_form_same(&d->seen, &st->fresh) || strcmp(d->seen.editing, st->fresh.editing) != 0 || !(d->pending || d->there)) {
        d->seen = st->fresh;
        d->changed_at_s = ui_now_s(ui);
        d->pending = true;
    }
    if (!d->pending)
        return;
    if (ui_now_s(ui) < d->changed_at_s + PAUSE_S) {
        ui_wake_at_s(ui, d->changed_at_s + PAUSE_S);
        return;
    }
    engine_form_format(&st->fresh, &t);
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
        if (m->can_write && engine_form_parse(kept, &said) && as_begun(m, said.editing, said.inches, &form) && engine_form_parse(kept, &form)) {
            form.taken_up = true;
            st->fresh = d->seen = form;
            st->new_open = true;
        }
    }
    free(kept);
}
