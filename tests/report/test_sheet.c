/* The line-up as one picture: what is on it where, and that nothing of the photos but their pixels is in the file.
 * Shapes in pixels against figures worked out by hand. */
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
#include "lineup/lineup_load.h"
#include "photo/photo.h"
#include "report/drawing.h"
#include "report/paint.h"
#include "report/report_pdf.h"
#include "report/sheet.h"
#include "../help/help.h"

static struct logbook *lb;
static struct record record;

/* A four with two visits: at the second a photo of plug 1 with its nose and grey patch, one of plug 2 with nothing
 * marked, plug 3 read with oil in its well, plug 4 not read. */
static int begin(void **state)
{
    char engine[UUID_BYTES], photo_path[64];
    struct err e = {0};

    make_folder(state);
    record_init(&record);
    engine_init(&record.engine);
    text_copy(record.engine.name, sizeof record.engine.name, "Reed");
    if (!engine_parse_banks(&record.engine, "1 2 3 4", &e) || !engine_parse_firing(&record.engine, "1 3 4 2", &e) || !engine_finish(&record.engine, &e))
        return -1;
    for (int v = 0; v < 2; v++) {
        struct visit *visit = record_add_visit(&record);

        text_copy(visit->date, sizeof visit->date, v ? "2026-06-14" : "2025-06-14");
        for (int c = 0; c < 3; c++) {
            struct reading *r = visit_reading(visit, &record.engine, c, 0);

            reading_init(r, c, 0);
            r->present = true;
            r->gap_mm = MAYBE(1.0 + 0.1 * v + 0.1 * c);
            if (c == 2 && v == 1)
                reading_note(r, SIGN_WELL_OIL, 3);
        }
    }
    if (!logbook_create(folder, &e) || (lb = logbook_open(folder, LOGBOOK_WRITE, &e)) == NULL || !logbook_begin(lb, "All", &e) ||
        !logbook_import_record(lb, &record, engine, &e))
        fail_msg("%s", e.text);
    record_release(&record);
    if (!logbook_commit(lb, &e) || !logbook_load_record(lb, engine, NULL, &record, &e) || !logbook_begin(lb, "Photos", &e))
        fail_msg("%s", e.text);
    for (int c = 0; c < 2; c++) {
        struct logbook_photo p = {.cylinder = c, .zone = ZONE_FIRING_END, .width = 1632, .height = 1224};
        struct csv marks = load_table("samples/photos/marks.csv");
        struct logbook_mark m;

        text_copy(photo_path, sizeof photo_path, c ? "samples/photos/v8-6-end.jpg" : "samples/photos/v8-2-end.jpg");
        assert_true(logbook_keep_original(folder, photo_path, &p, &e));
        text_copy(p.visit, sizeof p.visit, record.visits[1].id);
        logbook_photo_id(p.visit, p.sha256, p.id);
        assert_true(logbook_put_photo(lb, &p, &e));
        for (size_t i = 1; i < marks.n_rows && c == 0; i++)
            if (strcmp(csv_named(&marks, i, "file"), "v8-2-end.jpg") == 0) {
                logbook_mark_init(&m, p.id, strcmp(csv_named(&marks, i, "kind"), "patch") == 0 ? MARK_PATCH : MARK_NOSE);
                m.n_points = read_points(csv_named(&marks, i, "points"), m.x, m.y, MARK_MAX_POINTS);
                assert_true(logbook_put_mark(lb, &m, &e));
            }
        csv_release(&marks);
    }
    return logbook_commit(lb, &e) ? 0 : -1;
}

static int end(void **state)
{
    record_release(&record);
    logbook_close(lb);
    return drop_folder(state);
}

