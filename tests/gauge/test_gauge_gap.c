/* The gap of plugs whose shape is known, seen by a ray marcher of the tests' own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_edge.h"
#include "gauge/gauge_gap.h"
#include "gauge/gauge_view.h"
#include "plug_scene.h"

static const struct scene plain = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 20, .turn_deg = 8, .blur_px = 0.8, .noise = 0.004,
    .width = 440, .height = 320, .centre_x = 370, .centre_y = 180};

static struct gauge_point shows(const struct scene *c, double s, double t)
{
    struct gauge_point p;

    scene_shows(c, s, t, 0, &p.x, &p.y);
    return p;
}

/* The scale as the thread's reader would give it. */
static struct gauge_thread scale_of(const struct scene *c)
{
    struct gauge_point a = shows(c, c->thread_from + 1, 0), b = shows(c, c->thread_to - 1, 0);
    double length = hypot(b.x - a.x, b.y - a.y);

    return (struct gauge_thread){.pitch_mm = c->pitch, .length_px = length, .pitch_px = c->pitch * c->px_per_mm, .pitch_sd_px = 0.001 * c->pitch * c->px_per_mm,
                                 .ux = (b.x - a.x) / length, .uy = (b.y - a.y) / length, .has_body = true, .middle = {(a.x + b.x) / 2, (a.y + b.y) / 2},
                                 .radius_px = c->major / 2 * c->px_per_mm, .major_mm = c->major, .on_outline = true,
                                 .distance_mm = c->distance * cos(c->off_deg * SCENE_PI / 180), .px_per_mm = c->px_per_mm, .px_per_mm_sd = 0.001 * c->px_per_mm};
}

static bool read_gap(const struct scene *c, const struct gauge_thread *scale, double dx1, double dy1, double dx2, double dy2, struct gauge_gap *gap, struct err *e)
{
    uint8_t *rgba = scene_paint(c);
    struct gauge_picture p = {c->width, c->height, rgba};
    struct gauge_point line[2] = {shows(c, 0, 0), shows(c, c->gap, 0)};
    bool fine;

    line[0].x += dx1, line[0].y += dy1, line[1].x += dx2, line[1].y += dy2;
    fine = gauge_gap_read(&p, line, scale, gap, e);
    free(rgba);
    return fine;
}

static void gap_is(const struct scene *c, double most_off)
{
    struct gauge_thread scale = scale_of(c);
    struct gauge_gap gap;
    struct err e = {0};

    if (!read_gap(c, &scale, 5, -6, -4, 5, &gap, &e))
        fail_msg("%s", e.text);
    print_message("gap %.3f mm, %.3f ± %.3f read, %.1f ± %.1f degrees off (%.1f)\n", scene_gap_mm(c), gap.gap_mm, gap.uncertainty_mm, gap.off_deg, gap.off_sd_deg, c->off_deg);
    assert_true(fabs(gap.gap_mm - scene_gap_mm(c)) <= gap.uncertainty_mm);
    assert_true(fabs(gap.gap_mm - scene_gap_mm(c)) <= most_off);
}

static void a_gap_is_found_from_a_rough_line(void **state)
{
    struct scene c = plain;

    (void)state;
    gap_is(&c, 0.05);
    c.gap = 0.5, c.turn_deg = -170, c.centre_x = 80, c.centre_y = 150;
    gap_is(&c, 0.05);
    c = plain;
    for (int k = 0; k < 3; k++) /* sooted black on white paper */
        c.bench[k] = 0.7, c.tip[k] = c.strap[k] = 0.04;
    gap_is(&c, 0.05);
}

/* Both ends of a line over a narrow gap 8 px off across, one each way: it lies at any angle to the axis, which the thread knows better. It was refused, or
 * the edges of something else were taken. */
static void a_short_line_may_lie_at_any_angle(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale;
    struct gauge_gap gap;
    struct err e = {0};

    (void)state;
    c.gap = 0.5;
    scale = scale_of(&c);
    for (int way = -1; way <= 1; way += 2) {
        if (!read_gap(&c, &scale, 3, -8 * way, -3, 8 * way, &gap, &e))
            fail_msg("%s", e.text);
        print_message("%.3f ± %.3f\n", gap.gap_mm, gap.uncertainty_mm);
        assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) <= 0.04);
        assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) <= gap.uncertainty_mm);
    }
}

