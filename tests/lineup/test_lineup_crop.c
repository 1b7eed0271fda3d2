/* Plugs found in their photos by the marks a person would draw, against the scene's own camera
 * (samples/photos/crops.csv): middle, turn, scale. What is set by hand wins; what is kept comes back. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "lineup/lineup_crop.h"
#include "photo/photo.h"
#include "../help/help.h"

#define THREAD "M14x1.25"

/* The photo of a file with its marks. */
struct shown {
    struct logbook_photo photo;
    struct logbook_mark marks[4];
    size_t n;
    struct photo_pixels px;
    double focal_px;
};

static struct shown *show(const char *file)
{
    static const struct {
        const char *word;
        enum mark_kind kind;
    } kinds[] = {{"scale", MARK_SCALE}, {"gap", MARK_GAP}, {"patch", MARK_PATCH}, {"area", MARK_NOSE}};
    struct csv table = load_table("samples/photos/marks.csv");
    struct shown *s = mem_alloc(1, sizeof *s);
    struct photo_info info;
    char path[200], *bytes;
    size_t n_bytes;
    struct err e = {0};

    text_format(path, sizeof path, "samples/photos/%s", file);
    if (!files_read(path, 64 << 20, &bytes, &n_bytes, &e) || !photo_decode((uint8_t *)bytes, n_bytes, LINEUP_DECODE_PX, NULL, &s->px, &info, &e))
        fail_msg("%s", e.text);
    free(bytes);
    s->focal_px = info.focal_as_35mm_mm / 36 * (s->px.width > s->px.height ? s->px.width : s->px.height);
    s->photo = (struct logbook_photo){.format = "jpg", .width = info.width, .height = info.height, .zone = ZONE_FIRING_END};
    text_copy(s->photo.id, sizeof s->photo.id, file);
    for (size_t i = 1; i < table.n_rows; i++)
        for (size_t k = 0; k < 4; k++)
            if (strcmp(csv_named(&table, i, "file"), file) == 0 && strcmp(csv_named(&table, i, "kind"), kinds[k].word) == 0) {
                struct logbook_mark *m = &s->marks[s->n++];

                logbook_mark_init(m, s->photo.id, kinds[k].kind);
                m->n_points = read_points(csv_named(&table, i, "points"), m->x, m->y, MARK_MAX_POINTS);
            }
    csv_release(&table);
    return s;
}

static void hide(struct shown *s)
{
    photo_pixels_release(&s->px);
    free(s);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static void plugs_of_the_sample_are_found_where_the_scene_has_them(void **state)
{
    struct csv crops = load_table("samples/photos/crops.csv");
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    double ratio[64], middle;
    int n = 0, n_side = 0;

    (void)state;
    for (size_t i = 1; i < crops.n_rows; i++) {
        const char *file = csv_named(&crops, i, "file");
        enum crop_view view = strcmp(csv_named(&crops, i, "view"), "tip") == 0 ? CROP_TIP : CROP_SIDE;
        double x = strtod(csv_named(&crops, i, "x"), NULL), y = strtod(csv_named(&crops, i, "y"), NULL), mm = strtod(csv_named(&crops, i, "px_per_mm"), NULL);
        double turn = strtod(csv_named(&crops, i, "turn_deg"), NULL), off;
        struct shown *s = show(file);
        struct lineup_cut c;
        struct err e = {0};

        assert_false(lineup_plan_make(&s->photo, view == CROP_TIP ? CROP_SIDE : CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan));
        if (!lineup_plan_make(&s->photo, view, THREAD, s->marks, s->n, NULL, 0, plan) || !lineup_cut_find(plan, &s->px, s->focal_px, &c, &e))
            fail_msg("%s: %s", file, e.text);
        off = hypot(c.x - x, c.y - y) / mm;
        assert_false(c.by_hand);
        assert_int_equal(c.by_eye, view == CROP_TIP);
        if (off > 0.4 || fabs(remainder(c.turn_deg - turn, 360)) > 0.6)
            fail_msg("%s: %.2f mm off, turned %.2f for %.2f", file, off, c.turn_deg, turn);
        if (view == CROP_TIP) {
            ratio[n++] = c.px_per_mm / mm;
        } else {
            n_side++;
            if (fabs(c.px_per_mm / mm - 1) > 0.01)
                fail_msg("%s: %.3f px/mm for %.3f", file, c.px_per_mm, mm);
        }
        hide(s);
    }
    /* All noses are of one size, so all tips come out at one scale. */
    qsort(ratio, (size_t)n, sizeof ratio[0], compare);
    middle = ratio[n / 2];
    if (n != 20 || n_side != 5 || ratio[0] < 0.975 * middle || ratio[n - 1] > 1.025 * middle || fabs(middle - 1) > 0.03)
        fail_msg("%d tips, %d sides, scales from %.3f to %.3f of the truth", n, n_side, ratio[0], ratio[n - 1]);
    free(plan);
    csv_release(&crops);
}

/* A photo turned by a quarter stays so; a frame set by hand is taken as it is. */
static void what_a_person_says_is_taken_as_it_is(void **state)
{
    struct shown *s = show("v8-2-end.jpg");
    struct logbook_crop hand = {.view = CROP_TIP, .x = 700, .y = 600, .turn_deg = 33, .px_per_mm = 30, .by_eye = true};
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    struct lineup_cut c;
    struct err e = {0};

    (void)state;
    s->photo.turn = 1;
    s->photo.lean_mdeg = -2500;
    assert_true(lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan) && lineup_cut_find(plan, &s->px, 0, &c, &e));
    assert_true(fabs(c.turn_deg - 87.5) < 1e-9);
    text_copy(hand.photo, sizeof hand.photo, s->photo.id);
    assert_true(lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, &hand, 1, plan) && lineup_cut_find(plan, &s->px, 0, &c, &e));
    assert_true(c.by_hand && c.by_eye && fabs(c.x - 700) < 1e-9 && fabs(c.y - 600) < 1e-9 && fabs(c.turn_deg - 33) < 1e-9 && fabs(c.px_per_mm - 30) < 1e-9);
    assert_int_equal(c.light, LINEUP_CORRECTED);
    free(plan);
    hide(s);
}