static void cells_say_how_each_plug_is_shown(void **state)
{
    struct arena *a = arena_create();
    struct lineup_cell *cells, *again;
    struct err e = {0};

    (void)state;
    assert_true(lineup_load(lb, &record, CROP_TIP, a, &cells, &e));
    for (int i = 0; i < 4; i++)
        assert_null(cells[i].jpeg); /* the first visit has no photos */
    assert_true(cells[4].jpeg != NULL && cells[4].to_scale && cells[4].light == LINEUP_CORRECTED);
    assert_true(cells[5].jpeg != NULL && !cells[5].to_scale);
    assert_true(cells[6].jpeg == NULL && cells[7].jpeg == NULL);
    assert_true(lineup_load(lb, &record, CROP_TIP, a, &again, &e)); /* now from the cache */
    assert_int_equal(again[4].n_jpeg, cells[4].n_jpeg);
    assert_memory_equal(again[4].jpeg, cells[4].jpeg, cells[4].n_jpeg);
    assert_true(again[4].to_scale && again[4].light == LINEUP_CORRECTED);
    assert_true(lineup_load(lb, &record, CROP_SIDE, a, &again, &e));
    for (int i = 0; i < 8; i++)
        assert_null(again[i].jpeg);
    arena_destroy(a);
}

/* The texts of the drawing, one after the other. */
static void texts(const struct drawing *d, struct text *t)
{
    for (size_t i = 0; i < d->n_shapes; i++)
        if (d->shapes[i].kind == DRAW_TEXT)
            text_addf(t, "%s|", d->shapes[i].text);
}

static void the_sheet_has_every_visit_in_the_order_asked_for(void **state)
{
    static const struct {
        struct sheet_ask ask;
        const char *holds, *lacks;
    } rows[] = {
        {{.view = CROP_TIP}, "|1|2|3|4|14 Jun 2026|", "Smaller: to scale"},
        {{.view = CROP_TIP}, "Of 2 photos 1 at one scale, 1 in one light by a grey patch. Smaller: not to scale.|", "Dashed"},
        {{.view = CROP_TIP, .firing = true}, "in firing order|1|3|4|2|", "by bank"},
        {{.view = CROP_SIDE}, "|no photo|1.10|no photo|1.20|", "Photos at one scale"},
        {{.view = CROP_TIP, .n_visits = 1}, "14 Jun 2026", "14 Jun 2025"},
        {{.view = CROP_TIP}, "3 of 4 read|1.10|1.20|1.30|oil|14 Jun 2025|", "1.40"},
        /* two visits laid over each other stand above the rest, with what changed */
        {{.view = CROP_TIP, .laid = {true, 1, 0, 50}}, "|1|2|3|4|14 Jun 2026|50 % of it over|14 Jun 2025|gap: the change|+0.10|+0.10|+0.10|14 Jun 2026|", "Smaller: to scale"},
        {{.view = CROP_TIP, .laid = {true, 1, 0, 0}}, "|1|2|3|4|14 Jun 2025|in turn with|14 Jun 2026|gap: the change|", "% of it"},
        {{.view = CROP_SIDE, .laid = {true, 1, 0, 50}}, "|14 Jun 2026|no side photos of it and|of 14 Jun 2025|", "% of it"},
        {{.view = CROP_TIP, .skip_visits = 1, .laid = {true, 1, 0, 50}}, "|14 Jun 2025|", "the change"}, /* on the first page alone */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct arena *a = arena_create();
        struct lineup_cell *cells;
        struct drawing d;
        struct text t = {0};
        struct err e = {0};

        assert_true(lineup_load(lb, &record, rows[i].ask.view, a, &cells, &e));
        sheet_draw(&record, cells, &rows[i].ask, a, &d);
        texts(&d, &t);
        if (strstr(text_get(&t), rows[i].holds) == NULL || strstr(text_get(&t), rows[i].lacks) != NULL)
            fail_msg("row %zu: %s", i, text_get(&t));
        for (size_t k = 0; k < d.n_shapes; k++) /* nothing is drawn outside */
            assert_true(d.shapes[k].x >= 0 && d.shapes[k].x <= d.width && d.shapes[k].y >= 0 && d.shapes[k].y <= d.height);
        text_release(&t);
        arena_destroy(a);
    }
}

/* With a new plug in 2 between the visits the difference of the gaps is no change of one. */
static void a_gap_does_not_change_over_a_renewal(void **state)
{
    const struct sheet_ask ask = {.view = CROP_TIP, .laid = {true, 1, 0, 50}};
    struct arena *a = arena_create();
    struct lineup_cell *cells;
    struct drawing d;
    struct text t = {0};
    struct err e = {0};

    (void)state;
    assert_true(lineup_load(lb, &record, ask.view, a, &cells, &e));
    assert_true(visit_parse_done(&record.engine, "replaced:plug:cylinder 2", &record.visits[0].done[0], &e));
    record.visits[0].n_done = 1;
    sheet_draw(&record, cells, &ask, a, &d);
    record.visits[0].n_done = 0;
    texts(&d, &t);
    assert_non_null(strstr(text_get(&t), "gap: the change|+0.10|other plug|+0.10|"));
    text_release(&t);
    arena_destroy(a);
}