/* Bright metal on a dark, even bench, the camera square: a rim as dark as the bench could be there at both ends, but just so dark it
 * would have to be. The gap was told 0.034 mm too narrow. */
static void rims_that_need_a_coincidence_are_not_thought_there(void **state)
{
    struct scene c = plain;

    (void)state;
    c.weave = 0.05, c.shine = 0, c.noise = 0.002, c.gap = 1.48;
    for (int k = 0; k < 3; k++)
        c.bench[k] = 0.07, c.tip[k] = c.strap[k] = 0.6;
    c.light[0] = 0, c.light[1] = 0.3;
    gap_is(&c, 0.035);
}

static void worn_and_fine_electrodes_are_measured(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale;
    struct gauge_strip strip;
    struct gauge_point tip;
    uint8_t *rgba;

    (void)state;
    c.corner = 0.12;
    gap_is(&c, 0.06);
    c = plain;
    c.tip_r = 0.35;
    gap_is(&c, 0.05);
    scale = scale_of(&c), tip = shows(&c, 0, 0), rgba = scene_paint(&c);
    assert_true(gauge_strip_cut(&(struct gauge_picture){c.width, c.height, rgba}, &(struct gauge_frame){tip, scale.ux, scale.uy}, -30, 30, -32, 32, 0.5, 1, false, &strip, NULL));
    print_message("a wire 0.35 mm to each side: %.2f\n", gauge_edge_wire(&strip, 0, -1, c.px_per_mm) / c.px_per_mm);
    assert_true(fabs(gauge_edge_wire(&strip, 0, -1, c.px_per_mm) / c.px_per_mm - 0.35) < 0.12);
    gauge_strip_release(&strip);
    free(rgba);
    c = plain, scale = scale_of(&c), rgba = scene_paint(&c);
    assert_true(gauge_strip_cut(&(struct gauge_picture){c.width, c.height, rgba}, &(struct gauge_frame){tip, scale.ux, scale.uy}, -30, 30, -32, 32, 0.5, 1, false, &strip, NULL));
    assert_true(gauge_edge_wire(&strip, 0, -1, c.px_per_mm) <= 0); /* a thick one is no wire */
    gauge_strip_release(&strip);
    free(rgba);
}

static void a_strap_that_leans_is_measured_at_its_nearer_side(void **state)
{
    struct scene c = plain;

    (void)state;
    c.lean_deg = 4;
    assert_true(c.gap - scene_gap_mm(&c) > 0.08);
    gap_is(&c, 0.05);
    c.lean_deg = -4;
    gap_is(&c, 0.05);
}

/* A strap black with soot farther up: two edges of soot stand there as clearly as the gap's own, but between them and the tip lies metal. */
static void an_edge_of_soot_is_no_rival(void **state)
{
    enum { ALONG = 161, ACROSS = 59 }; /* half px along, from -40; rows from -29 */
    static float rgb[ACROSS * ALONG][3];
    static bool seen[ACROSS];
    struct gauge_strip s = {.n_s = ALONG, .n_t = ACROSS, .s0 = -40, .t0 = -29, .step_s = 0.5, .step_t = 1, .rgb = rgb, .seen = seen};
    struct gauge_pair pair;
    uint32_t grain = 7;
    double mm = 18;

    (void)state;
    for (int j = 0; j < ACROSS; j++)
        for (int i = 0; i < ALONG; i++) {
            double along = s.s0 + i * s.step_s, level = 60;

            seen[j] = true;
            if (fabs(s.t0 + j) < 1.2 * mm)
                level = along < -10 ? 22 : along < 4 ? 60 : along < 20 ? 170 : 30;
            grain = grain * 1664525u + 1013904223u;
            for (int c = 0; c < 3; c++)
                rgb[j * ALONG + i][c] = (float)(level + (grain >> 28) / 4.0);
        }
    assert_true(gauge_edge_pair(&(struct gauge_pair_of){.strip = &s, .length = 22, .reach = 13, .mm = mm, .narrow = 0.35 * mm, .tip = -1}, &pair));
    print_message("edges at %.1f and %.1f, another pair %.1f px wider\n", pair.at[0], pair.at[1], pair.rival_px);
    assert_true(fabs(pair.at[0] + 10) < 1.5 && fabs(pair.at[1] - 4) < 1.5);
    assert_true(pair.rival_px < 4); /* of 16 */
}