static void the_frame_set_by_hand_is_picked_first_and_a_nose_from_the_side_never(void **state)
{
    struct shown *tip = show("v8-2-end.jpg"), *side = show("v8-2-side.jpg");
    struct logbook_photo photos[3] = {side->photo, tip->photo, tip->photo};
    struct logbook_mark marks[3];
    struct logbook_crop hand = {.view = CROP_TIP, .x = 700, .y = 600, .px_per_mm = 30};
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);

    (void)state;
    text_copy(photos[2].id, sizeof photos[2].id, "third");
    marks[0] = side->marks[2]; /* the side view's nose, without its gap line */
    marks[1] = tip->marks[0];
    marks[2] = tip->marks[1];
    assert_int_equal(marks[0].kind, MARK_NOSE);
    assert_ptr_equal(lineup_pick(photos, 3, marks, 3, NULL, 0, 0, 0, CROP_TIP, THREAD, plan), &photos[1]);
    assert_null(lineup_pick(photos, 3, marks, 3, NULL, 0, 0, 0, CROP_SIDE, THREAD, plan));
    assert_null(lineup_pick(photos, 3, marks, 3, NULL, 0, 1, 0, CROP_TIP, THREAD, plan));
    text_copy(hand.photo, sizeof hand.photo, "third");
    assert_ptr_equal(lineup_pick(photos, 3, marks, 3, &hand, 1, 0, 0, CROP_TIP, THREAD, plan), &photos[2]);
    assert_true(plan->by_hand);
    free(plan);
    hide(tip);
    hide(side);
}

