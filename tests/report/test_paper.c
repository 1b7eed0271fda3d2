/* A report laid out in a column, with a typeface whose letters are all half as wide as they are high: nothing lies
 * over anything else, nothing stands out of the column, nothing is lost. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "report/paper.h"
#include "report/report.h"
#include "report_case.h"

struct seen {
    double low, high, right; /* of what was drawn */
    size_t n_words;
};

static double width(void *ctx, const char *s, const struct paper_style *style)
{
    (void)ctx;
    return (double)text_count(s) * style->size_px / 2;
}

/* Breaks anywhere: as many letters in a line as fit. */
static double words(void *ctx, double x, double y, double w, const char *s, const struct paper_style *style, bool draw)
{
    struct seen *seen = ctx;
    double per = fmax(1, floor(w / (style->size_px / 2) + 1e-9)), n = ceil((double)text_count(s) / per), h = n * style->size_px * 1.4;

    if (draw && s[0] != '\0') {
        seen->low = fmin(seen->low, y);
        seen->high = fmax(seen->high, y + h);
        seen->right = fmax(seen->right, x + fmin(w, width(ctx, s, style)));
        seen->n_words++;
    }
    return s[0] != '\0' ? h : 0;
}

static void line_of_words(void *ctx, double x, double baseline, const char *s, const struct paper_style *style)
{
    struct seen *seen = ctx;

    (void)x, (void)s, (void)style;
    seen->high = fmax(seen->high, baseline);
    seen->n_words++;
}

static void box(void *ctx, double x, double y, double w, double h, double radius, uint32_t rgb)
{
    struct seen *seen = ctx;

    (void)radius, (void)rgb;
    seen->low = fmin(seen->low, y);
    seen->high = fmax(seen->high, y + h);
    seen->right = fmax(seen->right, x + w);
}

static void disc(void *ctx, double x, double y, double radius, uint32_t rgb)
{
    box(ctx, x - radius, y - radius, 2 * radius, 2 * radius, 0, rgb);
}

static void ring(void *ctx, double x, double y, double radius, double w, double from, double to, uint32_t rgb)
{
    (void)w, (void)from, (void)to;
    disc(ctx, x, y, radius, rgb);
}

static void line(void *ctx, double x0, double y0, double x1, double y1, double w, bool dashed, uint32_t rgb)
{
    (void)w, (void)dashed;
    box(ctx, fmin(x0, x1), fmin(y0, y1), fabs(x1 - x0), fabs(y1 - y0), 0, rgb);
}

static void polygon(void *ctx, const double *points, int n, uint32_t rgb)
{
    for (int i = 0; i < n; i++)
        box(ctx, points[2 * i], points[2 * i + 1], 0, 0, 0, rgb);
}

static void picture(void *ctx, double x, double y, double w, double h, const struct report_picture *p, bool as_disc)
{
    (void)p, (void)as_disc;
    box(ctx, x, y, w, h, 0, 0);
}

