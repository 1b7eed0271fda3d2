/* The fields an engine is written down in: what they hold becomes an engine, and an engine that is changed
 * there keeps all that was not touched. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "screen/engine_form.h"
#include "screen/engine_form_text.h"

/* As the logbook would keep it, to be compared. */
static void assert_same(const struct engine *a, const struct engine *b)
{
    char x[600], y[600];

    assert_string_equal(a->name, b->name);
    assert_string_equal(a->subtitle, b->subtitle);
    assert_true(a->layout == b->layout && a->strokes == b->strokes && a->ignition == b->ignition && a->access == b->access && a->head == b->head);
    engine_format_banks(a, x, sizeof x);
    engine_format_banks(b, y, sizeof y);
    assert_string_equal(x, y);
    engine_format_firing(a, x, sizeof x);
    engine_format_firing(b, y, sizeof y);
    assert_string_equal(x, y);
    engine_format_intervals(a, x, sizeof x);
    engine_format_intervals(b, y, sizeof y);
    assert_string_equal(x, y);
    assert_int_equal(a->coil_groups_given, b->coil_groups_given);
    engine_format_groups(a, a->coil_groups, a->n_coil_groups, x, sizeof x);
    engine_format_groups(b, b->coil_groups, b->n_coil_groups, y, sizeof y);
    assert_string_equal(x, y);
    engine_format_groups(a, a->mixture_groups, a->n_mixture_groups, x, sizeof x);
    engine_format_groups(b, b->mixture_groups, b->n_mixture_groups, y, sizeof y);
    assert_string_equal(x, y);
    assert_int_equal(a->breather_near, b->breather_near);
    assert_int_equal(a->fuel, b->fuel);
    assert_int_equal(a->n_positions, b->n_positions);
    for (int i = 0; i < a->n_positions; i++)
        assert_string_equal(a->position_names[i], b->position_names[i]);
    assert_string_equal(a->plug.thread, b->plug.thread);
    assert_string_equal(a->plug.type, b->plug.type);
    assert_true(a->plug.seat == b->plug.seat && a->plug.electrode == b->plug.electrode && a->plug.heat_given == b->plug.heat_given && a->plug.heat_steps == b->plug.heat_steps);
    assert_true(a->plug.gap_min_mm == b->plug.gap_min_mm && a->plug.gap_max_mm == b->plug.gap_max_mm && a->plug.gap_limit_mm == b->plug.gap_limit_mm);
    assert_true(a->plug.maker_torque_nm == b->plug.maker_torque_nm && a->plug.hex_mm == b->plug.hex_mm);
}

/* As it is when it is added: whole, and named. */
static bool read_form(const struct engine_form *f, struct engine *en, struct err *e)
{
    return engine_form_engine(f, en, e) && engine_form_named(f, e);
}

static void what_is_wrong_is_told_of_each_field(void **state)
{
    struct engine_form f = {0};
    struct engine_form_troubles t;

    (void)state;
    engine_form_begin(&f, false);
    text_copy(f.words[ENGINE_FORM_BANKS], sizeof f.words[0], "1 2 3 4");
    text_copy(f.words[ENGINE_FORM_FIRING], sizeof f.words[0], "1 3 4 2");
    engine_form_troubles(&f, &t);
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        assert_string_equal(t.words[i], "");
    text_copy(f.words[ENGINE_FORM_FIRING], sizeof f.words[0], "1 3 4 4");
    text_copy(f.words[ENGINE_FORM_INTERVALS], sizeof f.words[0], "nonsense");
    text_copy(f.words[ENGINE_FORM_MIXTURE], sizeof f.words[0], "1 9 / 2");
    text_copy(f.figures[ENGINE_FORM_GAP_MAX], ENGINE_FORM_FIGURE_BYTES, "wide");
    text_copy(f.figures[ENGINE_FORM_HEX], ENGINE_FORM_FIGURE_BYTES, "99");
    engine_form_troubles(&f, &t);
    assert_non_null(strstr(t.words[ENGINE_FORM_FIRING], "4"));
    assert_string_equal(t.words[ENGINE_FORM_INTERVALS], ""); /* it rests on the order */
    assert_non_null(strstr(t.words[ENGINE_FORM_MIXTURE], "9"));
    assert_non_null(strstr(t.figures[ENGINE_FORM_GAP_MAX], "wide"));
    assert_non_null(strstr(t.figures[ENGINE_FORM_HEX], "99"));
    assert_string_equal(t.figures[ENGINE_FORM_GAP_MIN], "");
    assert_string_equal(t.figures[ENGINE_FORM_TORQUE], "");
}