/* A PNG of three chunks: size, pixels, end (PNG specification, third edition, 5.6). Neither Exif nor text nor time. */
static void the_file_holds_pixels_only(void **state)
{
    struct sheet_ask ask = {.view = CROP_TIP};
    struct photo_pixels px;
    uint8_t *png;
    size_t n_bytes, at = 8;
    char chunks[64] = "";
    struct err e = {0};

    (void)state;
    assert_true(sheet_png(lb, &record, &ask, &png, &n_bytes, &e));
    while (at + 12 <= n_bytes) {
        size_t length = (size_t)png[at] << 24 | (size_t)png[at + 1] << 16 | (size_t)png[at + 2] << 8 | png[at + 3];

        text_format(chunks + strlen(chunks), sizeof chunks - strlen(chunks), "%.4s ", (const char *)png + at + 4);
        at += 12 + length;
    }
    assert_string_equal(chunks, "IHDR IDAT IEND ");
    assert_true(photo_decode(png, n_bytes, 0, NULL, &px, NULL, &e));
    assert_true(px.width >= 1280 && px.height >= 600);
    assert_int_equal(px.rgba[1], 0x8a); /* the desk */
    photo_pixels_release(&px);
    free(png);
}

/* How much ink: the sum of what covers, against the area. */
static double ink(const struct photo_pixels *p)
{
    double sum = 0;

    for (int i = 0; i < p->width * p->height; i++)
        sum += (255 - p->rgba[4 * i]) / 255.0;
    return sum;
}

static void shapes_cover_as_much_as_they_are_large(void **state)
{
    static const uint8_t black[3] = {0, 0, 0};
    static const double triangle[] = {20, 20, 80, 20, 20, 80};
    struct photo_pixels p = {100, 100, mem_alloc(100 * 100, 4)};

    (void)state;
    for (int i = 0; i < 5; i++) {
        const double area[] = {2400, 3.14159265 * 30 * 30, 3.14159265 * 60 * 4 / 4, 1800, 60 * 3 + 3.14159265 * 1.5 * 1.5};

        memset(p.rgba, 255, 100 * 100 * 4);
        switch (i) {
        case 0: paint_box(&p, 10.5, 20.25, 60, 40, 0, black); break;
        case 1: paint_ring(&p, 50, 50, 15, 30, 0, 0, black); break;
        case 2: paint_ring(&p, 50, 50, 30, 4, 90, 180, black); break;
        case 3: paint_polygon(&p, triangle, 3, black); break;
        case 4: paint_line(&p, 20, 50, 80, 50, 3, black); break;
        }
        if (fabs(ink(&p) - area[i]) > 0.02 * area[i])
            fail_msg("shape %d: %.1f for %.1f", i, ink(&p), area[i]);
    }
    memset(p.rgba, 255, 100 * 100 * 4);
    paint_ring(&p, 50, 50, 30, 4, 90, 180, black); /* from three o'clock to six: right and below */
    assert_true(p.rgba[4 * (71 * 100 + 71)] < 60 && p.rgba[4 * (29 * 100 + 29)] == 255 && p.rgba[4 * (71 * 100 + 29)] == 255);
    memset(p.rgba, 255, 100 * 100 * 4);
    paint_box(&p, 10, 10, 80, 80, 40, black); /* all corner: a disc */
    assert_true(fabs(ink(&p) - 3.14159265 * 1600) < 60);
    paint_box(&p, -50, -50, 400, 400, 0, black); /* cut off at the edges */
    photo_pixels_release(&p);
}