static void nothing_lies_over_anything_else(void **state)
{
    static const char *const cases[] = {REPORT_CASE, "tests/cases/k-r7-guides.json", "tests/cases/f4-lead.json", "tests/cases/single-healthy.json", "tests/cases/v8-gasket-and-rings.json"};
    static const double widths[] = {240, 400, 673, 900};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t k = 0; k < sizeof widths / sizeof widths[0]; k++) {
            struct arena *a = arena_create();
            struct report_picture pictures[7];
            const struct report_picture one = {.cylinder = 0, .zone = -1, .fine = true, .name = "a.jpg", .taken = "", .width = 640, .height = 480};
            struct record r;
            struct findings f;
            struct report_visit visit = {.pictures = pictures, .n_pictures = 7};
            struct report_source source = {.record = &r, .visits = &visit, .n_visits = 1};
            struct report_ask ask = {.n_visits = 1};
            struct seen seen = {0};
            struct paper_pen pen = {&seen, width, words, line_of_words, box, disc, ring, line, polygon, picture, NULL};
            struct content c;
            struct paper p;
            double end = 0;
            size_t n_photos = 0;

            for (size_t n = 0; n < 7; n++)
                pictures[n] = one;
            pictures[3].fine = false;
            load_case(cases[i], &r, &f);
            visit.findings = &f;
            visit.at = r.n_visits - 1;
            content_make(&source, &ask, a, &c);
            paper_lay(&pen, &c, widths[k], 0, a, &p);
            assert_true(p.n_pieces >= c.n_blocks);
            for (size_t n = 0; n < p.n_pieces; n++) {
                const struct paper_piece *piece = &p.pieces[n];

                assert_true(piece->height > 0);
                assert_true(piece->y >= end - 1e-9);
                end = piece->y + piece->height;
                seen = (struct seen){1e9, 0, 0, 0};
                paper_draw(&pen, &p, piece, 0, piece->y);
                assert_true(seen.n_words > 0);
                if (seen.low < piece->y - 1e-6 || seen.high > end + 1e-6 || seen.right > widths[k] + 1)
                    fail_msg("%s at %.0f px: piece %zu (%s) is drawn at %.1f to %.1f, %.1f wide, its place is %.1f to %.1f", cases[i], widths[k], n, piece->block->text, seen.low, seen.high, seen.right, piece->y, end);
                if (piece->block->kind == CONTENT_PHOTOS)
                    n_photos += piece->n;
            }
            assert_int_equal(n_photos, 7);
            assert_true(fabs(p.height - end) < 1e-9);
            findings_release(&f);
            record_release(&r);
            arena_destroy(a);
        }
}

/* A table that goes on finds its head again; a drawing higher than a page is made to fit. */
static void pages_can_be_made_of_it(void **state)
{
    struct arena *a = arena_create();
    struct record r;
    struct findings f;
    struct report_visit visit = {0};
    struct report_source source = {.record = &r, .visits = &visit, .n_visits = 1};
    struct report_ask ask = {.n_visits = 1};
    struct seen seen = {0};
    struct paper_pen pen = {&seen, width, words, line_of_words, box, disc, ring, line, polygon, picture, NULL};
    struct content c;
    struct paper p;
    size_t n_rows = 0;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    visit.findings = &f;
    visit.at = r.n_visits - 1;
    content_make(&source, &ask, a, &c);
    paper_lay(&pen, &c, 673, 200, a, &p);
    for (size_t n = 0; n < p.n_pieces; n++) {
        const struct paper_piece *head = paper_head_of(&p, n);

        if (p.pieces[n].block->kind == CONTENT_DRAWING)
            assert_true(p.pieces[n].height <= 200 && p.pieces[n].scale < 1);
        if (p.pieces[n].block->kind != CONTENT_TABLE || p.pieces[n].n == 0) {
            assert_null(head);
            continue;
        }
        n_rows++;
        assert_non_null(head);
        assert_ptr_equal(head->block, p.pieces[n].block);
        assert_int_equal(head->n, 0);
        assert_true(head->keep);
    }
    assert_true(n_rows >= 8);
    findings_release(&f);
    record_release(&r);
    arena_destroy(a);
}

/* A part began with its heading and one line at the foot of a page. */
static void a_heading_keeps_some_lines(void **state)
{
    struct paper_piece pieces[] = {{.height = 30, .keep = true}, {.height = 18}, {.height = 18, .before = 4}, {.height = 18, .before = 4}, {.height = 18, .before = 4}, /* a list */
                                   {.height = 30, .before = 20, .keep = true}, {.height = 18, .before = 4}, {.height = 400, .before = 8},                              /* a line, then a picture */
                                   {.height = 30, .before = 20, .keep = true}, {.height = 18, .before = 4}, {.height = 30, .before = 20, .keep = true}, {.height = 18}}; /* one line alone, twice */
    const struct paper p = {.pieces = pieces, .n_pieces = sizeof pieces / sizeof pieces[0]};

    (void)state;
    assert_true(paper_together(&p, 0) == 30 + 18 + 22 + 22);
    assert_true(paper_together(&p, 1) == 18); /* within the list a page may end */
    assert_true(paper_together(&p, 5) == 30 + 22);
    assert_true(paper_together(&p, 8) == 30 + 22);
    assert_true(paper_together(&p, 10) == 30 + 18);
}

