#include "report/report_marks.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "report/report_marks_work.h"
#include "report/report_work.h"

#define PI 3.14159265358979323846

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

void marks_to_outline(struct logbook_mark *m)
{
    const double x0 = m->x[0], y0 = m->y[0], x1 = m->x[1], y1 = m->y[1];

    if (m->kind == MARK_ELLIPSE) {
        m->n_points = 48;
        for (int i = 0; i < 48; i++) {
            m->x[i] = (x0 + x1) / 2 + cos(i * PI / 24) * (x1 - x0) / 2;
            m->y[i] = (y0 + y1) / 2 + sin(i * PI / 24) * (y1 - y0) / 2;
        }
    } else if (m->kind == MARK_BOX || m->kind == MARK_PATCH) {
        m->n_points = 4;
        m->x[1] = x1, m->y[1] = y0, m->x[2] = x1, m->y[2] = y1, m->x[3] = x0, m->y[3] = y1;
    } else {
        return;
    }
    m->kind = MARK_POLYGON;
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

/* ---- labels ---- */

#define AROUND_GAP 5.0     /* of its lengths about its middle: the firing end, by the eye */
#define AROUND_HEAD 14.0   /* units about an arrow's head */
#define MOST_VIEWED (1 / 6.0) /* of the picture: a larger part of it can't be kept clear */

/* It bounds something, rather than running along it or pointing at it. */
static bool is_outline(const struct logbook_mark *m)
{
    return m->kind == MARK_PATCH || m->kind == MARK_BOX || m->kind == MARK_ELLIPSE || m->n_points > 2;
}

/* What is looked at there; false: nothing in particular, or most of the picture. */
static bool viewed(const struct labels *l, const struct logbook_mark *m, const struct marks_shape *s, double box[4])
{
    double around = m->kind == MARK_GAP ? AROUND_GAP * hypot(m->x[1] - m->x[0], m->y[1] - m->y[0]) : AROUND_HEAD * l->unit, x, y;

    if (m->kind == MARK_GAP || m->kind == MARK_ARROW) {
        x = m->kind == MARK_ARROW ? m->x[1] : (m->x[0] + m->x[1]) / 2;
        y = m->kind == MARK_ARROW ? m->y[1] : (m->y[0] + m->y[1]) / 2;
        box[0] = x - around, box[1] = y - around, box[2] = x + around, box[3] = y + around;
    } else if (is_outline(m)) {
        marks_shape_box(s, box);
    } else {
        return false;
    }
    return (box[2] - box[0]) * (box[3] - box[1]) <= MOST_VIEWED * (l->edge[2] - l->edge[0]) * (l->edge[3] - l->edge[1]);
}

void marks_labels_add(struct labels *l, int i, const struct logbook_mark *m)
{
    struct marks_shape s;
    double box[4];
    int from = 0;

    marks_shape_make(m, l->unit, &s);
    for (int k = 0; k < s.n_lines; k++) {
        for (int p = from; p + 1 < s.end[k]; p++)
            labels_add_line(l, i, s.x[p], s.y[p], s.x[p + 1], s.y[p + 1]);
        from = s.end[k];
    }
    if (viewed(l, m, &s, box))
        labels_add_box(l, box, false);
}

void marks_labels_place(struct labels *l, int i, const struct logbook_mark *m, double w, double h, struct labels_spot *out)
{
    double at[8];
    struct marks_shape s;
    int n = 0, most[4] = {0}; /* leftmost, rightmost, uppermost, lowest */

    if (is_outline(m)) {
        marks_shape_make(m, l->unit, &s);
        for (int k = 1; k < s.n; k++) {
            most[0] = s.x[k] < s.x[most[0]] ? k : most[0], most[1] = s.x[k] > s.x[most[1]] ? k : most[1];
            most[2] = s.y[k] < s.y[most[2]] ? k : most[2], most[3] = s.y[k] > s.y[most[3]] ? k : most[3];
        }
        for (; n < 4; n++)
            at[2 * n] = s.x[most[n]], at[2 * n + 1] = s.y[most[n]];
    } else {
        for (; n < (m->kind == MARK_ARROW ? 1 : m->n_points); n++)
            at[2 * n] = m->x[n], at[2 * n + 1] = m->y[n];
        if (n == 2 && m->kind != MARK_GAP) { /* a gap is small, and its middle is what is looked at */
            at[4] = (m->x[0] + m->x[1]) / 2, at[5] = (m->y[0] + m->y[1]) / 2;
            n = 3;
        }
    }
    labels_place(l, i, at, n, w, h, out);
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
    const double unit = marks_unit(width, height), edge[4] = {2 * unit, 2 * unit, width - 2 * unit, height - 2 * unit};
    struct marks_shape *s = mem_alloc(1, sizeof *s);
    struct arena *a = arena_create();
    struct labels labels;

    labels_begin(&labels, a, edge, unit);
    text_addf(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 %d %d\" width=\"%d\" height=\"%d\">\n<image width=\"%d\" height=\"%d\" xlink:href=\"", width, height, width, height, width, height);
    report_escape(out, href);
    text_add(out, "\"/>\n<g fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n");
    for (size_t i = 0; i < n; i++) {
        const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);

        marks_shape_make(&marks[i].mark, unit, s);
        marks_labels_add(&labels, (int)i, &marks[i].mark);
        for (int pass = 0; pass < 2; pass++) {
            text_addf(out, "<path stroke=\"#%02x%02x%02x\" stroke-width=\"%.1f\" d=\"", pass ? c->r : 20, pass ? c->g : 20, pass ? c->b : 20, (marks[i].mark.width_px + (pass ? 0 : 2)) * unit * 0.7);
            path_of(s, out);
            text_add(out, "\"/>\n");
        }
    }
    text_addf(out, "</g>\n<g font-family=\"Inter, sans-serif\" font-weight=\"600\" font-size=\"%.1f\">\n", 13 * unit);
    for (size_t i = 0; i < n; i++)
        if (marks[i].words[0] != '\0') {
            const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);
            const double w = (double)text_count(marks[i].words) * 7.4 * unit + 14 * unit, h = 22 * unit;
            struct labels_spot at;

            marks_labels_place(&labels, (int)i, &marks[i].mark, w, h, &at);
            if (at.away)
                text_addf(out, "<path stroke=\"#%02x%02x%02x\" stroke-width=\"%.1f\" d=\"M%.1f %.1fL%.1f %.1f\"/>", c->r, c->g, c->b, unit, at.leader[0], at.leader[1], at.leader[2], at.leader[3]);
            text_addf(out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" rx=\"%.1f\" fill=\"#1a1a1a\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" fill=\"#fff\">", at.box[0], at.box[1], w, h, 3 * unit, at.box[0] + w / 2, at.box[1] + 15.5 * unit);
            report_escape(out, marks[i].words);
            text_add(out, "</text>\n");
        }
    text_add(out, "</g>\n</svg>\n");
    free(s);
    arena_destroy(a);
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