/* A radial has no front to rear; how its cylinders are numbered is said where they are written. */
static void the_numbering_says_how_the_layout_counts(void **state)
{
    struct engine_form f = {0};
    struct engine_form_troubles t;

    (void)state;
    engine_form_begin(&f, false);
    assert_non_null(strstr(engine_form_words_label(&f, ENGINE_FORM_BANKS), "front to rear"));
    f.layout = ENGINE_RADIAL;
    assert_string_equal(engine_form_words_label(&f, ENGINE_FORM_BANKS), "Clockwise from the top, seen from the front");
    assert_string_equal(engine_form_words_label(&f, ENGINE_FORM_FIRING), "Firing order");
    f.words[ENGINE_FORM_BANKS][0] = '\0';
    engine_form_troubles(&f, &t);
    assert_non_null(strstr(t.words[ENGINE_FORM_BANKS], "clockwise from the top"));
}

static void an_engine_comes_back_as_it_went_in(void **state)
{
    size_t n;
    const struct engine_preset *p = engine_presets(&n);
    struct engine_form form;
    struct engine en, back;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < n; i++)
        for (int inches = 0; inches < 2; inches++) {
            en = p[i].engine;
            text_copy(en.name, sizeof en.name, "Harrow");
            engine_form_fill(&form, &en, inches == 1);
            if (!read_form(&form, &back, &e))
                fail_msg("%s: %s", p[i].id, e.text);
            assert_same(&en, &back);
        }
}

/* Everything an engine can hold, with figures that neither unit shows in full. */
static void write_full(struct engine *en)
{
    struct err e = {0};

    engine_init(en);
    text_copy(en->name, sizeof en->name, "Tarn flat six");
    text_copy(en->subtitle, sizeof en->subtitle, "1968 tourer");
    en->layout = ENGINE_FLAT;
    en->ignition = ENGINE_SHARED_COIL;
    en->n_positions = 2;
    text_copy(en->position_names[0], sizeof en->position_names[0], "upper");
    text_copy(en->position_names[1], sizeof en->position_names[1], "lower");
    en->access = ENGINE_ACCESS_OPEN;
    en->fuel = ENGINE_PORT_INJECTION;
    en->head = ENGINE_HEAD_CAST_IRON;
    en->plug = (struct engine_plug_spec){.type = "Quill 18-K/3, resistor", .thread = "M18x1.5", .seat = ENGINE_SEAT_GASKET, .electrode = ENGINE_PLATINUM, .gap_min_mm = 0.4064, .gap_max_mm = 0.5334, .gap_limit_mm = 0.6096, .heat_given = true, .heat_steps = -1, .maker_torque_nm = 44.742, .hex_mm = 22.225};
    if (!engine_parse_banks(en, "left: 1 2 3 / right: 4 5 6", &e) || !engine_parse_firing(en, "1 6 2 4 3 5", &e) ||
        !engine_parse_groups(en, "1+5 2+6 3+4", en->coil_groups, &en->n_coil_groups, &e) || !engine_parse_groups(en, "1+2+3 4+5+6", en->mixture_groups, &en->n_mixture_groups, &e))
        fail_msg("%s", e.text);
    en->coil_groups_given = true;
    en->breather_near = 1u << engine_find_cylinder(en, "3") | 1u << engine_find_cylinder(en, "6");
    if (!engine_finish(en, &e))
        fail_msg("%s", e.text);
}

static void what_was_not_touched_stays(void **state)
{
    struct engine_form form;
    struct engine en, back;
    struct err e = {0};

    (void)state;
    write_full(&en);
    for (int inches = 0; inches < 2; inches++) {
        engine_form_fill(&form, &en, inches == 1);
        text_copy(form.subtitle, sizeof form.subtitle, "1968 tourer, rebuilt");
        if (!read_form(&form, &back, &e))
            fail_msg("%s", e.text);
        assert_string_equal(back.subtitle, "1968 tourer, rebuilt");
        text_copy(back.subtitle, sizeof back.subtitle, en.subtitle);
        assert_same(&en, &back);
    }
}

