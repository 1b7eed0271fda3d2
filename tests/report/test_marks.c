/* Marks as others open them: shapes against the marks they come from, the JSON against what the W3C's model
 * asks for, pixels where lines must and must not be. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "photo/photo.h"
#include "report/report_marks.h"
#include "report/report_marks_work.h"
#include "../help/help.h"

static struct report_mark mark_of(enum mark_kind kind, const double *xy, int n, const char *words)
{
    struct report_mark m;

    memset(&m, 0, sizeof m);
    logbook_mark_init(&m.mark, "p", kind);
    m.mark.n_points = n;
    for (int i = 0; i < n; i++) {
        m.mark.x[i] = xy[2 * i];
        m.mark.y[i] = xy[2 * i + 1];
    }
    text_copy(m.words, sizeof m.words, words);
    return m;
}

static struct photo_pixels grey(int w, int h)
{
    struct photo_pixels p = {w, h, mem_alloc((size_t)w * (size_t)h, 4)};

    memset(p.rgba, 128, (size_t)w * (size_t)h * 4);
    return p;
}

static const uint8_t *at(const struct photo_pixels *p, int x, int y)
{
    return p->rgba + ((size_t)y * (size_t)p->width + (size_t)x) * 4;
}

/* Required by the Web Annotation Data Model: @context, id, type, target (3.1); selectors (4.2). */
static void annotations_hold_what_the_model_asks_for(void **state)
{
    static const double box[] = {300, 200, 100, 50}, tri[] = {10, 10, 50, 10, 30, 40}, pin[] = {5, 6};
    struct report_mark m[3] = {mark_of(MARK_BOX, box, 2, "oil & \"dirt\" <here>"), mark_of(MARK_NOSE, tri, 3, ""), mark_of(MARK_PIN, pin, 1, "ä")};
    struct text t = {0};
    cJSON *page, *item;
    int n = 0;

    (void)state;
    report_marks_json(m, 3, "abc", &t);
    page = cJSON_Parse(text_get(&t));
    assert_non_null(page);
    assert_string_equal(cJSON_GetObjectItem(page, "@context")->valuestring, "http://www.w3.org/ns/anno.jsonld");
    assert_string_equal(cJSON_GetObjectItem(page, "type")->valuestring, "AnnotationPage");
    cJSON_ArrayForEach(item, cJSON_GetObjectItem(page, "items"))
    {
        const cJSON *target = cJSON_GetObjectItem(item, "target"), *selector = cJSON_GetObjectItem(target, "selector");
        char id[64];

        text_format(id, sizeof id, "urn:uuid:%s", m[n].mark.id);
        assert_string_equal(cJSON_GetObjectItem(item, "id")->valuestring, id);
        assert_string_equal(cJSON_GetObjectItem(item, "type")->valuestring, "Annotation");
        assert_string_equal(cJSON_GetObjectItem(target, "source")->valuestring, "urn:sha256:abc");
        if (n == 0) { /* the corners in any order: left, top, width, height */
            assert_string_equal(cJSON_GetObjectItem(selector, "type")->valuestring, "FragmentSelector");
            assert_string_equal(cJSON_GetObjectItem(selector, "value")->valuestring, "xywh=pixel:100,50,200,150");
            assert_string_equal(cJSON_GetObjectItem(cJSON_GetArrayItem(cJSON_GetObjectItem(item, "body"), 1), "value")->valuestring, "oil & \"dirt\" <here>");
        } else {
            assert_string_equal(cJSON_GetObjectItem(selector, "type")->valuestring, "SvgSelector");
        }
        if (n == 1)
            assert_non_null(strstr(cJSON_GetObjectItem(selector, "value")->valuestring, "M10.0 10.0L50.0 10.0L30.0 40.0L10.0 10.0"));
        n++;
    }
    assert_int_equal(n, 3);
    cJSON_Delete(page);
    text_release(&t);
}

static void svg_escapes_what_people_write(void **state)
{
    static const double pin[] = {50, 60};
    struct report_mark m = mark_of(MARK_PIN, pin, 1, "a < b & \"c\"");
    struct text t = {0};

    (void)state;
    report_marks_svg(&m, 1, 400, 300, "../photos/\"x\".jpg", &t);
    assert_non_null(strstr(text_get(&t), "a &lt; b &amp; &quot;c&quot;"));
    assert_null(strstr(text_get(&t), "\"x\""));
    assert_non_null(strstr(text_get(&t), "viewBox=\"0 0 400 300\""));
    assert_true(text_ends(text_get(&t), "</svg>\n"));
    text_release(&t);
}

