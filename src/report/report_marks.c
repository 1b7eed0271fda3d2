#include "report/report_marks.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "report/report_marks_work.h"
#include "report/report_work.h"

/* ---- shapes: what SVG, annotations and the drawn copy have in common ---- */

static void add(struct marks_shape *s, double x, double y)
{
    if (s->n < MARKS_SHAPE_POINTS) {
        s->x[s->n] = x;
        s->y[s->n++] = y;
    }
}

static void lift(struct marks_shape *s)
{
    if (s->n_lines < MARKS_SHAPE_LINES)
        s->end[s->n_lines++] = s->n;
}

static void segment(struct marks_shape *s, double x0, double y0, double x1, double y1)
{
    add(s, x0, y0);
    add(s, x1, y1);
    lift(s);
}

void marks_shape_make(const struct logbook_mark *m, double unit, struct marks_shape *s)
{
    const double *x = m->x, *y = m->y;
    double dx = m->n_points > 1 ? x[1] - x[0] : 0, dy = m->n_points > 1 ? y[1] - y[0] : 0, length = hypot(dx, dy);
    double ux = length > 0 ? dx / length : 1, uy = length > 0 ? dy / length : 0, bar = 5 * unit;

    memset(s, 0, sizeof *s);
    switch (m->kind) {
    case MARK_SCALE:
    case MARK_HEX:
    case MARK_LENGTH:
    case MARK_GAP:
    case MARK_RULER:
        segment(s, x[0], y[0], x[1], y[1]);
        for (int i = 0; i < 2; i++)
            segment(s, x[i] - uy * bar, y[i] + ux * bar, x[i] + uy * bar, y[i] - ux * bar);
        break;
    case MARK_ARROW:
        segment(s, x[0], y[0], x[1], y[1]);
        for (int k = -1; k <= 1; k += 2) {
            double a = atan2(dy, dx) + k * 0.5;

            segment(s, x[1], y[1], x[1] - 10 * unit * cos(a), y[1] - 10 * unit * sin(a));
        }
        break;
    case MARK_PATCH:
    case MARK_BOX:
        add(s, x[0], y[0]), add(s, x[1], y[0]), add(s, x[1], y[1]), add(s, x[0], y[1]), add(s, x[0], y[0]);
        lift(s);
        break;
    case MARK_ELLIPSE:
        for (int i = 0; i <= 48; i++) {
            double t = i % 48 * 3.14159265358979 / 24;

            add(s, (x[0] + x[1]) / 2 + cos(t) * dx / 2, (y[0] + y[1]) / 2 + sin(t) * dy / 2);
        }
        lift(s);
        break;
    case MARK_NOSE:
    case MARK_POLYGON:
    case MARK_FREE:
        for (int i = 0; i <= m->n_points; i++)
            add(s, x[i % m->n_points], y[i % m->n_points]);
        lift(s);
        break;
    case MARK_PIN:
    case MARK_TEXT: /* a ring, and for a pin a dot in it */
        for (int i = 0; i <= 16; i++) {
            double t = i % 16 * 3.14159265358979 / 8, r = (m->kind == MARK_PIN ? 4 : 1.5) * unit;

            add(s, x[0] + cos(t) * r, y[0] + sin(t) * r);
        }
        lift(s);
        break;
    case MARK_KIND_COUNT: break;
    }
}

void marks_label_box(const struct logbook_mark *m, const struct marks_shape *s, double box[4])
{
    if (m->kind == MARK_ARROW) { /* its words stand at its tail, clear of the half of it that is next to them */
        box[0] = fmin(m->x[0], (m->x[0] + m->x[1]) / 2), box[2] = fmax(m->x[0], (m->x[0] + m->x[1]) / 2);
        box[1] = fmin(m->y[0], (m->y[0] + m->y[1]) / 2), box[3] = fmax(m->y[0], (m->y[0] + m->y[1]) / 2);
    } else {
        marks_shape_box(s, box);
    }
}