static void figures_are_read_in_the_units_that_are_set(void **state)
{
    static const struct {
        const char *typed;
        bool inches;
        double mm; /* inch 25.4 mm exactly; 0: refused */
    } gaps[] = {{"1.1", false, 1.1}, {"1,10", false, 1.1}, {"110", false, 1.1}, {"0.040", true, 1.016}, {"40", true, 1.016}, {"1.1 mm", true, 1.1}, {"0.040", false, 0}, {"wide", false, 0}};
    struct engine_form form = {0};
    struct engine en;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof gaps / sizeof gaps[0]; i++) {
        engine_form_begin(&form, gaps[i].inches);
        text_copy(form.name, sizeof form.name, "Harrow");
        text_copy(form.figures[ENGINE_FORM_GAP_MIN], sizeof form.figures[0], gaps[i].typed);
        assert_int_equal(read_form(&form, &en, &e), gaps[i].mm > 0);
        if (gaps[i].mm > 0)
            assert_float_equal(en.plug.gap_min_mm, gaps[i].mm, 1e-9);
        else
            assert_non_null(strstr(e.text, gaps[i].typed));
    }
}

/* A book in thousandths, a card in mm: 24 was kept as 0.24 mm, and every plug of 0.65 then was past it. The smallest gap of a
 * book that we know is 0.406 mm (aircraft magnetos, 0.016 in; a maintenance reference page), the smallest torque 7.86 N·m
 * (M8, assets/torque.csv). */
static void figures_that_no_book_has_are_asked_back(void **state)
{
    static const struct {
        enum engine_form_figure field;
        const char *typed;
        bool inches;
        const char *says; /* NULL: kept */
    } rows[] = {
        {ENGINE_FORM_GAP_MIN, "24", false, "Inches? Then “0.024 in” (0.61 mm); else “0.24 mm”"},
        {ENGINE_FORM_GAP_MAX, "28", false, "Inches? Then “0.028 in” (0.71 mm); else “0.28 mm”"},
        {ENGINE_FORM_GAP_LIMIT, "0.30", false, "if it is so, “0.30 mm”"},
        {ENGINE_FORM_GAP_MIN, "0.24 mm", false, NULL},
        {ENGINE_FORM_GAP_MIN, "0.024 in", false, NULL},
        {ENGINE_FORM_GAP_MIN, "0.40", false, NULL},
        {ENGINE_FORM_GAP_MIN, "60", false, NULL},
        {ENGINE_FORM_GAP_MIN, "0.016", true, NULL},
        {ENGINE_FORM_GAP_MIN, "24", true, NULL},
        {ENGINE_FORM_GAP_MIN, "0.010", true, "“0.010 in”"},
        {ENGINE_FORM_TORQUE, "2.8", false, "“2.8” would be 2.8 N·m"},
        {ENGINE_FORM_TORQUE, "2.8 N·m", false, NULL},
        {ENGINE_FORM_TORQUE, "2.8", true, "“2.8” would be 2.8 lbf·ft"},
        {ENGINE_FORM_TORQUE, "8", false, NULL},
        {ENGINE_FORM_TORQUE, "6", true, NULL},
    };
    struct engine_form form = {0};
    struct engine en;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        engine_form_begin(&form, rows[i].inches);
        text_copy(form.name, sizeof form.name, "Harrow");
        text_copy(form.figures[rows[i].field], sizeof form.figures[0], rows[i].typed);
        if (read_form(&form, &en, &e) != (rows[i].says == NULL))
            fail_msg("%s: %s", rows[i].typed, rows[i].says == NULL ? e.text : "kept");
        if (rows[i].says != NULL && strstr(e.text, rows[i].says) == NULL)
            fail_msg("“%s” does not say “%s”", e.text, rows[i].says);
    }
}

