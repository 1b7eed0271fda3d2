/* report_html.c - one page that stands alone: prints on A4 and Letter, reads on a phone, asks the
 * network for nothing. Everything that comes from a person is escaped. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/colour.h"
#include "base/err.h"
#include "base/files.h"
#include "record/ready.h"
#include "report/report.h"
#include "report/report_work.h"

void report_escape(struct text *t, const char *s)
{
    for (; *s != '\0'; s++) {
        switch (*s) {
        case '&': text_add(t, "&amp;"); break;
        case '<': text_add(t, "&lt;"); break;
        case '>': text_add(t, "&gt;"); break;
        case '"': text_add(t, "&quot;"); break;
        case '\'': text_add(t, "&#39;"); break;
        case '\n': text_add(t, "<br>"); break;
        default: text_add_char(t, *s);
        }
    }
}

static const char style[] =
    "<style>"
    ":root{color-scheme:light}"
    "body{font:15px/1.45 Inter,system-ui,sans-serif;color:#181818;background:#fff;margin:0 auto;padding:24px;max-width:60rem}"
    "h1{font-size:26px;margin:0 0 4px}h2{font-size:18px;margin:28px 0 8px;border-bottom:1px solid #d0d0d0;padding-bottom:4px}"
    "h3{font-size:15px;margin:12px 0 2px}p{margin:2px 0 8px}.soft,summary{color:#565656}summary{cursor:pointer}"
    ".find{border-left:5px solid #d0d0d0;padding:6px 12px;margin:8px 0;background:#f5f5f5;break-inside:avoid}"
    ".act,.stop{border-color:#b2221a}.watch{border-color:#f4a800}.note{border-color:#4e5e70}"
    ".mark{font-weight:700;margin-right:.4em}.warn{background:#b2221a;color:#fff;padding:8px 12px;font-weight:700;border-radius:6px;print-color-adjust:exact;-webkit-print-color-adjust:exact}.care{background:#f4a800;color:#181818}"
    ".photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(200px,1fr));gap:12px}figure{margin:0;break-inside:avoid}"
    "figure img{width:100%;height:auto;border-radius:6px;background:#d8d8d8}figcaption{font-size:13px;color:#404040}ul{padding-left:1.2em;margin:4px 0 8px}"
    "table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}th,td{text-align:left;padding:4px 8px;border-bottom:1px solid #d8d8d8;vertical-align:top}"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:2px 16px;margin:8px 0}dt{color:#565656}dd{margin:0}"
    "thead th{font-size:12px;color:#565656}tbody th{font-weight:600}svg{max-width:100%;height:auto;background:#8a8a8a;border-radius:8px}"
    ".wide{overflow-x:auto}@media print{body{padding:0;max-width:none}@page{margin:16mm}.photos{grid-template-columns:repeat(4,1fr)}figure img{max-height:50mm;object-fit:contain}h2{break-after:avoid}tr{break-inside:avoid}}"
    "</style>";

static const char *mark_of(enum level level)
{
    return level >= LEVEL_ACT ? "▲" : level == LEVEL_WATCH ? "◆" : "●";
}

static const char *word_of(enum level level)
{
    static const char *const words[] = {"", "Note", "Watch", "Act", "Stop"};

    return words[level];
}

/* The nose's colour: as measured, else what the noted deposit looks like. */
static void tip_colour(const struct reading *q, char hex[8])
{
    uint8_t rgb[3];

    if (!q->nose_L.given || !q->nose_a.given || !q->nose_b.given) {
        bool dark = q->amount[SIGN_DRY_CARBON] > 0 || q->amount[SIGN_OIL_WET] > 0 || q->amount[SIGN_FUEL_WET] > 0;

        text_copy(hex, 8, !q->present ? "#8a8a8a" : dark ? "#24221f" : q->amount[SIGN_PALE] > 0 ? "#f2efe8" : "#d6c2a0");
        return;
    }
    colour_from_lab(q->nose_L.value, q->nose_a.value, q->nose_b.value, rgb);
    text_format(hex, 8, "#%02x%02x%02x", rgb[0], rgb[1], rgb[2]);
}

