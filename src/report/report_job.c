/* report_job.c - the job in a report: steps with their cautions, tightening, what became of repairs and swaps. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "logbook/logbook.h"
#include "reading/refit.h"
#include "report/report.h"
#include "report/report_work.h"

static int visit_index(const struct record *r, const char *id)
{
    for (int i = 0; i < r->n_visits; i++)
        if (strcmp(r->visits[i].id, id) == 0)
            return i;
    return -1;
}

size_t report_watches(const struct record *r, const struct logbook_verdict *verdicts, size_t n, struct report_watch *out, size_t n_room)
{
    size_t k = 0;

    for (size_t i = 0; i < n && k < n_room; i++) {
        const struct logbook_verdict *v = &verdicts[i];
        bool repaired = v->repaired_visit[0] != '\0';
        int at = visit_index(r, repaired ? v->repaired_visit : v->visit);

        if (strcmp(v->state, "dismissed") == 0 || at < 0)
            continue;
        out[k].verdict = v;
        if (follow_of(r, at, v->cause, v->place, &out[k].follow))
            k++;
    }
    return k;
}

size_t report_swaps(const struct record *r, struct swap_verdict *out, size_t n_room)
{
    size_t k = 0;

    if (r->n_visits < 2)
        return 0;
    for (int i = 0; i < r->visits[r->n_visits - 2].n_done && k < n_room; i++) {
        const struct visit_done *d = &r->visits[r->n_visits - 2].done[i];

        if (d->from >= 0 && d->to >= 0)
            swap_judge(r, d, &out[k++]);
    }
    return k;
}

static void cell(struct text *t, const char *tag, const char *s)
{
    text_addf(t, "<%s>", tag);
    report_escape(t, s);
    text_addf(t, "</%.2s>", tag);
}

void report_add_held(struct text *t, const struct record *r, const struct report_extra *x)
{
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct swap_verdict swaps[REPORT_MOST_WATCHED];
    size_t n = report_watches(r, x->verdicts, x->n_verdicts, watches, REPORT_MOST_WATCHED), n_swaps = report_swaps(r, swaps, REPORT_MOST_WATCHED);
    char line[200];

    if (n + n_swaps == 0)
        return;
    text_add(t, "<h2>Did the repairs hold?</h2>\n<div class=\"wide\"><table><thead><tr><th scope=\"col\">Repair or test</th><th scope=\"col\">Now</th><th scope=\"col\">What shows it</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < n; i++) {
        text_format(line, sizeof line, "%s, %s%s", job_cause_label(watches[i].verdict->cause), watches[i].verdict->place,
                    watches[i].verdict->repaired_visit[0] ? "" : " (accepted, no repair noted)");
        text_add(t, "<tr>");
        cell(t, "th scope=\"row\"", line);
        cell(t, "td", follow_words(watches[i].follow.state));
        cell(t, "td", watches[i].follow.shown);
        text_add(t, "</tr>\n");
    }
    for (size_t i = 0; i < n_swaps; i++) {
        static const char *const words[] = {"cannot tell", "followed", "stayed"};

        text_add(t, "<tr>");
        cell(t, "th scope=\"row\"", swaps[i].headline);
        cell(t, "td", words[swaps[i].state]);
        cell(t, "td", swaps[i].shown);
        text_add(t, "</tr>\n");
    }
    text_add(t, "</tbody></table></div>\n");
}

/* "1.10 mm as left; washer new; thread dry; torqued" of each hole of which something is noted. */
static void add_holes(struct text *t, const struct record *r)
{
    const struct visit *v = record_current(r);
    bool any = false;
    char label[48], gap[24];

    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &v->readings[i];

        if (q->refit == 0 && q->washer == 0 && q->thread_state == 0 && !q->gap_left_mm.given)
            continue;
        if (!any)
            text_add(t, "<h3>Hole by hole</h3>\n<div class=\"wide\"><table><thead><tr><th scope=\"col\">Plug</th><th scope=\"col\">Gap as left</th><th scope=\"col\">Washer</th><th scope=\"col\">Thread</th><th scope=\"col\">Refit</th></tr></thead><tbody>\n");
        any = true;
        engine_plug_label(&r->engine, i / r->engine.n_positions, i % r->engine.n_positions, label, sizeof label);
        gap[0] = '\0';
        if (q->gap_left_mm.given)
            snprintf(gap, sizeof gap, "%.2f mm", q->gap_left_mm.value);
        text_add(t, "<tr>");
        cell(t, "th scope=\"row\"", label);
        cell(t, "td", gap);
        cell(t, "td", words_label(WORDS_WASHER, q->washer));
        cell(t, "td", words_label(WORDS_THREAD_STATE, q->thread_state));
        cell(t, "td", words_label(WORDS_REFIT, q->refit));
        text_add(t, "</tr>\n");
    }
    if (any)
        text_add(t, "</tbody></table></div>\n");
}

void report_add_refit(struct text *t, const struct record *r)
{
    struct refit *f = mem_alloc(1, sizeof *f);
    struct err ignored;
    char line[120];

    if (refit_for_engine(&r->engine, f, &ignored)) {
        text_add(t, "<h2>Tightening</h2>\n<p>The maker's figure wins: ");
        if (f->maker_nm > 0)
            text_addf(t, "%.0f N·m.", f->maker_nm);
        else
            text_add(t, "not entered on this engine's card.");
        text_add(t, "</p>\n<div class=\"wide\"><table><thead><tr><th scope=\"col\">Chart</th><th scope=\"col\">N·m</th><th scope=\"col\">As printed</th><th scope=\"col\">Threads</th><th scope=\"col\">Source</th></tr></thead><tbody>\n");
        for (int i = 0; i < f->n_charts; i++) {
            const struct refit_chart *c = &f->charts[i];

            text_format(line, sizeof line, c->nm_max - c->nm_min < 0.05 ? "%.0f" : "%.0f–%.0f", c->nm_min, c->nm_max);
            text_add(t, "<tr>");
            cell(t, "th scope=\"row\"", c->chart);
            cell(t, "td", line);
            cell(t, "td", c->printed);
            cell(t, "td", c->threads);
            cell(t, "td", c->source);
            text_add(t, "</tr>\n");
        }
        text_add(t, "</tbody></table></div>\n");
    }
    free(f);
    add_holes(t, r);
}