/* A line of levels along the plug, tip first: each up to a place, in px. */
struct level {
    double to, grey;
};
enum { PAINTED_ALONG = 181, PAINTED_ACROSS = 65, PAINTED_BESIDE = 8 };
struct painted {
    struct gauge_strip all, beside[2];
    float rgb[PAINTED_ACROSS + 2 * PAINTED_BESIDE][PAINTED_ALONG][3];
    bool seen[PAINTED_ACROSS];
};

static void paint_row(float (*row)[3], const struct level *l, uint32_t *grain)
{
    for (int i = 0; i < PAINTED_ALONG; i++) {
        int k = 0;

        while (-45 + i * 0.5 > l[k].to)
            k++;
        *grain = *grain * 1664525u + 1013904223u;
        for (int c = 0; c < 3; c++)
            row[i][c] = (float)(l[k].grey + (*grain >> 28) / 4.0);
    }
}

/* 20 px a millimetre; the leg lies at t < 0, both electrodes reach 26 px to each side of the axis. */
static struct painted *paint(const struct level *over, const struct level *leg, const struct level *open)
{
    struct painted *p = calloc(1, sizeof *p);
    uint32_t grain = 7;

    p->all = (struct gauge_strip){.n_s = PAINTED_ALONG, .n_t = PAINTED_ACROSS, .s0 = -45, .t0 = -32, .step_s = 0.5, .step_t = 1, .rgb = p->rgb[0], .seen = p->seen};
    for (int j = 0; j < PAINTED_ACROSS; j++)
        p->seen[j] = true, paint_row(p->rgb[j], j < 6 ? leg : j > 58 ? open : over, &grain);
    for (int k = 0; k < 2; k++) {
        p->beside[k] = p->all, p->beside[k].n_t = PAINTED_BESIDE, p->beside[k].t0 = k ? 35 : -42, p->beside[k].rgb = p->rgb[PAINTED_ACROSS + k * PAINTED_BESIDE];
        for (int j = 0; j < PAINTED_BESIDE; j++)
            paint_row(p->rgb[PAINTED_ACROSS + k * PAINTED_BESIDE + j], k ? open : leg, &grain);
    }
    return p;
}

static bool pair_of(const struct painted *p, double length, struct gauge_pair *pair)
{
    return gauge_edge_pair(&(struct gauge_pair_of){.strip = &p->all, .beside = {&p->beside[0], &p->beside[1]}, .length = length, .reach = 13, .mm = 20, .narrow = 7, .tip = 0, .face_px = {10, 10}}, pair);
}

/* The camera is off square: the side electrode's face, turned away from the light, runs along it as a dark stripe as wide as the gap beside it. A line
 * drawn some px too far, as from a rough hand, lies on the stripe. */
static void a_face_is_not_taken_for_the_gap(void **state)
{
    static const struct level over[] = {{-10, 135}, {-1, 185}, {7, 45}, {1e9, 150}}, leg[] = {{-1, 180}, {7, 45}, {1e9, 150}}, open[] = {{1e9, 190}};
    struct painted *p = paint(over, leg, open);
    struct gauge_pair pair;

    (void)state;
    assert_true(pair_of(p, 16, &pair));
    print_message("edges at %.1f and %.1f, stripe %.1f\n", pair.at[0], pair.at[1], pair.stripe_px);
    assert_true(fabs(pair.at[0] + 10) < 2 && fabs(pair.at[1] + 1) < 2);
    assert_true(pair.stripe_px <= 0); /* no wider than a face may be */
    free(p);
}

/* Under a flash the side electrode's shadow lies beside it on the bench: wider than its face can be. Where the shadow begins no metal does. */
static void a_shadow_is_not_taken_for_the_gap_or_an_electrode(void **state)
{
    static const struct level over[] = {{-10, 120}, {-3, 185}, {11, 40}, {1e9, 200}}, leg[] = {{-3, 180}, {11, 40}, {1e9, 200}}, open[] = {{1e9, 190}};
    struct painted *p = paint(over, leg, open);
    struct gauge_pair pair;

    (void)state;
    assert_true(pair_of(p, 14, &pair));
    print_message("edges at %.1f and %.1f, stripe %.1f\n", pair.at[0], pair.at[1], pair.stripe_px);
    assert_true(fabs(pair.at[0] + 10) < 2);
    assert_true(fabs(pair.at[1] - 11) < 1.5 || fabs(pair.stripe_px - 14) < 2); /* behind the shadow, or it is told that it lies there */
    free(p);
}