/* A nose outlined on a side view, alone, with the thread, framed by hand: only the tip is a tip. */
static void a_nose_seen_from_the_side_makes_no_tip(void **state)
{
    struct shown *side = show("v8-2-side.jpg"), *tip = show("v8-2-end.jpg");
    struct logbook_mark both[2];
    struct logbook_crop hand = {.view = CROP_SIDE, .x = 1138, .y = 471, .px_per_mm = 30};
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    struct lineup_cut c, by_gap;
    struct err e = {0};

    (void)state;
    assert_true(side->marks[0].kind == MARK_SCALE && side->marks[1].kind == MARK_GAP && side->marks[2].kind == MARK_NOSE);
    both[0] = side->marks[0], both[1] = side->marks[2];
    assert_false(lineup_plan_make(&side->photo, CROP_TIP, THREAD, both, 2, NULL, 0, plan));
    /* thread and nose tell the side as gap and thread do, but for the millimetre by which the electrode stands out */
    assert_true(lineup_plan_make(&side->photo, CROP_SIDE, THREAD, side->marks, 2, NULL, 0, plan) && lineup_cut_find(plan, &side->px, side->focal_px, &by_gap, &e));
    assert_true(lineup_plan_make(&side->photo, CROP_SIDE, THREAD, both, 2, NULL, 0, plan) && lineup_cut_find(plan, &side->px, side->focal_px, &c, &e));
    assert_true(fabs(remainder(c.turn_deg - by_gap.turn_deg, 360)) < 1 && fabs(c.px_per_mm / by_gap.px_per_mm - 1) < 0.01);
    assert_true(hypot(c.x - by_gap.x, c.y - by_gap.y) / c.px_per_mm < 2.5);
    /* a length that was said beside a tip makes no side of it */
    both[0].known = 10;
    text_copy(both[0].photo, sizeof both[0].photo, tip->photo.id);
    both[1] = tip->marks[0];
    assert_true(lineup_plan_make(&tip->photo, CROP_TIP, THREAD, both, 2, NULL, 0, plan));
    assert_false(lineup_plan_make(&tip->photo, CROP_SIDE, THREAD, both, 2, NULL, 0, plan));
    /* what a person framed from the side is none of its tip, until that is framed too */
    text_copy(hand.photo, sizeof hand.photo, tip->photo.id);
    assert_false(lineup_plan_make(&tip->photo, CROP_TIP, THREAD, tip->marks, tip->n, &hand, 1, plan));
    assert_true(lineup_plan_make(&tip->photo, CROP_SIDE, THREAD, tip->marks, tip->n, &hand, 1, plan));
    hand.view = CROP_TIP;
    assert_true(lineup_plan_make(&tip->photo, CROP_TIP, THREAD, tip->marks, tip->n, &hand, 1, plan));
    /* one that is said to show the threads or the body is a side view, never a tip */
    side->photo.zone = ZONE_THREADS;
    assert_non_null(lineup_pick(&side->photo, 1, side->marks, side->n, NULL, 0, 0, 0, CROP_SIDE, THREAD, plan));
    assert_null(lineup_pick(&side->photo, 1, &side->marks[2], 1, NULL, 0, 0, 0, CROP_TIP, THREAD, plan));
    free(plan);
    hide(side);
    hide(tip);
}

static void what_cannot_be_found_is_said(void **state)
{
    struct shown *s = show("v8-2-side.jpg");
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    struct lineup_cut c;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < s->n; i++)
        if (s->marks[i].kind == MARK_SCALE) /* over the bench, where there are no threads */
            s->marks[i].y[0] = 1150, s->marks[i].y[1] = 1180;
    assert_true(lineup_plan_make(&s->photo, CROP_SIDE, THREAD, s->marks, s->n, NULL, 0, plan));
    assert_false(lineup_cut_find(plan, &s->px, s->focal_px, &c, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    assert_true(e.text[0] != '\0');
    text_copy(s->photo.trouble, sizeof s->photo.trouble, "damaged");
    assert_false(lineup_plan_make(&s->photo, CROP_SIDE, THREAD, s->marks, s->n, NULL, 0, plan));
    free(plan);
    hide(s);
}

/* Only what changes the cut changes its version. */
static void a_version_stands_for_what_is_cut(void **state)
{
    struct shown *s = show("v8-2-end.jpg");
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    int first, second;

    (void)state;
    lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan);
    first = lineup_plan_version(plan);
    assert_true(first > 0);
    logbook_mark_init(&s->marks[s->n], s->photo.id, MARK_PIN);
    lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n + 1, NULL, 0, plan);
    assert_int_equal(lineup_plan_version(plan), first);
    s->marks[0].x[1] += 1;
    lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan);
    second = lineup_plan_version(plan);
    assert_int_not_equal(second, first);
    s->photo.turn = 1;
    lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan);
    assert_int_not_equal(lineup_plan_version(plan), second);
    free(plan);
    hide(s);
}

