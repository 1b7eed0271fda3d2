/* report.c - sootbook report: a visit, or all of them, handed over as a file. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "cli/cli.h"
#include "logbook/logbook.h"
#include "report/report.h"
#include "report/report_pdf.h"
#include "report/sheet.h"
#include "settings/settings.h"

struct wanted {
    const char *path;
    const struct report_paper *paper; /* NULL: a page of HTML */
    struct report_ask ask;
    char rule[24], engine[UUID_BYTES], visit[UUID_BYTES];
    const char *laid; /* "VISIT,VISIT,PERCENT", NULL none */
};

static bool write_page(struct logbook *lb, const struct wanted *w, struct text *t, struct err *e)
{
    struct report_options o = {.ask = w->ask, .pixels = true, .compression_rule = w->rule};
    struct report_loaded loaded;
    struct content content;
    bool fine = true;

    if (!report_load(lb, w->engine, w->visit, &o, &loaded, e))
        return false;
    content_make(&loaded.source, &w->ask, loaded.memory, &content);
    if (w->paper != NULL)
        fine = report_pdf(&content, w->paper, t, e);
    else
        report_html(&content, t);
    report_loaded_release(&loaded);
    return fine;
}

static bool write_record(struct logbook *lb, const struct wanted *w, bool as_case, struct text *t, struct err *e)
{
    struct record r;
    bool fine = true;

    if (!logbook_load_record(lb, w->engine, w->visit, &r, e))
        return false;
    if (as_case) {
        char *json = casefile_format(&r), without[160];

        if (casefile_left_out(&r.engine, without, sizeof without))
            fprintf(stderr, "sootbook: a case does not hold %s; a backup does.\n", without);
        text_add(t, json);
        free(json);
    } else {
        struct arena *a = arena_create();
        struct report_beside b = {0};

        logbook_tell_in(lb, &w->ask.units);
        fine = report_load_marks(lb, &r, w->ask.n_visits, a, &b.said, &b.n_said, e) && report_load_runs(lb, w->engine, &r, w->ask.n_visits, a, &b.runs, &b.n_runs, e) &&
               report_load_differ(lb, w->engine, &r, w->ask.n_visits, a, &b.differ, &b.n_differ, e);
        if (fine)
            report_csv(&r, w->ask.n_visits, &b, t);
        arena_destroy(a);
    }
    record_release(&r);
    return fine;
}

/* One of the visits to be laid over each other: its place in the record; *s goes on behind the comma. */
static bool take_laid(struct logbook *lb, const struct wanted *w, const struct record *r, const char **s, int *visit, struct err *e)
{
    char typed[64], name[64], id[UUID_BYTES];

    text_format(typed, sizeof typed, "%.*s", (int)strcspn(*s, ","), *s);
    cli_visit_name(typed, name, sizeof name);
    if (!logbook_find_visit(lb, w->engine, name, id, e))
        return false;
    for (*visit = 0; *visit < r->n_visits && strcmp(r->visits[*visit].id, id) != 0;)
        ++*visit;
    *s += strcspn(*s, ",");
    *s += **s == ',';
    return *visit < r->n_visits || err_set(e, ERR_BADARG, "The visit %s is none of those in the line-up, which ends with the one of --visit.", typed);
}

static bool read_laid(struct logbook *lb, const struct wanted *w, const struct record *r, struct sheet_laid *out, struct err *e)
{
    const char *s = w->laid;
    char *end;
    long share = 50;

    if (s == NULL)
        return true;
    if (strchr(s, ',') == NULL || strchr(s, ',')[1] == '\0')
        return err_set(e, ERR_BADARG, "--laid “%s”: name two visits, the upper one first, as --laid 2026-06-14,2025-04-04.", TEXT_SHORT(s, 60));
    if (!take_laid(lb, w, r, &s, &out->over, e) || !take_laid(lb, w, r, &s, &out->under, e))
        return false;
    if (*s != '\0') {
        share = strtol(s, &end, 10);
        if (end == s || *end != '\0' || share < 0 || share > 100)
            return err_set(e, ERR_BADARG, "--laid: “%s” is not a share of the upper visit in percent, 0 to 100.", TEXT_SHORT(s, 30));
    }
    out->share = (int)share;
    out->on = true;
    return out->over != out->under || err_set(e, ERR_BADARG, "--laid names one visit twice.");
}

static bool write_sheet(struct logbook *lb, const struct wanted *w, struct sheet_ask *ask, struct text *t, struct err *e)
{
    struct record r;
    uint8_t *png = NULL;
    size_t n_bytes;
    bool fine;

    if (!logbook_load_record(lb, w->engine, w->visit, &r, e))
        return false;
    if (!read_laid(lb, w, &r, &ask->laid, e)) {
        record_release(&r);
        return false;
    }
    if (w->paper != NULL) {
        fine = sheet_pdf(lb, &r, ask, w->paper, t, e);
    } else {
        fine = sheet_png(lb, &r, ask, &png, &n_bytes, e);
        if (fine)
            text_add_bytes(t, png, n_bytes);
        free(png);
    }
    record_release(&r);
    return fine;
}