static void torque_and_hex_take_the_units_of_their_books(void **state)
{
    struct engine_form form = {0};
    struct engine en;
    struct err e = {0};

    (void)state;
    engine_form_begin(&form, false);
    text_copy(form.name, sizeof form.name, "Harrow");
    text_copy(form.figures[ENGINE_FORM_TORQUE], sizeof form.figures[0], "20 lbf·ft");
    text_copy(form.figures[ENGINE_FORM_HEX], sizeof form.figures[0], "13/16 in");
    if (!read_form(&form, &en, &e))
        fail_msg("%s", e.text);
    assert_true(fabs(en.plug.maker_torque_nm - 20 * 1.355818) < 1e-4); /* NIST SP 811, B.8: pound-force foot */
    assert_true(fabs(en.plug.hex_mm - 13.0 / 16 * 25.4) < 1e-9);
    /* torque goes with the length: a figure without its unit is lbf·ft where inches are set, and shown so again */
    engine_form_begin(&form, true);
    text_copy(form.name, sizeof form.name, "Harrow");
    text_copy(form.figures[ENGINE_FORM_TORQUE], sizeof form.figures[0], "20");
    if (!read_form(&form, &en, &e))
        fail_msg("%s", e.text);
    assert_true(fabs(en.plug.maker_torque_nm - 20 * 1.355818) < 1e-4);
    engine_form_fill(&form, &en, true);
    assert_string_equal(form.figures[ENGINE_FORM_TORQUE], "20.0");
    engine_form_fill(&form, &en, false);
    assert_string_equal(form.figures[ENGINE_FORM_TORQUE], "27.1");
}

/* What is wrong is told with the field's name in front and the way out behind. */
static void what_is_wrong_is_told_by_its_field(void **state)
{
    static const struct {
        enum engine_form_words field;
        const char *typed, *says;
    } wrong[] = {{ENGINE_FORM_COILS, "1+9", "Coils: there is no cylinder 9"},
                 {ENGINE_FORM_MIXTURE, "1 2 / 2 3", "Mixture: 2 stands in two groups"},
                 {ENGINE_FORM_BREATHER, "x", "Breather: there is no cylinder x"},
                 {ENGINE_FORM_POSITIONS, "upper", "upper"},
                 {ENGINE_FORM_FIRING, "1 3 4", "2 is missing"}};
    static const struct {
        enum engine_form_figure field;
        const char *typed;
    } odd[] = {{ENGINE_FORM_TORQUE, "400"}, {ENGINE_FORM_TORQUE, "tight"}, {ENGINE_FORM_HEX, "2"}, {ENGINE_FORM_HEX, "60"}, {ENGINE_FORM_HEAT, "12"}, {ENGINE_FORM_HEAT, "hot"}};
    struct engine_form form;
    struct engine en;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        engine_form_begin(&form, false);
        text_copy(form.name, sizeof form.name, "Harrow");
        form.ignition = ENGINE_SHARED_COIL;
        form.n_positions = 2;
        text_copy(form.words[wrong[i].field], sizeof form.words[0], wrong[i].typed);
        assert_false(read_form(&form, &en, &e));
        if (strstr(e.text, wrong[i].says) == NULL)
            fail_msg("“%s” does not say “%s”", e.text, wrong[i].says);
    }
    for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
        engine_form_begin(&form, false);
        text_copy(form.name, sizeof form.name, "Harrow");
        text_copy(form.figures[odd[i].field], sizeof form.figures[0], odd[i].typed);
        assert_false(read_form(&form, &en, &e));
        assert_non_null(strstr(e.text, odd[i].typed));
    }
    engine_form_begin(&form, false); /* only the name is missing: that is nothing wrong, and it can be drawn */
    assert_false(read_form(&form, &en, &e));
    assert_true(engine_form_engine(&form, &en, &e));
    assert_int_equal(en.n_cylinders, 4);
    text_copy(form.name, sizeof form.name, "  "); /* blanks are no name */
    assert_false(read_form(&form, &en, &e));
}