/* The engine from above, as in the window: bores, numbers, wet wells, levels. */
static void plan(struct text *t, const struct record *r, const struct findings *f)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    struct engine_spot size = engine_extent(en);
    double pitch = 96, pad = 26;

    text_addf(t, "<svg role=\"img\" aria-label=\"The engine seen from above, front to the left\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\">",
              size.x * pitch + 2 * pad, size.y * pitch + 2 * pad, size.x * pitch + 2 * pad);
    for (int b = 0; b < en->n_banks && en->layout != ENGINE_RADIAL; b++) {
        struct engine_spot a = engine_spot(en, en->banks[b].first), z = engine_spot(en, en->banks[b].first + en->banks[b].n_cylinders - 1);
        double y = fmin(a.y, z.y) - 0.5, h = fabs(a.y - z.y) + 1;

        if (en->layout == ENGINE_NARROW_V)
            y = 0, h = size.y;
        text_addf(t, "<rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" rx=\"12\" fill=\"#9a9a9a\"/>", pad + (a.x - 0.5) * pitch - 6, pad + y * pitch - 4, (z.x - a.x + 1) * pitch + 12, h * pitch + 8);
        if (en->layout == ENGINE_NARROW_V)
            continue;
        text_addf(t, "<text x=\"%.0f\" y=\"%.0f\" fill=\"#101010\" font-size=\"13\" text-anchor=\"end\" font-family=\"sans-serif\">bank ",
                  pad + (z.x + 0.5) * pitch, pad + (y + h) * pitch + 17);
        report_escape(t, en->banks[b].name);
        text_add(t, "</text>");
    }
    if (en->layout != ENGINE_RADIAL)
        text_addf(t, "<text x=\"%.0f\" y=\"%.0f\" fill=\"#101010\" font-size=\"13\" font-family=\"sans-serif\">◂ front</text>", 8.0, size.y * pitch + 2 * pad - 6);
    for (int c = 0; c < en->n_cylinders; c++) {
        struct engine_spot s = engine_spot(en, c);
        double x = pad + s.x * pitch, y = pad + s.y * pitch, radius = pitch * 0.40;
        const struct reading *q = visit_reading_const(v, en, c, 0);
        enum level level = findings_level(f, c);
        char tip[8];

        tip_colour(q, tip);
        if (level >= LEVEL_WATCH)
            text_addf(t, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"%s\"/>", x, y, radius + 4, level >= LEVEL_ACT ? "#b2221a" : "#f4a800");
        text_addf(t, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"#6a6a68\"/><circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"#2c2926\"/><circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"%s\"/>",
                  x, y, radius, x, y, radius * 0.66, x, y, radius * 0.44, tip);
        if (q->amount[SIGN_WELL_OIL] > 0)
            text_addf(t, "<path d=\"M %.1f %.1f A %.1f %.1f 0 0 0 %.1f %.1f\" fill=\"none\" stroke=\"#3a2610\" stroke-width=\"6\"/>", x - radius, y, radius, radius, x + radius, y);
        text_addf(t, "<rect x=\"%.1f\" y=\"%.1f\" width=\"30\" height=\"24\" rx=\"5\" fill=\"#1a1a1a\"/><text x=\"%.1f\" y=\"%.1f\" fill=\"#fff\" font-size=\"15\" font-weight=\"700\" text-anchor=\"middle\" font-family=\"sans-serif\">",
                  x - pitch * 0.46, y - pitch * 0.46, x - pitch * 0.46 + 15, y - pitch * 0.46 + 17);
        report_escape(t, en->cylinders[c].label);
        text_add(t, "</text>");
        if (level >= LEVEL_WATCH)
            text_addf(t, "<text x=\"%.1f\" y=\"%.1f\" fill=\"#101010\" font-size=\"16\" text-anchor=\"middle\">%s</text>", x + pitch * 0.36, y - pitch * 0.30, mark_of(level));
    }
    text_add(t, "</svg>\n");
}

static void signs(struct text *t, const struct reading *r, enum zone z)
{
    static const char *const amounts[] = {"", " (trace)", "", " (heavy)"};
    int n = 0;

    if (!r->zone_seen[z]) {
        text_add(t, "<span class=\"soft\">not looked at</span>");
        return;
    }
    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == z && r->amount[s] > 0)
            text_addf(t, "%s%s%s", n++ ? ", " : "", sign_row((enum sign)s)->label, amounts[r->amount[s]]);
    if (n == 0)
        text_add(t, z == ZONE_WELL ? "dry, clean" : "clean");
}