/* "Line-up" and its note stood alone at the foot of a page, the picture on the next. */
static void a_heading_and_its_note_stay_with_the_picture(void **state)
{
    struct arena *a = arena_create();
    struct drawing d = {.width = 600, .height = 300};
    struct content_block blocks[] = {{.kind = CONTENT_HEADING, .depth = 2, .text = "Line-up"}, {.kind = CONTENT_TEXT, .text = "Cut out at one scale."}, {.kind = CONTENT_DRAWING, .drawing = &d, .text = ""},
                                     {.kind = CONTENT_TEXT, .text = "Not between them."}, {.kind = CONTENT_DRAWING, .drawing = &d, .text = ""}};
    struct content c = {.blocks = blocks, .n_blocks = sizeof blocks / sizeof blocks[0]};
    struct seen seen = {0};
    struct paper_pen pen = {&seen, width, words, line_of_words, box, disc, ring, line, polygon, picture, NULL};
    struct paper p;
    double whole;

    (void)state;
    paper_lay(&pen, &c, 600, 1000, a, &p);
    whole = p.pieces[0].height + p.pieces[1].before + p.pieces[1].height + p.pieces[2].before + 300;
    assert_true(fabs(paper_together(&p, 0) - whole) < 1e-9);
    assert_true(fabs(paper_together(&p, 3) - p.pieces[3].height) < 1e-9);
    /* made a little smaller it fills a page that would have stayed blank; not so small that it cannot be read */
    assert_false(paper_shrink(&p, 0, whole - 120));
    assert_true(fabs(p.pieces[2].scale - 1) < 1e-9);
    assert_true(paper_shrink(&p, 0, whole - 60));
    assert_true(fabs(p.pieces[2].scale - 0.8) < 1e-9 && fabs(paper_together(&p, 0) - (whole - 60)) < 1e-9);
    assert_false(paper_shrink(&p, 3, 10)); /* no picture */
    /* on a page that is too low for them as they are, all three fit */
    paper_lay(&pen, &c, 600, 250, a, &p);
    assert_true(paper_together(&p, 0) < 250 + 1e-6);
    arena_destroy(a);
}

/* "Tightening" and its sentence stood alone at the foot of a page, the table on the next. */
static void a_heading_and_its_sentence_stay_with_the_table(void **state)
{
    static const char *const heads[] = {"Plug", "Torque"};
    struct arena *a = arena_create();
    struct content_line cells[] = {{.text = "1"}, {.text = "25"}, {.text = "2"}, {.text = "25"}, {.text = "3"}, {.text = "25"}};
    struct content_block blocks[] = {{.kind = CONTENT_HEADING, .depth = 2, .text = "Tightening"}, {.kind = CONTENT_TEXT, .text = "Not by the maker's own figure, by a chart."},
                                     {.kind = CONTENT_TABLE, .heads = heads, .n_columns = 2, .lines = cells, .n_lines = 6, .text = ""}, {.kind = CONTENT_HEADING, .depth = 2, .text = "Marks"}};
    struct content c = {.blocks = blocks, .n_blocks = sizeof blocks / sizeof blocks[0]};
    struct seen seen = {0};
    struct paper_pen pen = {&seen, width, words, line_of_words, box, disc, ring, line, polygon, picture, NULL};
    struct paper p;
    double whole = 0;

    (void)state;
    paper_lay(&pen, &c, 600, 1000, a, &p);
    for (int i = 0; i < 4; i++) /* heading, sentence, the table's head, its first row */
        whole += p.pieces[i].height + (i > 0 ? p.pieces[i].before : 0);
    assert_true(paper_together(&p, 0) > whole - 1e-9);
    assert_true(paper_together(&p, 0) < whole + p.pieces[4].height + 1e-9); /* the rest may come on the next page */
    arena_destroy(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_heading_and_its_sentence_stay_with_the_table),
        cmocka_unit_test(nothing_lies_over_anything_else),
        cmocka_unit_test(pages_can_be_made_of_it),
        cmocka_unit_test(a_heading_keeps_some_lines),
        cmocka_unit_test(a_heading_and_its_note_stay_with_the_picture),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
