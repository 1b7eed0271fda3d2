#include "report/backlog.h"

#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "logbook/logbook.h"
#include "reading/cause_at.h"

void backlog_words(const struct engine *en, const struct findings *f, struct text *to)
{
    char at[CAUSE_AT_BYTES];

    for (int i = 0; i < f->n_stand_outs; i++)
        text_addf(to, "%s%s. %s", to->n_bytes ? " " : "", f->stand_outs[i].headline, f->stand_outs[i].text);
    for (int i = 0; i < f->n_causes; i++)
        if (f->causes[i].probability >= CAUSE_LIKELY) {
            cause_at_found(en, &f->causes[i], at);
            text_addf(to, "%s%s.", to->n_bytes ? " " : "", at);
        }
}

static bool is_cancelled(const atomic_bool *cancel)
{
    return cancel != NULL && atomic_load(cancel);
}

/* Those of one engine among the unread ones, each with the visits before it. False: cancelled. */
static bool read_engine(struct logbook *lb, const struct record *r, const struct logbook_unread *visits, size_t n, const struct reading_options *options, const atomic_bool *cancel,
                        size_t *n_read)
{
    struct reading_options o = *options;

    o.cancel = cancel;
    o.first_answer = true;
    for (size_t i = 0; i < n; i++) {
        struct record until;
        int n_until = 0;
        struct findings f;
        struct text words = {0};

        for (int k = 0; k < r->n_visits && n_until == 0; k++)
            if (strcmp(r->visits[k].id, visits[i].visit) == 0)
                n_until = k + 1;
        if (n_until == 0)
            continue; /* taken out since */
        until = record_until(r, n_until);
        if (is_cancelled(cancel) || !reading_run(&until, &o, &f, NULL))
            return false;
        backlog_words(&r->engine, &f, &words);
        logbook_keep_findings(lb, visits[i].engine, visits[i].visit, text_get(&words));
        text_release(&words);
        findings_release(&f);
        ++*n_read;
    }
    return true;
}

bool backlog_read(struct logbook *lb, const struct reading_options *options, const atomic_bool *cancel, size_t *n_read, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_unread *unread;
    size_t n;
    bool fine = logbook_list_unread(lb, a, &unread, &n, e);

    *n_read = 0;
    for (size_t from = 0, to; fine && from < n && !is_cancelled(cancel); from = to) {
        struct record r;

        for (to = from; to < n && strcmp(unread[to].engine, unread[from].engine) == 0; to++)
            ;
        if (!logbook_load_record(lb, unread[from].engine, NULL, &r, e)) {
            fine = false;
            break;
        }
        (void)read_engine(lb, &r, unread + from, to - from, options, cancel, n_read);
        record_release(&r);
    }
    arena_destroy(a);
    return fine;
}