/* A slip in a figure or in what is said beside the numbering takes the drawing away from nobody. */
static void the_drawing_stays_while_the_numbering_fits(void **state)
{
    struct engine_form form;
    struct engine en;
    struct err e = {0};

    (void)state;
    engine_form_begin(&form, false);
    engine_form_take_preset(&form, engine_find_preset("i6"));
    text_copy(form.figures[ENGINE_FORM_GAP_MIN], ENGINE_FORM_FIGURE_BYTES, "1.30");
    text_copy(form.figures[ENGINE_FORM_GAP_MAX], ENGINE_FORM_FIGURE_BYTES, "1.00");
    assert_false(engine_form_engine(&form, &en, &e));
    assert_true(engine_form_drawing(&form, &en, &e));
    assert_int_equal(en.n_cylinders, 6);
    text_copy(form.words[ENGINE_FORM_MIXTURE], sizeof form.words[0], "1+2+9");
    assert_true(engine_form_drawing(&form, &en, &e));
    text_copy(form.words[ENGINE_FORM_FIRING], sizeof form.words[0], "1 5 3 6 2");
    assert_false(engine_form_drawing(&form, &en, &e));
    assert_true(e.text[0] != '\0');
}

/* A form that is being filled in goes into a text and comes back; what a text says that cannot be is not taken. */
static void a_form_comes_back_from_its_text(void **state)
{
    struct engine_form form = {0}, back = {0};
    struct text t = {0};

    (void)state;
    engine_form_begin(&form, true);
    text_copy(form.name, sizeof form.name, "Ember “V8”, 2nd");
    text_copy(form.subtitle, sizeof form.subtitle, "1998 saloon");
    text_copy(form.plug_type, sizeof form.plug_type, "Quill 18-K");
    text_copy(form.thread, sizeof form.thread, "M14x1.25");
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        text_format(form.words[i], sizeof form.words[0], "word %d, half", i);
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++)
        text_format(form.figures[i], sizeof form.figures[0], "0.04%d", i);
    form.layout = ENGINE_LAYOUT_COUNT - 1;
    form.ignition = ENGINE_MAGNETO;
    form.seat = ENGINE_SEAT_TAPER;
    form.electrode = ENGINE_IRIDIUM;
    form.access = ENGINE_ACCESS_OPEN;
    form.head = ENGINE_HEAD_CAST_IRON;
    form.fuel = ENGINE_DIRECT_INJECTION;
    form.strokes = 2;
    form.n_positions = 2;
    engine_form_format(&form, &t);
    assert_true(t.n_bytes < ENGINE_FORM_TEXT_BYTES);
    engine_form_begin(&back, false);
    assert_true(engine_form_parse(text_get(&t), &back));
    assert_true(engine_form_same(&form, &back));
    assert_true(back.inches);
    assert_false(engine_form_parse("something else\n", &back));
    assert_true(engine_form_same(&form, &back)); /* as it was */
    assert_true(engine_form_parse("engine form 1\nseat\t77\nlayout\t-1\nstrokes\t9\npositions\t0\nno such\tx\nname\tHarrow\nlone line", &back));
    assert_true(back.seat == form.seat && back.layout == form.layout && back.strokes == 2 && back.n_positions == 2);
    assert_string_equal(back.name, "Harrow");
    assert_string_equal(back.words[0], "");
    text_release(&t);
}

/* An aircraft's flat four has magnetos and two plugs a cylinder, in the open; the next one picked has them no more. */
static void a_layout_sets_what_it_always_has(void **state)
{
    struct engine_form f = {0};
    struct engine en;
    struct err e = {0};

    (void)state;
    engine_form_begin(&f, false);
    engine_form_take_preset(&f, engine_find_preset("f4-air"));
    assert_true(engine_form_is_preset(&f, engine_find_preset("f4-air")));
    assert_true(engine_form_engine(&f, &en, &e));
    assert_true(en.n_positions == 2 && en.ignition == ENGINE_MAGNETO && en.access == ENGINE_ACCESS_OPEN);
    assert_string_equal(en.position_names[1], "bottom");
    f.access = ENGINE_ACCESS_WELL; /* said by hand: it stays */
    engine_form_take_preset(&f, engine_find_preset("i4"));
    assert_true(engine_form_engine(&f, &en, &e));
    assert_true(en.n_positions == 1 && en.ignition == ENGINE_IGNITION_UNKNOWN && en.access == ENGINE_ACCESS_WELL);
}