static void readings(struct text *t, const struct record *r)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);

    text_add(t, "<div class=\"wide\"><table><thead><tr><th scope=\"col\">Plug</th><th scope=\"col\">Firing end</th><th scope=\"col\">Gap, mm</th><th scope=\"col\">Well</th><th scope=\"col\">Threads</th><th scope=\"col\">Around</th><th scope=\"col\">Compression, kPa</th><th scope=\"col\">Refit</th></tr></thead><tbody>\n");
    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i];
        char label[48], number[32];
        bool any = false;

        if (!q->present)
            continue;
        engine_plug_label(en, q->cylinder, q->position, label, sizeof label);
        text_add(t, "<tr><th scope=\"row\">");
        report_escape(t, label);
        text_add(t, "</th><td>");
        signs(t, q, ZONE_FIRING_END);
        text_add(t, "</td><td>");
        if (q->gap_mm.given) {
            text_from_double(number, sizeof number, q->gap_mm.value, 2);
            text_add(t, number);
        }
        if (q->gap_photo_mm.given) {
            char source[100];

            reading_format_gap_source(q, false, source, sizeof source);
            text_addf(t, " <span class=\"soft\">(%s)</span>", source);
        }
        text_add(t, "</td><td>");
        signs(t, q, ZONE_WELL);
        text_add(t, "</td><td>");
        signs(t, q, ZONE_THREADS);
        text_add(t, "</td><td>");
        for (int z = ZONE_BODY; z < ZONE_COUNT; z++)
            if (z != ZONE_WELL && q->zone_seen[z]) {
                bool has = false;

                for (int s = 0; s < SIGN_COUNT; s++)
                    has = has || ((int)sign_row((enum sign)s)->zone == z && q->amount[s] > 0);
                if (has) {
                    text_addf(t, "%s%s: ", any ? "; " : "", zone_row((enum zone)z)->label);
                    signs(t, q, (enum zone)z);
                    any = true;
                }
            }
        text_add(t, "</td><td>");
        if (q->compression_kpa.given) {
            text_from_count(number, sizeof number, lround(q->compression_kpa.value));
            text_add(t, number);
        }
        text_addf(t, "</td><td>%s</td></tr>\n", words_label(WORDS_REFIT, q->refit));
    }
    text_add(t, "</tbody></table></div>\n");
}

static void cause_lines(struct text *t, const struct lines *lines, const char *mark)
{
    for (int i = 0; i < lines->n; i++) {
        text_addf(t, "<p>%s ", mark);
        report_escape(t, lines->text[i]);
        text_add(t, "</p>");
    }
}

/* How a figure came about: there for who asks, folded away for who only reads. */
static void how(struct text *t, const char *words)
{
    if (words[0] == '\0')
        return;
    text_add(t, "<details class=\"soft\"><summary>How this was computed</summary><p>");
    report_escape(t, words);
    text_add(t, "</p></details>");
}

static void causes(struct text *t, const struct findings *f)
{
    for (int i = 0; i < f->n_causes && f->causes[i].probability >= CAUSE_LEAST_SHOWN; i++) {
        const struct cause *c = &f->causes[i];

        text_addf(t, "%s<div class=\"find\"><h3>", i == 0 ? "<h2>Likely causes</h2>\n" : "");
        report_escape(t, c->label);
        text_add(t, ", ");
        report_escape(t, c->where);
        text_addf(t, " · %s, %.0f %%</h3>", cause_likelihood_words(c->probability), c->probability * 100);
        cause_lines(t, &c->pro, "+");
        cause_lines(t, &c->contra, "−");
        text_addf(t, "<p>%s ", c->ordinary ? "Nothing is broken." : "Settles it:");
        report_escape(t, c->settles);
        text_add(t, "</p>");
        for (int k = 0; k < c->missing.n; k++) {
            text_add(t, k == 0 ? "<p class=\"soft\">Not looked at: " : "; ");
            report_escape(t, c->missing.text[k]);
        }
        text_add(t, c->missing.n > 0 ? "</p>" : "");
        how(t, c->how);
        text_add(t, "</div>\n");
    }
}