/* At 4 degrees 0.18 mm of 0.9 are hidden: a reader of edges alone is that far off. */
static void what_the_angle_hides_is_added(void **state)
{
    (void)state;
    for (int side = -1; side <= 1; side += 2) {
        struct scene c = plain;
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};

        c.off_deg = 4 * side, c.ambient = 0.85;
        scale = scale_of(&c);
        if (!read_gap(&c, &scale, 0, 0, 0, 0, &gap, &e))
            fail_msg("%s", e.text);
        print_message("%.0f degrees: %.3f ± %.3f of %.3f, off %.1f ± %.1f, %.3f hidden\n", c.off_deg, gap.gap_mm, gap.uncertainty_mm, scene_gap_mm(&c), gap.off_deg, gap.off_sd_deg, gap.hidden_mm);
        assert_true(fabs(gap.off_deg - 4) < 2 * gap.off_sd_deg);
        assert_true(gap.hidden_mm > 0.1);
        assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) < 0.06);
        assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) < gap.uncertainty_mm);
    }
}

static void the_threads_bow_tells_the_angle(void **state)
{
    static const double lights[][3] = {{-0.3, -0.6, 1}, {0.8, 0.5, 1}, {-0.8, 0.2, 0.8}};

    (void)state;
    for (int k = 0; k < 3; k++)
        for (int way = k ? k * 2 - 3 : -1; way <= (k ? k * 2 - 3 : 0); way++) {
            struct scene c = plain;
            struct gauge_thread scale;
            struct gauge_view view;
            uint8_t *rgba;

            memcpy(c.light, lights[k], sizeof c.light);
            c.ambient = 0.92; /* a sky through cloud: hard light bends the bow and is refused */
            c.off_deg = 3.5 * way, c.distance = k == 1 ? 160 : 350;
            scale = scale_of(&c);
            rgba = scene_paint(&c);
            gauge_view_read(&(struct gauge_picture){c.width, c.height, rgba}, &scale, hypot(c.centre_x - scale.middle.x, c.centre_y - scale.middle.y), &view);
            print_message("light %d, %.1f degrees: %s %.2f ± %.2f\n", k, c.off_deg, view.known ? "told" : "not told", view.off_deg, view.sd_deg);
            if (view.known)
                assert_true(fabs(view.off_deg - c.off_deg) < 2 * view.sd_deg);
            assert_true(view.known || k > 0);
            if (way == 0 && view.known) { /* without a focal length the doubt grows */
                double sd = view.sd_deg;

                scale.distance_mm = 0;
                gauge_view_read(&(struct gauge_picture){c.width, c.height, rgba}, &scale, hypot(c.centre_x - scale.middle.x, c.centre_y - scale.middle.y), &view);
                assert_true(!view.known || view.sd_deg > hypot(sd, 1));
            }
            free(rgba);
        }
}

/* Turns look longer on the middle, the nearer the camera the more: taken from so far that they don't, the gap is seen as the thread is. */
static void without_a_focal_length_the_turns_tell_the_distance(void **state)
{
    static const double distances[] = {160, 320, 20000};

    (void)state;
    for (int k = 0; k < 3; k++) {
        struct scene c = plain;
        struct gauge_thread scale;
        struct gauge_view view;
        struct err e = {0};
        struct gauge_point line[2];
        struct gauge_picture p;
        uint8_t *rgba;
        double far;

        c.ambient = 0.92, c.distance = distances[k], c.height = 440, c.centre_y = 240;
        line[0] = shows(&c, c.thread_from + 0.6, 7), line[1] = shows(&c, c.thread_to - 0.6, 7);
        rgba = scene_paint(&c), p = (struct gauge_picture){c.width, c.height, rgba};
        if (!gauge_thread_read(&p, line, c.pitch, c.major, 0, &scale, &e))
            fail_msg("%s", e.text);
        far = hypot(c.centre_x - scale.middle.x, c.centre_y - scale.middle.y);
        gauge_view_read(&p, &scale, far, &view);
        free(rgba);
        print_message("from %.0f mm: 1/%.0f ± %.0f %% told, %.1f ± %.1f degrees of 0 at the gap\n", c.distance, 1 / fmax(scale.nearness, 1e-5), 100 * scale.nearness_sd * c.distance, view.off_deg,
                      view.sd_deg);
        assert_true(fabs(scale.nearness - 1 / c.distance) < 2 * scale.nearness_sd);
        assert_true(view.known && fabs(view.off_deg) < 1 && fabs(view.off_deg) < 2 * view.sd_deg);
    }
}