/* A ready-made one is marked as long as the form stands as it does, also when it was changed by hand into it. */
static void changed_by_hand_into_another_one_it_is_marked(void **state)
{
    struct engine_form f = {0};
    const struct engine_preset *all;
    size_t n;

    (void)state;
    engine_form_begin(&f, false);
    engine_form_take_preset(&f, engine_find_preset("single-4"));
    f.strokes = 2;
    assert_false(engine_form_is_preset(&f, engine_find_preset("single-4")));
    assert_true(engine_form_is_preset(&f, engine_find_preset("single-2")));
    f.strokes = 4;
    assert_true(engine_form_is_preset(&f, engine_find_preset("single-4")));
    all = engine_presets(&n);
    for (size_t i = 0; i < n; i++) { /* the one that was taken, and no other like it */
        int n_marked = 0;

        engine_form_take_preset(&f, &all[i]);
        for (size_t k = 0; k < n; k++)
            n_marked += engine_form_is_preset(&f, &all[k]);
        if (n_marked != 1 || !engine_form_is_preset(&f, &all[i]))
            fail_msg("%s: %d marked", all[i].id, n_marked);
    }
    text_copy(f.words[ENGINE_FORM_FIRING], sizeof f.words[0], "1 2");
    for (size_t k = 0; k < n; k++)
        assert_false(engine_form_is_preset(&f, &all[k]));
}

/* F8 while the form is open. */
static void units_change_under_an_open_form(void **state)
{
    struct engine_form f = {0};
    struct engine en, back;
    struct err e = {0};

    (void)state;
    engine_form_begin(&f, false);
    text_copy(f.name, sizeof f.name, "Wren");
    text_copy(f.figures[ENGINE_FORM_GAP_MIN], ENGINE_FORM_FIGURE_BYTES, "1,1");
    text_copy(f.figures[ENGINE_FORM_GAP_MAX], ENGINE_FORM_FIGURE_BYTES, "wide");
    text_copy(f.figures[ENGINE_FORM_TORQUE], ENGINE_FORM_FIGURE_BYTES, "28");
    engine_form_set_inches(&f, true);
    assert_string_equal(f.figures[ENGINE_FORM_GAP_MIN], "0.043"); /* 1.1 / 25.4 */
    assert_string_equal(f.figures[ENGINE_FORM_GAP_MAX], "wide");  /* to be put right, not dropped */
    assert_string_equal(f.figures[ENGINE_FORM_GAP_LIMIT], "");
    assert_string_equal(f.figures[ENGINE_FORM_TORQUE], "20.7");   /* 28 / 1.3558 */
    f.figures[ENGINE_FORM_GAP_MAX][0] = '\0';
    /* of an engine that is changed the figures nobody touched stay its own, however often */
    assert_true(engine_form_engine(&f, &en, &e));
    en.plug.gap_min_mm = 0.731;
    en.plug.maker_torque_nm = 27.3;
    engine_form_fill(&f, &en, false);
    engine_form_set_inches(&f, true);
    engine_form_set_inches(&f, false);
    assert_string_equal(f.figures[ENGINE_FORM_GAP_MIN], "0.73");
    assert_true(engine_form_engine(&f, &back, &e));
    assert_true(fabs(back.plug.gap_min_mm - 0.731) < 1e-9 && fabs(back.plug.maker_torque_nm - 27.3) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_numbering_says_how_the_layout_counts),
        cmocka_unit_test(the_drawing_stays_while_the_numbering_fits), cmocka_unit_test(an_engine_comes_back_as_it_went_in),
        cmocka_unit_test(what_is_wrong_is_told_of_each_field),
        cmocka_unit_test(what_was_not_touched_stays),
        cmocka_unit_test(figures_are_read_in_the_units_that_are_set),
        cmocka_unit_test(a_layout_sets_what_it_always_has),
        cmocka_unit_test(changed_by_hand_into_another_one_it_is_marked), cmocka_unit_test(units_change_under_an_open_form),
        cmocka_unit_test(figures_that_no_book_has_are_asked_back),
        cmocka_unit_test(torque_and_hex_take_the_units_of_their_books),
        cmocka_unit_test(a_form_comes_back_from_its_text),
        cmocka_unit_test(what_is_wrong_is_told_by_its_field),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
