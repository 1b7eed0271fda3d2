/* What a bore of the plan shows: the plug cut out of its photo where that is known, of the photo that stands for it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "screen/model.h"
#include "../help/measure.h"

struct bench {
    struct record record;
    struct logbook_photo photos[3];
    struct lineup_plan plan;
    struct plug_cut cuts[4 * CROP_VIEW_COUNT];
    struct visit_photos lineup[2];
    struct model m;
    struct screen_state st;
};

static void set_up(struct bench *b)
{
    struct err e;

    memset(b, 0, sizeof *b);
    record_init(&b->record);
    b->record.engine.layout = ENGINE_INLINE;
    assert_true(engine_parse_banks(&b->record.engine, "1 2 3 4", &e) && engine_parse_firing(&b->record.engine, "1 3 4 2", &e) && engine_finish(&b->record.engine, &e));
    record_add_visit(&b->record);
    record_add_visit(&b->record);
    for (int i = 0; i < 3; i++) { /* two of plug 2, one that waits */
        text_format(b->photos[i].id, sizeof b->photos[i].id, "photo-%d", i);
        b->photos[i].cylinder = i < 2 ? 1 : -1;
        b->photos[i].zone = i == 0 ? ZONE_FIRING_END : -1;
        b->photos[i].width = b->photos[i].height = 100;
    }
    text_copy(b->plan.photo, sizeof b->plan.photo, "photo-0");
    b->cuts[1 * CROP_VIEW_COUNT + CROP_TIP] = (struct plug_cut){.photo = &b->photos[0], .plan = &b->plan, .key = 7, .facts = {.known = true}};
    b->lineup[1] = (struct visit_photos){.photos = b->photos, .n = 3, .cuts = b->cuts, .n_cuts = sizeof b->cuts / sizeof b->cuts[0], .known = true};
    b->m = (struct model){.record = &b->record, .photos = b->photos, .n_photos = 3, .lineup = b->lineup, .can_write = true, .visit_id = ""};
    b->st.cylinder = 1;
    b->st.photo = -1;
}

static void a_bore_shows_the_plug_cut_out_of_its_photo(void **state)
{
    struct bench b;

    (void)state;
    set_up(&b);
    assert_ptr_equal(model_bore_cut(&b.m, 1, 0), &b.cuts[1 * CROP_VIEW_COUNT + CROP_TIP]);
    assert_null(model_bore_cut(&b.m, 0, 0)); /* no photo */
    text_copy(b.plan.photo, sizeof b.plan.photo, "photo-1"); /* of another photo than the bore's */
    assert_null(model_bore_cut(&b.m, 1, 0));
    text_copy(b.plan.photo, sizeof b.plan.photo, "photo-0");
    b.cuts[1 * CROP_VIEW_COUNT + CROP_TIP].facts.failed = true;
    assert_null(model_bore_cut(&b.m, 1, 0));
    b.m.lineup = NULL;
    assert_null(model_bore_cut(&b.m, 1, 0));
    record_release(&b.record);
}

static void photos_opens_with_the_chosen_plug(void **state)
{
    struct bench b;

    (void)state;
    set_up(&b);
    assert_true(screen_to_photos(&b.m, &b.st));
    assert_int_equal(b.st.photo, 0);
    b.st.photo = 1; /* another of the same plug was shown: it stays */
    assert_true(screen_to_photos(&b.m, &b.st));
    assert_int_equal(b.st.photo, 1);
    b.st.photo = 2; /* taken up in the tray */
    assert_true(screen_to_photos(&b.m, &b.st));
    assert_int_equal(b.st.photo, 2);
    b.st.photo = 0; /* of another plug */
    b.st.cylinder = 3;
    b.st.screen = SCREEN_PLAN;
    assert_false(screen_to_photos(&b.m, &b.st));
    assert_int_equal(b.st.screen, SCREEN_PLAN);
    text_copy(b.st.newest, sizeof b.st.newest, "photo-2"); /* came in just now */
    assert_true(screen_to_photos(&b.m, &b.st));
    assert_int_equal(b.st.photo, 2);
    record_release(&b.record);
}

/* Keys that come in the next frame, before the page was drawn again, are of the next plug: fast hands, or a slow frame. */
static void the_next_plug_is_in_hand_at_once(void **state)
{
    struct bench b;

    (void)state;
    set_up(&b);
    b.st.cylinder = 0;
    b.st.by_default = false;
    pulling_begin(&b.m, &b.st);
    assert_true(b.st.pulling && b.st.cylinder == 0 && b.st.pull_at == 0);
    pulling_step(&b.m, &b.st);
    assert_true(b.st.cylinder == 1 && b.st.position == 0 && b.st.pull_at == 1);
    pulling_go(&b.m, &b.st, 3);
    assert_true(b.st.cylinder == 3 && b.st.pull_at == 3);
    pulling_go(&b.m, &b.st, -1);
    assert_true(b.st.cylinder == 0 && b.st.pull_at == 0);
    record_release(&b.record);
}