static void what_cannot_be_told_is_said(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale = scale_of(&c);
    struct gauge_point line[2] = {{100, 100}, {140, 100}}, near_edge[2] = {{200, 3}, {220, 3}}, dot[2] = {{100, 100}, {101, 100}};
    uint8_t *rgba = calloc(440 * 320, 4);
    struct gauge_picture p = {440, 320, rgba};
    struct gauge_gap gap;
    struct err e = {0};
    uint32_t noise = 5;

    (void)state;
    for (int i = 0; i < 440 * 320; i++) {
        noise = noise * 1664525u + 1013904223u;
        memset(rgba + 4 * i, 120 + (int)(noise >> 28), 4);
    }
    scale.has_body = false; /* a known length: no axis */
    assert_false(gauge_gap_read(&p, line, &scale, &gap, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    e = (struct err){0};
    assert_false(gauge_gap_read(&p, near_edge, &scale, &gap, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    e = (struct err){0};
    assert_false(gauge_gap_read(&p, dot, &scale, &gap, &e));
    assert_int_equal(e.code, ERR_BADARG);
    free(rgba);
}

/* With a scale from a known length the line's own direction is taken, and put right by the edges. */
/* Where a gap is too doubtful to be told and the photo has no focal length, that is said: the angle hangs on it. */
static void a_refusal_names_the_focal_length_that_is_missing(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale;
    struct gauge_gap gap;
    struct err e = {0};

    (void)state;
    c.blur_px = 1.5, c.corner = 0.2, c.noise = 0.03, c.off_deg = 3;
    for (int k = 0; k < 3; k++)
        c.bench[k] = 0.3;
    scale = scale_of(&c), scale.px_per_mm_sd = 0.25 * scale.px_per_mm; /* a scale that is as doubtful */
    assert_false(read_gap(&c, &scale, 5, -6, -4, 5, &gap, &e));
    print_message("%s\n", e.text);
    assert_non_null(strstr(e.text, "mm only"));
    assert_null(strstr(e.text, "focal length"));
    scale.distance_mm = 0;
    e = (struct err){0};
    assert_false(read_gap(&c, &scale, 5, -6, -4, 5, &gap, &e));
    assert_non_null(strstr(e.text, "mm only"));
    assert_non_null(strstr(e.text, "focal length"));
}

static void without_a_thread_the_edges_tell_the_direction(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale = {.px_per_mm = c.px_per_mm, .px_per_mm_sd = 0.002 * c.px_per_mm, .ux = 1};
    struct gauge_gap gap;
    struct err e = {0};

    (void)state;
    if (!read_gap(&c, &scale, 0, -3, 0, 2, &gap, &e))
        fail_msg("%s", e.text);
    assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) < gap.uncertainty_mm);
    assert_true(fabs(gap.gap_mm - scene_gap_mm(&c)) < 0.06);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gap_is_found_from_a_rough_line),
        cmocka_unit_test(a_short_line_may_lie_at_any_angle),
        cmocka_unit_test(rims_that_need_a_coincidence_are_not_thought_there),
        cmocka_unit_test(worn_and_fine_electrodes_are_measured),
        cmocka_unit_test(a_strap_that_leans_is_measured_at_its_nearer_side),
        cmocka_unit_test(an_edge_of_soot_is_no_rival),
        cmocka_unit_test(a_face_is_not_taken_for_the_gap),
        cmocka_unit_test(a_shadow_is_not_taken_for_the_gap_or_an_electrode),
        cmocka_unit_test(what_the_angle_hides_is_added),
        cmocka_unit_test(the_threads_bow_tells_the_angle),
        cmocka_unit_test(without_a_focal_length_the_turns_tell_the_distance),
        cmocka_unit_test(what_cannot_be_told_is_said),
        cmocka_unit_test(a_refusal_names_the_focal_length_that_is_missing),
        cmocka_unit_test(without_a_thread_the_edges_tell_the_direction),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