static bool is_on(const double box[4], double x0, double y0, double x1, double y1)
{
    for (int i = 0; i <= 1000; i++) {
        double x = x0 + (x1 - x0) * i / 1000, y = y0 + (y1 - y0) * i / 1000;

        if (x > box[0] && x < box[2] && y > box[1] && y < box[3])
            return true;
    }
    return false;
}

/* A side view as it is measured: thread, gap, an arrow and a nose close by, words on each. */
static void words_hide_neither_lines_nor_what_they_name(void **state)
{
    static const double thread[] = {400, 300, 640, 310}, gap[] = {760, 340, 784, 341}, arrow[] = {520, 180, 660, 330}, nose[] = {700, 300, 750, 290, 755, 380, 700, 370}, ruler[] = {400, 420, 800, 425};
    const struct report_mark m[] = {mark_of(MARK_SCALE, thread, 2, "10 threads · 12.50 mm"), mark_of(MARK_GAP, gap, 2, "gap 1.39 mm"), mark_of(MARK_ARROW, arrow, 2, "oil"), mark_of(MARK_NOSE, nose, 4, "nose L* 35 a* 6 b* 12"),
                                    mark_of(MARK_RULER, ruler, 2, "20.10 mm")};
    const int n = (int)(sizeof m / sizeof m[0]);
    double boxes[5][4];
    struct text t = {0};
    const char *at;
    int n_boxes = 0;

    (void)state;
    report_marks_svg(m, (size_t)n, 1200, 800, "p.jpg", &t);
    for (at = text_get(&t); n_boxes < 5 && (at = strstr(at, "<rect x=")) != NULL; at++) {
        double w, h, *b = boxes[n_boxes++];

        assert_int_equal(sscanf(at, "<rect x=\"%lf\" y=\"%lf\" width=\"%lf\" height=\"%lf\"", &b[0], &b[1], &w, &h), 4);
        b[2] = b[0] + w, b[3] = b[1] + h;
        assert_true(b[0] >= 0 && b[1] >= 0 && b[2] <= 1200 && b[3] <= 800);
    }
    assert_int_equal(n_boxes, n);
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < n; k++)
            for (int p = 0; p < m[k].mark.n_points; p++) {
                int q = (p + 1) % m[k].mark.n_points;

                if (is_on(boxes[i], m[k].mark.x[p], m[k].mark.y[p], m[k].mark.x[q], m[k].mark.y[q]))
                    fail_msg("“%s” on the line of “%s”", m[i].words, m[k].words);
            }
        for (int k = 0; k < i; k++)
            assert_false(boxes[i][0] < boxes[k][2] && boxes[k][0] < boxes[i][2] && boxes[i][1] < boxes[k][3] && boxes[k][1] < boxes[i][3]);
        assert_false(is_on(boxes[i], 700, 340, 840, 340) || is_on(boxes[i], 772, 290, 772, 390)); /* the firing end about the gap */
    }
    text_release(&t);
}

static void lines_are_drawn_where_the_mark_lies(void **state)
{
    static const double ruler[] = {20, 50.5, 180, 50.5};
    struct report_mark m = mark_of(MARK_RULER, ruler, 2, "");
    struct photo_pixels p = grey(200, 100);
    struct err e;

    (void)state;
    assert_true(report_marks_draw(&p, &m, 1, &e));
    assert_true(at(&p, 100, 50)[0] > 200 && at(&p, 100, 50)[2] < 90); /* yellow */
    assert_true(at(&p, 100, 30)[0] == 128 && at(&p, 5, 50)[0] == 128 && at(&p, 195, 50)[0] == 128);
    m.mark.x[0] = -500, m.mark.x[1] = 900, m.mark.y[0] = -300, m.mark.y[1] = 700; /* past every edge */
    assert_true(report_marks_draw(&p, &m, 1, &e));
    photo_pixels_release(&p);
}