/* Those whose date is still to come are no history: that they are left out is said. */
static void tell_ahead(struct logbook *lb, const char *engine)
{
    struct record r;
    struct err ignored;

    if (!logbook_load_latest(lb, engine, &r, &ignored))
        return;
    for (int i = 0; i < r.n_ahead; i++)
        fprintf(stderr, "sootbook: the visit of %s is dated after today and left out; --visit %s tells it.\n", r.visits[r.n_visits + i].date, r.visits[r.n_visits + i].date);
    record_release(&r);
}

int cli_report(int argc, char **argv)
{
    static const char *const kinds[] = {"html", "pdf", "csv", "json", "png"};
    enum { HTML, PDF, CSV, JSON, SHEET };
    enum { VISIT, ENGINE, OUT, RULE, WITHOUT, VISITS, ALL_VISITS, UNITS, PAPER, SHEET_ONLY, FIRING, SIDE, LAID, N_OPTIONS };
    struct cli_option o[] = {[VISIT] = {.name = "--visit"}, [ENGINE] = {.name = "--engine"}, [OUT] = {.name = "-o"}, [RULE] = {.name = "--compression-rule"},
                             [WITHOUT] = {.name = "--without"}, [VISITS] = {.name = "--visits"}, [UNITS] = {.name = "--units"}, [ALL_VISITS] = {.name = "--all-visits", .flag = true}, [PAPER] = {.name = "--paper"},
                             [SHEET_ONLY] = {.name = "--sheet", .flag = true}, [FIRING] = {.name = "--firing", .flag = true}, [SIDE] = {.name = "--side", .flag = true}, [LAID] = {.name = "--laid"}};
    const char *folder, *ext;
    char name[64];
    int n, kind = -1;
    bool only_sheet;
    struct err e = {0};
    struct wanted w = {0};
    struct settings settings;
    struct sheet_ask sheet = {.view = CROP_TIP};
    struct logbook *lb;
    struct text t = {0};
    bool fine;

    if (!cli_options(argc, argv, o, N_OPTIONS, &folder, 1, &n))
        return 2;
    if (n != 1 || o[OUT].value == NULL)
        return cli_wrong("report", "name the logbook, and the file to write behind -o");
    w.path = o[OUT].value;
    ext = files_extension(w.path);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (strcmp(kinds[i], ext) == 0)
            kind = (int)i;
    if (kind < 0)
        return cli_wrong("report", "%s: a report ends in .html, .pdf, .csv or .json, the line-up in .png", w.path);
    if (!cli_take_rule("report", &o[RULE], w.rule, sizeof w.rule))
        return 2;
    if (o[WITHOUT].value != NULL && !report_parts_parse(o[WITHOUT].value, &w.ask.without, &e))
        return cli_refused("report", &e);
    if (kind == PDF)
        w.paper = report_paper_find(o[PAPER].value != NULL ? o[PAPER].value : "a4");
    if (o[PAPER].value != NULL && report_paper_find(o[PAPER].value) == NULL)
        return cli_wrong("report", "--paper “%s” is none of a4, letter", TEXT_SHORT(o[PAPER].value, 30));
    sheet.firing = o[FIRING].value != NULL;
    sheet.view = o[SIDE].value != NULL ? CROP_SIDE : CROP_TIP;
    only_sheet = kind == SHEET || (kind == PDF && o[SHEET_ONLY].value != NULL);
    w.laid = o[LAID].value;
    if (!only_sheet && (sheet.firing || sheet.view == CROP_SIDE || w.laid != NULL || o[SHEET_ONLY].value != NULL))
        return cli_wrong("report", "--sheet is the line-up alone as .png or .pdf; --firing, --side and --laid are said of it");
    w.ask.n_visits = o[ALL_VISITS].value != NULL ? REPORT_ALL_VISITS : 1;
    if (o[VISITS].value != NULL && !report_visits_parse(o[VISITS].value, &w.ask.n_visits, &e))
        return cli_refused("report", &e);
    settings_load(&settings);
    w.ask.units = settings_units(&settings);
    if (o[UNITS].value != NULL && !unit_choice_parse(o[UNITS].value, &w.ask.units, &e))
        return cli_refused("report", &e);
    sheet.units = w.ask.units;
    lb = cli_open(folder);
    if (lb == NULL)
        return 1;
    cli_visit_name(o[VISIT].value, name, sizeof name);
    fine = logbook_find_engine(lb, o[ENGINE].value ? o[ENGINE].value : "", w.engine, &e) &&
           logbook_find_visit(lb, w.engine, name, w.visit, &e) &&
           (only_sheet ? write_sheet(lb, &w, &sheet, &t, &e) : kind <= PDF ? write_page(lb, &w, &t, &e) : write_record(lb, &w, kind == JSON, &t, &e));
    if (fine && o[VISIT].value == NULL && w.ask.n_visits > 1)
        tell_ahead(lb, w.engine);
    logbook_close(lb);
    fine = fine && files_write(w.path, text_get(&t), t.n_bytes, &e);
    text_release(&t);
    return fine ? 0 : cli_failed(&e);
}
