/* report_html.c - one page that stands alone: prints on A4 and Letter, reads on a phone, asks the
 * network for nothing. Everything that comes from a person is escaped. */
#include <math.h>
#include <openssl/evp.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "report/drawing.h"
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
    ".find p{margin:2px 0}.find{border-left:5px solid #d0d0d0;padding:6px 12px;margin:8px 0;background:#f5f5f5;break-inside:avoid}"
    ".act,.stop{border-color:#b2221a}.watch{border-color:#f4a800}.note{border-color:#4e5e70}"
    ".mark{font-weight:700;margin-right:.4em}.warn{background:#b2221a;color:#fff;padding:8px 12px;font-weight:700;border-radius:6px;print-color-adjust:exact;-webkit-print-color-adjust:exact}.care{background:#f4a800;color:#181818}"
    ".photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(200px,1fr));gap:12px}figure{margin:0;break-inside:avoid}"
    "figure img{width:100%;height:auto;border-radius:6px;background:#d8d8d8}figcaption{font-size:13px;color:#404040}ul{padding-left:1.2em;margin:4px 0 8px}"
    "table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}th,td{text-align:left;padding:4px 8px;border-bottom:1px solid #d8d8d8;vertical-align:top}"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:2px 16px;margin:8px 0}dt{color:#565656}.say{color:#181818;font-weight:600}dd{margin:0;grid-column:2}"
    "thead th{font-size:12px;color:#565656}tbody th{font-weight:600}svg{max-width:100%;height:auto;border-radius:8px;print-color-adjust:exact;-webkit-print-color-adjust:exact}svg.desk{background:#8a8a8a}"
    "svg text{font-family:Inter,system-ui,sans-serif}h4{font-size:15px;margin:12px 0 2px}.num{text-align:right}.whole{white-space:nowrap}td.soft{overflow-wrap:anywhere;min-width:9rem}"
    "h2+h3,h3+h4{margin-top:8px}h3.part{margin:20px 0 6px}.facts td:first-child{width:12rem}"
    ".axis,.hint{display:none}.wide{overflow-x:auto}@media screen and (max-width:600px){body{padding:16px}.rows thead{display:none}.rows,.rows tbody,.rows tr,.rows th,.rows td{display:block;text-align:left}"
    ".rows tr{border-bottom:1px solid #d8d8d8;padding:8px 0}.rows th,.rows td,.rows td.soft{border:0;padding:1px 0;min-width:0}.rows td:empty{display:none}"
    ".rows td[data-head]::before{content:attr(data-head) \": \";color:#565656}.rows th[data-head]::before{content:attr(data-head) \" \"}svg.large{max-width:none;min-width:560px}.newest{display:flex;direction:rtl}.newest svg{direction:ltr;flex:0 0 auto}"
    ".hint{display:block}.newest .axis{display:block;position:sticky;left:0;max-width:none;border-radius:0;background:#fff}}@media print{body{padding:0;max-width:none;font-size:12.5px}h2{margin-top:20px}.wide{overflow:visible}td.soft{min-width:0}details:not([open]){display:none}dl,ul{break-inside:avoid}h2+p,h3+p,h4+p{break-after:avoid}@page{margin:16mm}.photos{grid-template-columns:repeat(4,1fr)}figure img{max-height:50mm;object-fit:contain}h2,h3,h4{break-after:avoid}svg{break-inside:avoid}tr{break-inside:avoid}}"
    "</style>";


static const char *mark_of(enum level level)
{
    return level >= LEVEL_ACT ? "▲" : level == LEVEL_WATCH ? "◆" : "●";
}

static void data_uri(struct text *t, const unsigned char *jpeg, size_t n_bytes)
{
    char *code = mem_alloc((n_bytes + 2) / 3 * 4 + 1, 1);

    EVP_EncodeBlock((unsigned char *)code, jpeg, (int)n_bytes);
    text_add(t, "data:image/jpeg;base64,");
    text_add(t, code);
    free(code);
}

/* ---- drawings as SVG ---- */

static void arc(struct text *t, const struct drawing_shape *s)
{
    double a = (s->from_deg - 90) * 3.14159265358979 / 180, b = (s->to_deg - 90) * 3.14159265358979 / 180;

    if (s->from_deg == s->to_deg) {
        text_addf(t, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"none\" stroke=\"#%06x\" stroke-width=\"%.1f\"/>", s->x, s->y, s->radius, s->rgb, s->width);
        return;
    }
    text_addf(t, "<path d=\"M %.1f %.1f A %.1f %.1f 0 %d 1 %.1f %.1f\" fill=\"none\" stroke=\"#%06x\" stroke-width=\"%.1f\"/>", s->x + s->radius * cos(a), s->y + s->radius * sin(a), s->radius,
              s->radius, s->to_deg - s->from_deg > 180, s->x + s->radius * cos(b), s->y + s->radius * sin(b), s->rgb, s->width);
}

static void shape(struct text *t, const struct drawing_shape *s)
{
    static const char *const anchors[] = {"start", "middle", "end"};

    switch (s->kind) {
    case DRAW_BOX:
        text_addf(t, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" rx=\"%.0f\" fill=\"#%06x\"/>", s->x, s->y, s->w, s->h, s->radius, s->rgb);
        break;
    case DRAW_DISC:
        text_addf(t, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"#%06x\"/>", s->x, s->y, s->radius, s->rgb);
        break;
    case DRAW_RING: arc(t, s); break;
    case DRAW_LINE:
        text_addf(t, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#%06x\" stroke-width=\"%.1f\"%s/>", s->x, s->y, s->w, s->h, s->rgb, s->width, s->dashed ? " stroke-dasharray=\"6 4\"" : "");
        break;
    case DRAW_POLYGON:
        text_add(t, "<polygon points=\"");
        for (int i = 0; i < s->n_points; i++)
            text_addf(t, "%s%.1f,%.1f", i ? " " : "", s->points[2 * i], s->points[2 * i + 1]);
        text_addf(t, "\" fill=\"#%06x\"/>", s->rgb);
        break;
    case DRAW_TEXT:
        text_addf(t, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%d\"%s text-anchor=\"%s\" fill=\"#%06x\">", s->x, s->y, s->size_px, s->bold ? " font-weight=\"700\"" : "", anchors[s->align], s->rgb);
        report_escape(t, s->text);
        text_add(t, "</text>");
        break;
    case DRAW_PHOTO:
        if (s->photo->disc == NULL)
            break;
        text_addf(t, "<image x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" style=\"clip-path:circle(50%%)\" href=\"", s->x - s->radius, s->y - s->radius, 2 * s->radius, 2 * s->radius);
        data_uri(t, s->photo->disc, s->photo->n_disc_bytes);
        text_add(t, "\"/>");
        break;
    case DRAW_LAYER: text_addf(t, "<g opacity=\"%.2f\">", s->share); break;
    case DRAW_LAYER_END: text_add(t, "</g>"); break;
    }
}

/* The figures of the axis once more, over the left end of what is moved about; shown on a phone alone. */
static void axis(struct text *t, const struct drawing *d)
{
    text_addf(t, "<svg class=\"axis\" aria-hidden=\"true\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\" height=\"%.0f\" style=\"margin-right:-%.0fpx\">", d->axis_px, d->height, d->axis_px, d->height, d->axis_px);
    for (size_t i = 0; i < d->n_shapes; i++)
        if (d->shapes[i].kind == DRAW_TEXT && d->shapes[i].align == DRAW_RIGHT && d->shapes[i].x <= d->axis_px)
            shape(t, &d->shapes[i]);
    text_add(t, "</svg>");
}

static void drawing(struct text *t, const struct drawing *d, const char *alt)
{
    const bool large = d->width > 560 && d->narrow != DRAW_FITTED; /* on a phone it is moved about rather than too small to read */

    if (large && d->narrow == DRAW_NEWEST)
        text_add(t, "<p class=\"soft hint\">← Earlier visits lie to the left: push the picture along.</p>\n");

    text_addf(t, "<div class=\"%s\"><svg role=\"img\"%s aria-label=\"", large && d->narrow == DRAW_NEWEST ? "wide newest" : "wide", d->desk && large ? " class=\"desk large\"" : d->desk ? " class=\"desk\"" : large ? " class=\"large\"" : "");
    report_escape(t, alt);
    text_addf(t, "\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\" height=\"%.0f\">", d->width, d->height, d->width, d->height);
    for (size_t i = 0; i < d->n_shapes; i++)
        shape(t, &d->shapes[i]);
    text_add(t, "</svg>");
    if (large && d->narrow == DRAW_NEWEST && d->axis_px > 0)
        axis(t, d);
    text_add(t, "</div>\n");
}

/* ---- blocks ---- */

/* The end of an element's beginning; what a person wrote from right to left runs that way. */
static void begin_end(struct text *t, const char *s)
{
    text_add(t, text_has_rtl(s) && !text_is_apart(s) ? " dir=\"auto\">" : ">");
}

static void spoken(struct text *t, const char *before, const char *s, const char *after)
{
    const size_t n = strlen(before);

    if (n > 0 && before[n - 1] == '>') {
        text_add_bytes(t, before, n - 1);
        begin_end(t, s);
    } else {
        text_add(t, before);
    }
    report_escape(t, s);
    text_add(t, after);
}

static void card(struct text *t, const struct content_block *b)
{
    text_addf(t, "<div class=\"find %s\"><h%d>", level_id(b->level), b->depth);
    if (b->level != LEVEL_NONE)
        text_addf(t, "<span class=\"mark\">%s %s</span>", mark_of(b->level), content_level_word(b->level));
    report_escape(t, b->text);
    text_addf(t, "</h%d>", b->depth);
    for (size_t i = 0; i < b->n_lines; i++)
        spoken(t, b->lines[i].tone == TONE_SOFT ? "<p class=\"soft\">" : "<p>", b->lines[i].text, "</p>");
    if (b->how[0] != '\0') /* there for who asks, folded away for who only reads */
        spoken(t, "<details class=\"soft\"><summary>How this was computed</summary><p>", b->how, "</p></details>");
    text_add(t, "</div>\n");
}

/* head: what stands before it where its column's heading is not seen, "" nothing. */
static void cell_of(struct text *t, const char *head, const char *tag, const char *look, const char *words)
{
    text_addf(t, look[0] != '\0' ? "<%s class=\"%s\"" : "<%s", tag, look);
    if (head[0] != '\0') {
        text_add(t, " data-head=\"");
        report_escape(t, head);
        text_add(t, "\"");
    }
    begin_end(t, words);
    report_escape(t, words);
    text_addf(t, "</%.2s>", tag);
}

static void cell(struct text *t, const char *tag, const char *look, const char *words)
{
    cell_of(t, "", tag, look, words);
}

static void table(struct text *t, const struct content_block *b)
{
    /* of three columns and more a phone shows the rows one below the other, each cell with its heading */
    const bool rows = b->heads != NULL && b->n_columns > 2;

    text_add(t, rows ? "<div class=\"wide\"><table class=\"rows\">" : "<div class=\"wide\"><table>");
    if (b->heads != NULL) {
        text_add(t, "<thead><tr>");
        for (int k = 0; k < b->n_columns; k++)
            cell(t, "th scope=\"col\"", (b->numbers >> k & 1) != 0 ? "num" : "", b->heads[k]);
        text_add(t, "</tr></thead>");
    }
    text_add(t, "<tbody>\n");
    for (size_t i = 0; i < b->n_lines; i++) {
        const struct content_line *line = &b->lines[i];
        int k = (int)(i % (size_t)b->n_columns);
        const char *look = (b->numbers >> k & 1) != 0 ? "num" : (b->whole >> k & 1) != 0 ? "whole" : line->tone == TONE_SOFT ? "soft" : "";

        text_add(t, k == 0 ? "<tr>" : "");
        cell_of(t, rows && (k != b->head_column || strcmp(b->heads[k], "Plug") == 0) ? b->heads[k] : "", k == b->head_column ? "th scope=\"row\"" : "td", look, line->text);
        text_add(t, k == b->n_columns - 1 ? "</tr>\n" : "");
    }
    text_add(t, "</tbody></table></div>\n");
}

static void photos(struct text *t, const struct content_block *b)
{
    text_add(t, "<div class=\"photos\">\n");
    for (size_t i = 0; i < b->n_lines; i++) {
        const struct report_picture *p = b->pictures[i];

        if (p->jpeg == NULL) {
            text_add(t, "<figure><p class=\"soft\">This photo cannot be shown.</p>");
        } else {
            text_addf(t, "<figure><img width=\"%d\" height=\"%d\" alt=\"Photo: ", p->width, p->height);
            report_escape(t, b->lines[i].text);
            text_add(t, "\" src=\"");
            data_uri(t, p->jpeg, p->n_bytes);
            text_add(t, "\">");
        }
        spoken(t, "<figcaption>", b->lines[i].text, "</figcaption></figure>\n");
    }
    text_add(t, "</div>\n");
}

static void block(struct text *t, const struct content_block *b)
{
    switch (b->kind) {
    case CONTENT_HEADING:
        text_addf(t, "<h%d%s", b->depth, b->depth == 3 ? " class=\"part\"" : "");
        begin_end(t, b->text);
        report_escape(t, b->text);
        text_addf(t, "</h%d>\n", b->depth);
        break;
    case CONTENT_TEXT: spoken(t, b->tone == TONE_SOFT ? "<p class=\"soft\">" : "<p>", b->text, "</p>\n"); break;
    case CONTENT_ALERT:
        text_addf(t, b->level >= LEVEL_ACT ? "<p class=\"warn\" role=\"alert\">%s " : "<p class=\"warn care\">%s ", mark_of(b->level));
        spoken(t, "", b->text, "</p>\n");
        break;
    case CONTENT_CARD: card(t, b); break;
    case CONTENT_LIST:
        text_add(t, "<ul>\n");
        for (size_t i = 0; i < b->n_lines; i++)
            spoken(t, "<li>", b->lines[i].text, "</li>\n");
        text_add(t, "</ul>\n");
        break;
    case CONTENT_FACTS:
        text_add(t, "<dl>\n");
        for (size_t i = 0; i < b->n_lines; i++)
            if (i % 2 != 0)
                spoken(t, "<dd>", b->lines[i].text, "</dd>\n");
            else if (b->lines[i].text[0] != '\0')
                spoken(t, b->lines[i].tone == TONE_STRONG ? "<dt class=\"say\">" : "<dt>", b->lines[i].text, "</dt>");
        text_add(t, "</dl>\n");
        break;
    case CONTENT_TABLE: table(t, b); break;
    case CONTENT_DRAWING: drawing(t, b->drawing, b->text); break;
    case CONTENT_PHOTOS: photos(t, b); break;
    }
}

void report_html(const struct content *c, struct text *t)
{
    text_add(t, "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>");
    report_escape(t, c->title);
    text_add(t, "</title>");
    text_add(t, style);
    text_add(t, "</head><body>\n<main>");
    for (size_t i = 0; i < c->n_blocks; i++)
        block(t, &c->blocks[i]);
    text_add(t, "</main></body></html>\n");
}