/* What stands in the way of starting; oil that must be turned out by hand first. */
static void add_not_ready(struct text *t, const struct record *r)
{
    const struct engine *en = &r->engine;
    struct ready ready;
    char words[200];

    ready_of(r, &ready);
    if (ready.n_loose > 0) {
        text_add(t, "<p class=\"warn\" role=\"alert\">▲ Do not start: ");
        if (ready.n_loose == record_plug_count(en) && ready.n_loose > 1) {
            text_addf(t, "none of the %d plugs is torqued", ready.n_loose);
        } else {
            bool first = true;

            text_add(t, ready.n_loose == 1 ? "plug " : "plugs ");
            for (int i = 0; i < record_plug_count(en); i++)
                if (ready.loose[i]) {
                    engine_plug_label(en, i / en->n_positions, i % en->n_positions, words, sizeof words);
                    text_add(t, first ? "" : ", ");
                    report_escape(t, words);
                    first = false;
                }
            text_add(t, ready.n_loose == 1 ? " is not torqued" : " are not torqued");
        }
        text_add(t, ".</p>\n");
    }
    if (!ready_to_start(&ready) && (ready.bare_connectors | ready.bare_leads) != 0) {
        ready.n_loose = 0; /* said above, plug by plug */
        ready_words(en, &ready, words, sizeof words);
        text_add(t, "<p class=\"warn\" role=\"alert\">▲ Do not start: ");
        report_escape(t, words);
        text_add(t, ".</p>\n");
    }
    if (ready.turn_first != 0) {
        engine_set_words(en, ready.turn_first, words, sizeof words);
        text_add(t, "<p class=\"warn care\">◆ Liquid stood in the well or on the plug of ");
        report_escape(t, words);
        text_add(t, ": turn the engine by hand, plugs out, before cranking.</p>\n");
    }
}

void report_html(const struct record *r, const struct findings *f, const struct report_extra *extra, struct text *t)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    char words[400];
    text_add(t, "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>");
    report_escape(t, en->name[0] ? en->name : "Engine");
    text_add(t, ": spark plugs read</title>");
    text_add(t, style);
    text_add(t, "</head><body>\n<main><h1>");
    report_escape(t, en->name[0] ? en->name : "Engine");
    text_add(t, "</h1>\n<p class=\"soft\">");
    report_escape(t, en->subtitle);
    clock_date_words(v->date[0] ? v->date : "no date", words, sizeof words);
    text_addf(t, "%s%s", en->subtitle[0] ? " · " : "", words);
    visit_format_odometer(v->odometer_m, v->odometer_unit, words, sizeof words);
    text_addf(t, "%s%s", words[0] ? " · " : "", words);
    engine_format_firing(en, words, sizeof words);
    text_add(t, " · fires ");
    report_escape(t, words);
    text_add(t, "</p>\n");
    add_not_ready(t, r);
    report_add_visit(t, r);
    plan(t, r, f);
    text_add(t, "<h2>What stands out</h2>\n");
    if (f->n_stand_outs == 0)
        text_add(t, "<p>Nothing stands out among what was looked at.</p>\n");
    for (int i = 0; i < f->n_stand_outs; i++) {
        const struct stand_out *s = &f->stand_outs[i];

        text_addf(t, "<div class=\"find %s\"><h3><span class=\"mark\">%s %s</span>", level_id(s->level), mark_of(s->level), word_of(s->level));
        report_escape(t, s->headline);
        text_add(t, "</h3><p>");
        report_escape(t, s->text);
        text_add(t, "</p>");
        if (s->odds[0]) {
            text_add(t, "<p class=\"soft\">");
            report_escape(t, s->odds);
            text_add(t, "</p>");
        }
        how(t, s->how);
        text_add(t, "</div>\n");
    }
    causes(t, f);
    text_add(t, "<h2>Readings</h2>\n");
    readings(t, r);
    report_add_done(t, r);
    if (extra != NULL)
        report_add_extra(t, r, extra);
    if (v->notes[0]) {
        text_add(t, "<h2>Notes</h2>\n<p>");
        report_escape(t, v->notes);
        text_add(t, "</p>\n");
    }
    text_add(t, "<h2>Cautions</h2>\n");
    for (int i = 0; i < f->advice.n; i++) {
        text_add(t, "<p>");
        report_escape(t, f->advice.text[i]);
        text_add(t, "</p>\n");
    }
    for (int i = 0; i < f->notes.n; i++) {
        text_add(t, "<p class=\"soft\">");
        report_escape(t, f->notes.text[i]);
        text_add(t, "</p>\n");
    }
    text_add(t, "<p>Work on a cold engine, ignition off. Start every plug by hand. The engine maker's own torque comes before any general chart.</p>\n"
                "</main></body></html>\n");
}

bool report_write_html(const char *path, const struct record *r, const struct findings *f, const struct report_extra *extra, struct err *e)
{
    struct text t = {0};
    bool fine;

    report_html(r, f, extra, &t);
    fine = files_write(path, text_get(&t), t.n_bytes, e);
    text_release(&t);
    return fine;
}
