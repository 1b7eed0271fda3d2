/* The marks of a ruler, and the sides of a hex, in pictures painted here: what a mark's distance and a side's place are is known from
 * the painting. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "base/err.h"
#include "gauge/gauge_ruler.h"
#include "gauge/gauge_span.h"

#define WIDE 640
#define HIGH 360
#define DEGREE 0.017453292519943295

/* What is painted: how light it is (0..255) at a place in px along and across, from the picture's middle, turned. */
struct painted {
    double turn_deg;
    double (*light)(const struct painted *c, double s, double t);
    double mark_px, other_px; /* from mark to mark above the edge; of a second scale below it, 0 none */
    double half_px, lean;     /* of a body's width; its second side leans from the first by this slope */
    double noise;
};

/* A ruler above an edge, lighter than the bench: each mark 30 px long, each fifth 45, each tenth 60. */
static double ruler(const struct painted *c, double s, double t)
{
    double period = t < 0 ? c->mark_px : c->other_px, n, off, length;

    if (t > 0 && c->other_px <= 0)
        return 60;
    n = round(s / period), off = fabs(s - n * period);
    length = fmod(fabs(n), 10) < 0.5 ? 60 : fmod(fabs(n), 5) < 0.5 ? 45 : 30;
    return off < 0.07 * period + 0.5 && fabs(t) < length ? 50 : 190;
}

static double body(const struct painted *c, double s, double t)
{
    bool in = s > -c->half_px && s < c->half_px + c->lean * t;

    return in ? 150 + 30 * cos(s / c->half_px * 1.5) : 70;
}

static double plain(const struct painted *c, double s, double t)
{
    (void)c, (void)s, (void)t;
    return 140;
}

/* Nine rays a pixel, a blur of a pixel, grain. */
static uint8_t *paint(const struct painted *c)
{
    uint8_t *rgba = calloc((size_t)WIDE * HIGH, 4);
    uint32_t state = 7;

    for (int y = 0; y < HIGH; y++)
        for (int x = 0; x < WIDE; x++) {
            double sum = 0, grain = 0, v;

            for (int k = 0; k < 9; k++) {
                double u = x + 0.5 + 0.6 * (k % 3 - 1) - WIDE / 2.0, w = y + 0.5 + 0.6 * (k / 3 - 1) - HIGH / 2.0, a = c->turn_deg * DEGREE;

                sum += c->light(c, u * cos(a) + w * sin(a), w * cos(a) - u * sin(a)) / 9;
            }
            for (int k = 0; k < 4; k++)
                state = state * 1664525u + 1013904223u, grain += (state >> 8) / 16777216.0 - 0.5;
            v = fmin(fmax(sum + c->noise * grain, 0), 255);
            memset(rgba + 4 * ((size_t)y * WIDE + (size_t)x), (int)lround(v), 3);
            rgba[4 * ((size_t)y * WIDE + (size_t)x) + 3] = 255;
        }
    return rgba;
}

/* A line from -half to half along, turned by off_deg more and across_px aside. */
static void draw(const struct painted *c, double half, double off_deg, double across_px, struct gauge_point line[2])
{
    double a = c->turn_deg * DEGREE, b = a + off_deg * DEGREE;

    for (int k = 0; k < 2; k++)
        line[k] = (struct gauge_point){WIDE / 2.0 + (k ? half : -half) * cos(b) - across_px * sin(a), HIGH / 2.0 + (k ? half : -half) * sin(b) + across_px * cos(a)};
}

static bool read_ruler(const struct painted *c, double half, double off_deg, double across_px, struct gauge_ruler *out, struct err *e)
{
    uint8_t *rgba = paint(c);
    struct gauge_point line[2];
    bool fine;

    draw(c, half, off_deg, across_px, line);
    fine = gauge_ruler_read(&(struct gauge_picture){WIDE, HIGH, rgba}, line, out, e);
    free(rgba);
    return fine;
}