void marks_shape_box(const struct marks_shape *s, double box[4])
{
    box[0] = box[1] = 1e9;
    box[2] = box[3] = -1e9;
    for (int i = 0; i < s->n; i++) {
        box[0] = fmin(box[0], s->x[i]), box[2] = fmax(box[2], s->x[i]);
        box[1] = fmin(box[1], s->y[i]), box[3] = fmax(box[3], s->y[i]);
    }
}

double marks_unit(int width, int height)
{
    return fmax(1, (width > height ? width : height) / 720.0);
}

static bool meet(const double a[4], const double b[4])
{
    return a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
}

void marks_label_place(const double shape[4], double w, double h, double unit, int width, int height, const double (*taken)[4], size_t n_taken, double out[4])
{
    static const int sides[][2] = {{0, -1}, {0, 1}, {1, 0}, {-1, 0}};

    for (int far = 0; far < 4; far++)
        for (size_t i = 0; i < sizeof sides / sizeof sides[0]; i++) {
            double away = (6 + 28 * far) * unit;
            double cx = (shape[0] + shape[2]) / 2 + sides[i][0] * ((shape[2] - shape[0] + w) / 2 + away);
            double cy = (shape[1] + shape[3]) / 2 + sides[i][1] * ((shape[3] - shape[1] + h) / 2 + away);
            double x = fmax(2 * unit, fmin(cx - w / 2, width - w - 2 * unit)), y = fmax(2 * unit, fmin(cy - h / 2, height - h - 2 * unit));
            bool clear = true;

            out[0] = x, out[1] = y, out[2] = x + w, out[3] = y + h;
            for (size_t k = 0; k < n_taken && clear; k++)
                clear = !meet(out, taken[k]);
            if (clear && !meet(out, shape))
                return;
        }
}

/* ---- SVG ---- */

static void path_of(const struct marks_shape *s, struct text *t)
{
    int from = 0;

    for (int l = 0; l < s->n_lines; l++) {
        for (int i = from; i < s->end[l]; i++) {
            char x[32], y[32];

            text_from_double(x, sizeof x, s->x[i], 1);
            text_from_double(y, sizeof y, s->y[i], 1);
            text_addf(t, "%s%s %s", i == from ? "M" : "L", x, y);
        }
        from = s->end[l];
    }
}

void report_marks_svg(const struct report_mark *marks, size_t n, int width, int height, const char *href, struct text *out)
{
    double unit = marks_unit(width, height), (*taken)[4] = mem_alloc(n + 1, sizeof *taken);
    size_t n_taken = 0;
    struct marks_shape *s = mem_alloc(1, sizeof *s);

    text_addf(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 %d %d\" width=\"%d\" height=\"%d\">\n<image width=\"%d\" height=\"%d\" xlink:href=\"", width, height, width, height, width, height);
    report_escape(out, href);
    text_add(out, "\"/>\n<g fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n");
    for (size_t i = 0; i < n; i++) {
        const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);

        marks_shape_make(&marks[i].mark, unit, s);
        for (int pass = 0; pass < 2; pass++) {
            text_addf(out, "<path stroke=\"#%02x%02x%02x\" stroke-width=\"%.1f\" d=\"", pass ? c->r : 20, pass ? c->g : 20, pass ? c->b : 20, (marks[i].mark.width_px + (pass ? 0 : 2)) * unit * 0.7);
            path_of(s, out);
            text_add(out, "\"/>\n");
        }
    }
    text_addf(out, "</g>\n<g font-family=\"Inter, sans-serif\" font-weight=\"600\" font-size=\"%.1f\">\n", 13 * unit);
    for (size_t i = 0; i < n; i++)
        if (marks[i].words[0] != '\0') {
            double box[4], *at = taken[n_taken], w = (double)text_count(marks[i].words) * 7.4 * unit + 14 * unit, h = 22 * unit;

            marks_shape_make(&marks[i].mark, unit, s);
            marks_label_box(&marks[i].mark, s, box);
            marks_label_place(box, w, h, unit, width, height, (const double(*)[4])taken, n_taken, at);
            n_taken++;
            text_addf(out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" rx=\"%.1f\" fill=\"#1a1a1a\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" fill=\"#fff\">", at[0], at[1], w, h, 3 * unit, at[0] + w / 2, at[1] + 15.5 * unit);
            report_escape(out, marks[i].words);
            text_add(out, "</text>\n");
        }
    text_add(out, "</g>\n</svg>\n");
    free(s);
    free(taken);
}