/* The plug's middle is in the middle of the cut: the nose there is light, the space about it dark. */
static void a_cut_is_kept_and_comes_back(void **state)
{
    struct shown *s = show("v8-2-end.jpg");
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    struct lineup_cut c, back;
    struct photo_pixels px;
    const uint8_t *jpeg;
    uint8_t *bytes;
    size_t n_bytes, n_jpeg;
    struct err e = {0};

    (void)state;
    assert_true(lineup_plan_make(&s->photo, CROP_TIP, THREAD, s->marks, s->n, NULL, 0, plan) && lineup_cut_make(plan, &s->px, 0, &c, &e));
    assert_true(lineup_cut_pack(&c, &bytes, &n_bytes));
    assert_true(lineup_cut_unpack(bytes, n_bytes, &back, &jpeg, &n_jpeg));
    assert_true(fabs(back.x - c.x) < 0.01 && fabs(back.y - c.y) < 0.01 && fabs(back.px_per_mm - c.px_per_mm) < 0.001 && fabs(back.turn_deg - c.turn_deg) < 0.001);
    assert_true(back.by_eye == c.by_eye && back.by_hand == c.by_hand && back.light == c.light);
    assert_true(photo_decode(jpeg, n_jpeg, 0, NULL, &px, NULL, &e));
    assert_true(px.width == LINEUP_CUT_PX && px.height == LINEUP_CUT_PX);
    for (int ring = 0; ring < 2; ring++) { /* 1.8 mm from the middle lies the nose, 3.8 mm the space about it */
        double sum = 0, far = (ring ? 3.8 : 1.8) * LINEUP_CUT_PX / lineup_field_of(CROP_TIP, THREAD).mm;

        for (int i = 0; i < 36; i++)
            sum += px.rgba[4 * ((int)(128 + far * sin(i * 0.1745)) * LINEUP_CUT_PX + (int)(128 + far * cos(i * 0.1745))) + 1] / 36.0;
        if (ring ? sum > 70 : sum < 110)
            fail_msg("ring %d: %.0f", ring, sum);
    }
    assert_false(lineup_cut_unpack((const uint8_t *)"1 2 3\n", 6, &back, &jpeg, &n_jpeg));
    assert_false(lineup_cut_unpack((const uint8_t *)"1 2 3 0 0 0 0\n", 14, &back, &jpeg, &n_jpeg));
    assert_false(lineup_cut_unpack((const uint8_t *)"1 2 3 4 0 0 9\n", 14, &back, &jpeg, &n_jpeg));
    assert_false(lineup_cut_unpack((const uint8_t *)"1 2 3 4 0 0 0", 13, &back, &jpeg, &n_jpeg));
    photo_pixels_release(&px);
    lineup_cut_release(&c);
    free(bytes);
    free(plan);
    hide(s);
}

/* A photo that does not tell where its plug is is turned by any angle: 60 px to the right of the middle lie, turned by 30°
 * clockwise, at 60 (cos 30°, sin 30°). The square is as large as finds room in 400 by 300 px: 300 / (cos 30° + sin 30°). */
static void the_middle_follows_a_turn_by_any_angle(void **state)
{
    struct photo_pixels px = {400, 300, calloc(400 * 300, 4)}, out;
    double scale = LINEUP_CUT_PX / (300 / (cos(M_PI / 6) + sin(M_PI / 6)));
    int x = (int)lround(LINEUP_CUT_PX / 2.0 + 60 * cos(M_PI / 6) * scale), y = (int)lround(LINEUP_CUT_PX / 2.0 + 60 * sin(M_PI / 6) * scale);

    (void)state;
    for (int j = 147; j < 153; j++)
        memset(px.rgba + ((size_t)j * 400 + 257) * 4, 255, 6 * 4);
    assert_true(lineup_middle_make(&px, 30, &out));
    assert_true(out.rgba[((size_t)y * LINEUP_CUT_PX + (size_t)x) * 4] > 200);
    assert_true(out.rgba[((size_t)(LINEUP_CUT_PX / 2) * LINEUP_CUT_PX + (size_t)x) * 4] < 50);
    photo_pixels_release(&out);
    photo_pixels_release(&px);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plugs_of_the_sample_are_found_where_the_scene_has_them),
        cmocka_unit_test(what_a_person_says_is_taken_as_it_is),
        cmocka_unit_test(the_frame_set_by_hand_is_picked_first_and_a_nose_from_the_side_never),
        cmocka_unit_test(a_nose_seen_from_the_side_makes_no_tip),
        cmocka_unit_test(what_cannot_be_found_is_said),
        cmocka_unit_test(a_version_stands_for_what_is_cut),
        cmocka_unit_test(a_cut_is_kept_and_comes_back),
        cmocka_unit_test(the_middle_follows_a_turn_by_any_angle),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