static void marks_are_found_however_it_lies(void **state)
{
    static const struct {
        double mark_px, turn_deg, off_deg, across_px, noise;
    } rows[] = {{12.3, 0, 0, -15, 6}, {12.3, 21, 2.5, -18, 6}, {7.15, -33, -2, -12, 10}, {23.7, 92, 1, -20, 16}, {16.4, 180, -3, -10, 6}, {9.06, 3, 0, -38, 6}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct painted c = {.turn_deg = rows[i].turn_deg, .light = ruler, .mark_px = rows[i].mark_px, .noise = rows[i].noise};
        double half = fabs(fmod(rows[i].turn_deg, 180)) > 30 ? 165 : 280, a = c.turn_deg * DEGREE;
        struct gauge_ruler r;
        struct err e = {0};

        if (!read_ruler(&c, half, rows[i].off_deg, rows[i].across_px, &r, &e))
            fail_msg("row %zu: %s", i, e.text);
        /* on longer marks alone, each fifth, the person would have to be told so: the line lies on the short ones too */
        if (fabs(r.mark_px / c.mark_px - 1) > 0.003 || fabs(r.mark_px - c.mark_px) > 4 * r.mark_sd_px)
            fail_msg("row %zu: a mark each %.3f ± %.3f px, painted each %.3f", i, r.mark_px, r.mark_sd_px, c.mark_px);
        assert_true(fabs(hypot(r.ends[1].x - r.ends[0].x, r.ends[1].y - r.ends[0].y) - r.n * r.mark_px) < 0.01);
        assert_true(r.n > 2 * half / c.mark_px - 2.5 && r.n < 2 * half / c.mark_px + 0.5);
        for (int k = 0; k < 2; k++) { /* on marks */
            double s = (r.ends[k].x - WIDE / 2.0) * cos(a) + (r.ends[k].y - HIGH / 2.0) * sin(a), off = s / c.mark_px;

            if (fabs(off - round(off)) > 0.15)
                fail_msg("row %zu: end %d lies %.2f of a mark's distance off one", i, k, off - round(off));
        }
    }
}

static void refused(const struct painted *c, double half, const char *says)
{
    struct gauge_ruler r;
    struct err e = {0};

    assert_false(read_ruler(c, half, 0, c->other_px > 0 ? 0 : -15, &r, &e));
    if (strstr(e.text, says) == NULL)
        fail_msg("says: %s", e.text);
}

static void what_is_no_scale_or_two_is_refused(void **state)
{
    (void)state;
    refused(&(struct painted){.light = plain, .noise = 20}, 250, "No marks repeat");
    refused(&(struct painted){.light = ruler, .mark_px = 10, .other_px = 15.875, .noise = 6}, 280, "Two scales"); /* millimetres, sixteenths of an inch */
    refused(&(struct painted){.light = ruler, .mark_px = 31, .noise = 6}, 90, "marks");
    refused(&(struct painted){.light = ruler, .mark_px = 12, .noise = 6}, 15, "eight of its marks");
}

static bool read_span(const struct painted *c, double half, double off_deg, struct gauge_span *out, struct err *e)
{
    uint8_t *rgba = paint(c);
    struct gauge_point line[2];
    bool fine;

    draw(c, half, off_deg, 0, line);
    fine = gauge_span_read(&(struct gauge_picture){WIDE, HIGH, rgba}, line, 2 * half / 16, out, e);
    free(rgba);
    return fine;
}

static void sides_of_a_hex_are_held_to(void **state)
{
    static const struct {
        double half_px, drawn_px, turn_deg, off_deg, noise;
    } rows[] = {{150.3, 150.3, 0, 0, 6}, {150.3, 156, 17, 2, 10}, {120.7, 115, -71, -3, 10}, {140.2, 134, 180, 1.5, 20}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct painted c = {.turn_deg = rows[i].turn_deg, .light = body, .half_px = rows[i].half_px, .noise = rows[i].noise};
        struct gauge_span s;
        struct err e = {0};
        double a = c.turn_deg * DEGREE;

        if (!read_span(&c, rows[i].drawn_px, rows[i].off_deg, &s, &e))
            fail_msg("row %zu: %s", i, e.text);
        for (int k = 0; k < 2; k++) {
            double along = (s.ends[k].x - WIDE / 2.0) * cos(a) + (s.ends[k].y - HIGH / 2.0) * sin(a);

            if (fabs(along - (k ? 1 : -1) * c.half_px) > fmax(3 * s.end_sd_px, 0.3))
                fail_msg("row %zu: end %d lies %.2f px along, painted at %.2f (± %.2f)", i, k, along, (k ? 1 : -1) * c.half_px, s.end_sd_px);
        }
        assert_true(s.end_sd_px < 1);
    }
}

static void without_two_sides_the_ends_are_not_held(void **state)
{
    struct gauge_span s;
    struct err e = {0};

    (void)state;
    assert_false(read_span(&(struct painted){.light = plain, .noise = 20}, 150, 0, &s, &e));
    assert_non_null(strstr(e.text, "first end"));
    assert_false(read_span(&(struct painted){.light = body, .half_px = 150, .lean = 0.14, .noise = 4}, 150, 0, &s, &e));
    assert_non_null(strstr(e.text, "alongside"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_are_found_however_it_lies),
        cmocka_unit_test(what_is_no_scale_or_two_is_refused),
        cmocka_unit_test(sides_of_a_hex_are_held_to),
        cmocka_unit_test(without_two_sides_the_ends_are_not_held),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