/* What lies above shows by its share, as one picture: its own shapes do not shine through each other. */
static void what_is_laid_over_shows_by_its_share(void **state)
{
    struct arena *a = arena_create();
    struct drawing d = {.width = 60, .height = 40, .memory = a};
    struct photo_pixels px;
    struct err e = {0};

    (void)state;
    drawing_box(&d, 0, 0, 40, 40, 0, 0x000000);
    drawing_layer(&d, 0.25, 10, 0, 50, 40);
    drawing_box(&d, 10, 0, 50, 40, 0, 0x000000);
    drawing_box(&d, 10, 0, 50, 40, 0, 0xc8c8c8);
    drawing_layer_end(&d);
    assert_true(drawing_paint(&d, 1, &px, &e));
    assert_int_equal(px.rgba[4 * (20 * 60 + 5)], 0);
    assert_in_range(px.rgba[4 * (20 * 60 + 25)], 49, 51);   /* a quarter of 200 over black */
    assert_in_range(px.rgba[4 * (20 * 60 + 50)], 240, 242); /* a quarter of 200, the rest of the paper's 255 */
    photo_pixels_release(&px);
    arena_destroy(a);
}

static void a_drawing_that_would_be_too_large_is_refused(void **state)
{
    struct drawing d = {.width = 9000, .height = 9000};
    struct photo_pixels px;
    struct err e = {0};

    (void)state;
    assert_false(drawing_paint(&d, 2, &px, &e));
    assert_int_equal(e.code, ERR_LIMIT);
    assert_null(px.rgba);
}

static size_t count_in(const struct text *t, const char *what)
{
    size_t n = 0, k = strlen(what);

    for (size_t i = 0; i + k <= t->n_bytes; i++)
        n += memcmp(text_get(t) + i, what, k) == 0;
    return n;
}

/* On paper the four plugs of two visits lie on one page across; the visits that do not fit go on to the next. */
static void sheet_is_printed_on_as_many_pages_as_it_needs(void **state)
{
    static const struct {
        const char *paper, *box;
        int n_visits, n_asked;
        size_t n_pages;
        bool laid;
    } rows[] = {
        {"a4", "/MediaBox [ 0 0 841.889764 595.275591 ]", 2, 1, 1, false},  /* ISO 216: 297 by 210 mm, lying */
        {"letter", "/MediaBox [ 0 0 792 612 ]", 2, 1, 1, false},
        {"letter", "/MediaBox [ 0 0 612 792 ]", 2, 0, 1, false},            /* upright, where that takes fewer pages */
        {"a4", "/MediaBox [ 0 0 595.275591 841.889764 ]", 12, 0, 3, false}, /* four rows of 174 px fit below heads of 122 px */
        {"a4", "/MediaBox [ 0 0 595.275591 841.889764 ]", 12, 0, 4, true}, /* two laid over each other are a row more */
        {"a4", "/MediaBox [ 0 0 595.275591 841.889764 ]", 11, 0, 3, true},
    };
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sheet_ask ask = {.view = CROP_TIP, .n_visits = rows[i].n_asked, .laid = {rows[i].laid, 1, 0, 50}};
        struct record many;
        struct text pdf = {0};
        size_t n_pages = 0;

        record_share(&many, &record);
        while (many.n_visits < rows[i].n_visits) {
            struct visit *v = record_add_visit(&many);

            *v = many.visits[0];
        }
        assert_true(sheet_pdf(lb, &many, &ask, report_paper_find(rows[i].paper), &pdf, &e));
        n_pages = count_in(&pdf, "/Type /Page ");
        if (n_pages != rows[i].n_pages || count_in(&pdf, rows[i].box) == 0)
            fail_msg("%s, %d visits: %zu pages, the size %s stands %zu times", rows[i].paper, rows[i].n_visits, n_pages, rows[i].box, count_in(&pdf, rows[i].box));
        text_release(&pdf);
        record_release(&many);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(cells_say_how_each_plug_is_shown, begin, end),
        cmocka_unit_test_setup_teardown(the_sheet_has_every_visit_in_the_order_asked_for, begin, end),
        cmocka_unit_test_setup_teardown(a_gap_does_not_change_over_a_renewal, begin, end),
        cmocka_unit_test_setup_teardown(the_file_holds_pixels_only, begin, end),
        cmocka_unit_test_setup_teardown(sheet_is_printed_on_as_many_pages_as_it_needs, begin, end),
        cmocka_unit_test(shapes_cover_as_much_as_they_are_large),
        cmocka_unit_test(what_is_laid_over_shows_by_its_share),
        cmocka_unit_test(a_drawing_that_would_be_too_large_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