static void photos_of_the_tray_are_taken_up_in_turn(void **state)
{
    struct bench b;

    (void)state;
    set_up(&b);
    b.photos[0].cylinder = -1;
    tray_next(&b.m, &b.st);
    assert_int_equal(b.st.photo, 0);
    tray_next(&b.m, &b.st);
    assert_int_equal(b.st.photo, 2);
    tray_next(&b.m, &b.st);
    assert_int_equal(b.st.photo, 0);
    b.photos[2].cylinder = 0; /* placed: no other waits */
    tray_next(&b.m, &b.st);
    assert_int_equal(b.st.photo, -1);
    record_release(&b.record);
}

static void an_order_is_drawn_and_taken_back(void **state)
{
    struct bench b;

    (void)state;
    set_up(&b);
    b.record.visits[1].n_removal = 1; /* an old order */
    plan_order_begin(&b.m, &b.st);
    assert_true(b.st.editing_order);
    plan_order_number(&b.m, &b.st, 3);
    plan_order_number(&b.m, &b.st, 1);
    plan_order_number(&b.m, &b.st, 3); /* again: it is in already */
    assert_int_equal(b.st.n_order, 2);
    assert_int_equal(plan_order_place(&b.st, 1, 0), 1);
    plan_order_tap(&b.st, 3, 0); /* tapped again: out, the others move up */
    assert_int_equal(plan_order_place(&b.st, 3, 0), -1);
    assert_int_equal(plan_order_place(&b.st, 1, 0), 0);
    assert_int_equal(b.record.visits[1].n_removal, 1);
    b.m.can_write = false;
    b.st.editing_order = false;
    plan_order_begin(&b.m, &b.st);
    assert_false(b.st.editing_order);
    record_release(&b.record);
}

static bool overlap(struct rect a, struct rect b)
{
    return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}

/* On large and small bores. */
static void no_mark_lies_on_a_gap(void **state)
{
    static const float widths[] = {840, 560, 330, 240};

    (void)state;
    for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++) {
        struct bench b;
        struct ui *ui = ui_create_without_fonts();
        struct actions out = {.n = 0};
        const struct ui_draw *d;
        size_t n, n_gaps = 0, n_marks = 0;

        set_up(&b);
        b.m.pressure = "kPa";
        b.record.engine.plug = (struct engine_plug_spec){.gap_min_mm = 0.7, .gap_max_mm = 0.8};
        for (int c = 0; c < 4; c++) {
            b.record.visits[1].readings[c].present = true;
            b.record.visits[1].readings[c].gap_mm = (struct maybe){true, c % 2 == 0 ? 1.12 : 0.95};
            reading_note(&b.record.visits[1].readings[c], SIGN_WELL_OIL, 3);
        }
        ui_begin(ui, 1280, 720, 0);
        plan_engine(ui, &b.m, &b.st, &out, (struct rect){100, 100, widths[w], 400});
        ui_end(ui);
        d = ui_draws(ui, &n);
        for (size_t i = 0; i < n; i++)
            n_marks += d[i].type == UI_DRAW_POLYGON;
        for (size_t i = 0; i < n; i++)
            for (size_t k = 0; k < n; k++)
                if (d[i].type == UI_DRAW_TEXT && (strcmp(d[i].text, "1.12") == 0 || strcmp(d[i].text, "0.95") == 0) && d[k].type == UI_DRAW_POLYGON) {
                    n_gaps++;
                    if (overlap(d[i].r, d[k].r))
                        fail_msg("%.0f px: a mark at %.0f %.0f %.0f %.0f lies on %s at %.0f %.0f %.0f %.0f", (double)widths[w], (double)d[k].r.x, (double)d[k].r.y, (double)d[k].r.w, (double)d[k].r.h, d[i].text, (double)d[i].r.x, (double)d[i].r.y, (double)d[i].r.w, (double)d[i].r.h);
                }
        assert_true(n_marks >= 4 && n_gaps >= 16);
        ui_destroy(ui);
        record_release(&b.record);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bore_shows_the_plug_cut_out_of_its_photo),
        cmocka_unit_test(photos_opens_with_the_chosen_plug),
        cmocka_unit_test(the_next_plug_is_in_hand_at_once),
        cmocka_unit_test(photos_of_the_tray_are_taken_up_in_turn),
        cmocka_unit_test(an_order_is_drawn_and_taken_back),
        cmocka_unit_test(no_mark_lies_on_a_gap),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