/* ---- W3C Web Annotation ---- */

/* A box has a media fragment; every other shape is a piece of SVG. Measuring marks are tagged by kind. */
static cJSON *selector_of(const struct logbook_mark *m, struct marks_shape *s)
{
    cJSON *o = cJSON_CreateObject();
    struct text t = {0};

    marks_shape_make(m, 1, s);
    if (m->kind == MARK_BOX || m->kind == MARK_PATCH) {
        double box[4];

        marks_shape_box(s, box);
        text_addf(&t, "xywh=pixel:%.0f,%.0f,%.0f,%.0f", box[0], box[1], box[2] - box[0], box[3] - box[1]);
        cJSON_AddStringToObject(o, "type", "FragmentSelector");
        cJSON_AddStringToObject(o, "conformsTo", "http://www.w3.org/TR/media-frags/");
    } else {
        text_add(&t, "<svg xmlns=\"http://www.w3.org/2000/svg\"><path fill=\"none\" d=\"");
        path_of(s, &t);
        text_add(&t, "\"/></svg>");
        cJSON_AddStringToObject(o, "type", "SvgSelector");
    }
    cJSON_AddStringToObject(o, "value", text_get(&t));
    text_release(&t);
    return o;
}

static cJSON *body(const char *value, const char *purpose)
{
    cJSON *o = cJSON_CreateObject();

    cJSON_AddStringToObject(o, "type", "TextualBody");
    cJSON_AddStringToObject(o, "value", value);
    cJSON_AddStringToObject(o, "format", "text/plain");
    cJSON_AddStringToObject(o, "purpose", purpose);
    return o;
}

void report_marks_json(const struct report_mark *marks, size_t n, const char *sha256, struct text *out)
{
    cJSON *page = cJSON_CreateObject(), *items = cJSON_CreateArray();
    struct marks_shape *s = mem_alloc(1, sizeof *s);
    char source[96], id[64], *json;

    text_format(source, sizeof source, "urn:sha256:%s", sha256);
    cJSON_AddStringToObject(page, "@context", "http://www.w3.org/ns/anno.jsonld");
    cJSON_AddStringToObject(page, "type", "AnnotationPage");
    cJSON_AddItemToObject(page, "items", items);
    for (size_t i = 0; i < n; i++) {
        cJSON *a = cJSON_CreateObject(), *bodies = cJSON_CreateArray(), *target = cJSON_CreateObject();

        text_format(id, sizeof id, "urn:uuid:%s", marks[i].mark.id);
        cJSON_AddStringToObject(a, "@context", "http://www.w3.org/ns/anno.jsonld");
        cJSON_AddStringToObject(a, "id", id);
        cJSON_AddStringToObject(a, "type", "Annotation");
        cJSON_AddStringToObject(a, "motivation", marks[i].words[0] ? "describing" : "highlighting");
        cJSON_AddItemToArray(bodies, body(mark_kind_row(marks[i].mark.kind)->label, "tagging"));
        if (marks[i].words[0] != '\0')
            cJSON_AddItemToArray(bodies, body(marks[i].words, "describing"));
        cJSON_AddItemToObject(a, "body", bodies);
        cJSON_AddStringToObject(target, "source", source);
        cJSON_AddItemToObject(target, "selector", selector_of(&marks[i].mark, s));
        cJSON_AddItemToObject(a, "target", target);
        cJSON_AddItemToArray(items, a);
    }
    json = cJSON_Print(page);
    text_add(out, json);
    text_add(out, "\n");
    free(json);
    free(s);
    cJSON_Delete(page);
}