/* A pixel and the mark on it stay together, four quarter turns are none. */
static void turning_takes_the_marks_along(void **state)
{
    static const double pin[] = {12.5, 3.5};
    struct report_mark m = mark_of(MARK_PIN, pin, 1, "");
    struct photo_pixels p = grey(40, 20);
    struct err e;

    (void)state;
    p.rgba[(3 * 40 + 12) * 4] = 255;
    for (int i = 0; i < 4; i++) {
        assert_true(report_marks_turn(&p, &m, 1, 1, &e));
        assert_int_equal(p.width, i % 2 ? 40 : 20);
        assert_int_equal(at(&p, (int)m.mark.x[0], (int)m.mark.y[0])[0], 255);
        if (i == 0) /* clockwise: what was up there is at the right now */
            assert_true(fabs(m.mark.x[0] - 16.5) < 1e-9 && fabs(m.mark.y[0] - 12.5) < 1e-9);
    }
    assert_true(fabs(m.mark.x[0] - 12.5) < 1e-9 && fabs(m.mark.y[0] - 3.5) < 1e-9);
    assert_true(report_marks_turn(&p, &m, 1, 3, &e) && report_marks_turn(&p, &m, 1, 2, &e) && report_marks_turn(&p, &m, 1, 3, &e));
    assert_true(fabs(m.mark.x[0] - 12.5) < 1e-9 && fabs(m.mark.y[0] - 3.5) < 1e-9);
    photo_pixels_release(&p);
}

/* Leaned and leaned back, a pixel and the mark on it stay together and the picture is whole; a box becomes an outline. */
static void leaning_takes_the_marks_along(void **state)
{
    static const double pin[] = {60.5, 40.5}, box[] = {20, 10, 50, 30};
    struct report_mark m[2] = {mark_of(MARK_PIN, pin, 1, ""), mark_of(MARK_BOX, box, 2, "")};
    struct photo_pixels p = grey(160, 100);
    struct err e;

    (void)state;
    for (int y = 37; y <= 44; y++)
        for (int x = 57; x <= 64; x++)
            p.rgba[(y * 160 + x) * 4] = 255;
    assert_true(report_marks_lean(&p, m, 2, 0, &e) && p.width == 160);
    assert_true(report_marks_lean(&p, m, 2, 30000, &e));
    assert_true(p.width == 189 && p.height == 167); /* 160 cos 30° + 100 sin 30°, 160 sin 30° + 100 cos 30° */
    assert_int_equal(at(&p, 0, 0)[0], 118);
    assert_true(at(&p, (int)m[0].mark.x[0], (int)m[0].mark.y[0])[0] > 250);
    /* from the middle (-19.5, -9.5): clockwise by 30° as seen */
    assert_true(fabs(m[0].mark.x[0] - (94.5 - 12.138)) < 0.01 && fabs(m[0].mark.y[0] - (83.5 - 17.977)) < 0.01);
    assert_true(m[1].mark.kind == MARK_POLYGON && m[1].mark.n_points == 4);
    assert_true(report_marks_lean(&p, m, 2, -30000, &e));
    assert_true(at(&p, (int)m[0].mark.x[0], (int)m[0].mark.y[0])[0] > 250);
    photo_pixels_release(&p);
}

/* The original carries EXIF with a camera and a place; the copy carries none of it. */
static void nothing_of_the_original_but_its_pixels_goes_out(void **state)
{
    static const double pin[] = {100, 100};
    static const char *const formats[] = {"jpg", "png"};
    struct report_mark m = mark_of(MARK_PIN, pin, 1, "here");

    (void)state;
    for (int f = 0; f < 2; f++) {
        struct logbook_photo photo = {.width = 300, .height = 200};
        struct photo_pixels p = grey(300, 200), back;
        struct photo_info info;
        char path[1400], *bytes;
        size_t n;
        struct err e;

        text_format(photo.name, sizeof photo.name, "plug.%s", formats[f]);
        text_copy(photo.format, sizeof photo.format, formats[f]);
        if (!report_marks_write(folder, &photo, &p, &m, 1, path, sizeof path, &e))
            fail_msg("%s", e.text);
        assert_true(files_read(path, 1 << 24, &bytes, &n, &e));
        assert_true(photo_decode((const uint8_t *)bytes, n, 0, NULL, &back, &info, &e));
        assert_true(back.width == 300 && back.height == 200);
        for (size_t i = 0; i + 4 < n; i++)
            assert_false(memcmp(bytes + i, "Exif", 4) == 0 || memcmp(bytes + i, "eXIf", 4) == 0 || memcmp(bytes + i, "tEXt", 4) == 0);
        photo_pixels_release(&back);
        photo_pixels_release(&p);
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(annotations_hold_what_the_model_asks_for),
        cmocka_unit_test(svg_escapes_what_people_write),
        cmocka_unit_test(words_hide_neither_lines_nor_what_they_name),
        cmocka_unit_test(lines_are_drawn_where_the_mark_lies),
        cmocka_unit_test(turning_takes_the_marks_along),
        cmocka_unit_test(leaning_takes_the_marks_along),
        cmocka_unit_test_setup_teardown(nothing_of_the_original_but_its_pixels_goes_out, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
