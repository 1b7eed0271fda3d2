/* The report on paper, read back with zlib alone: pages of the asked size, the title, bookmarks, the JPEG untouched,
 * and the words, through the table that maps glyphs back to characters (ISO 32000-1, 9.10.3). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "report/report.h"
#include "report/report_pdf.h"
#include "report_case.h"

static void print(const struct record *r, const struct findings *f, const struct report_picture *picture, const char *paper, struct text *out)
{
    struct report_visit visit = {.at = r->n_visits - 1, .findings = f, .pictures = picture, .n_pictures = picture != NULL};
    struct report_source source = {.record = r, .visits = &visit, .n_visits = 1};
    struct report_ask ask = {.n_visits = 1};
    struct arena *a = arena_create();
    struct err e = {.code = ERR_NONE};
    struct content c;

    content_make(&source, &ask, a, &c);
    if (!report_pdf(&c, report_paper_find(paper), out, &e))
        fail_msg("%s", e.text);
    arena_destroy(a);
}

static const char *find(const char *in, size_t n, const char *what, size_t n_what)
{
    for (size_t i = 0; i + n_what <= n; i++)
        if (memcmp(in + i, what, n_what) == 0)
            return in + i;
    return NULL;
}

static size_t count(const struct text *t, const char *what)
{
    size_t n = 0;

    for (const char *at = t->s; (at = find(at, (size_t)(t->s + t->n_bytes - at), what, strlen(what))) != NULL; at++)
        n++;
    return n;
}

/* All streams that are packed, unpacked one behind the other. */
static void unpack(const struct text *pdf, struct text *out)
{
    const char *end = pdf->s + pdf->n_bytes;

    for (const char *at = pdf->s; (at = find(at, (size_t)(end - at), "stream\n", 7)) != NULL; at += 7) {
        z_stream z = {.next_in = (Bytef *)(uintptr_t)(at + 7), .avail_in = (uInt)(end - at - 7)};
        unsigned char buffer[4096];
        int result;

        if (at[-1] == 'd' || inflateInit(&z) != Z_OK) /* "endstream" */
            continue;
        do {
            z.next_out = buffer;
            z.avail_out = sizeof buffer;
            result = inflate(&z, Z_NO_FLUSH);
            if (result != Z_OK && result != Z_STREAM_END)
                break;
            text_add_bytes(out, buffer, sizeof buffer - z.avail_out);
        } while (result == Z_OK);
        inflateEnd(&z);
        text_add(out, "\n");
    }
}

static void pages_have_size_title_and_bookmarks(void **state)
{
    static const struct {
        const char *paper, *box;
    } rows[] = {{"a4", "/MediaBox [ 0 0 595.27"}, {"letter", "/MediaBox [ 0 0 612 792 ]"}}; /* ISO 216: 210 by 297 mm; 8.5 by 11 in */
    struct record r;
    struct findings f;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct text pdf = {0};

        print(&r, &f, NULL, rows[i].paper, &pdf);
        assert_memory_equal(pdf.s, "%PDF-1.", 7);
        assert_non_null(find(pdf.s + pdf.n_bytes - 8, 8, "%%EOF", 5));
        if (count(&pdf, rows[i].box) == 0)
            fail_msg("%s: no page has %s", rows[i].paper, rows[i].box);
        assert_true(count(&pdf, "/Type /Page %") > 1);
        assert_int_equal(count(&pdf, "/MediaBox"), count(&pdf, "/Type /Page %"));
        assert_int_equal(count(&pdf, "(What stands out)"), 1); /* a bookmark */
        assert_int_equal(count(&pdf, ": spark plugs read)"), 1);
        text_release(&pdf);
    }
    assert_null(report_paper_find("foolscap"));
    findings_release(&f);
    record_release(&r);
}

/* A JPEG of one pixel, written by hand from ITU-T T.81; cairo looks at its head only. */
static const unsigned char jpeg[] = {0xFF, 0xD8, 0xFF, 0xC0, 0x00, 0x11, 0x08, 0x00, 0x03, 0x00, 0x04, 0x03, 0x01, 0x11, 0x00, 0x02, 0x11, 0x01, 0x03, 0x11, 0x01,
                                     0xFF, 0xDA, 0x00, 0x0C, 0x03, 0x01, 0x00, 0x02, 0x11, 0x03, 0x11, 0x00, 0x3F, 0x00, 0x2A, 0xFF, 0xD9};

static void photos_go_in_as_they_are(void **state)
{
    struct report_picture picture = {.cylinder = 2, .zone = -1, .fine = true, .name = "a.jpg", .taken = "", .jpeg = jpeg, .n_bytes = sizeof jpeg, .width = 4, .height = 3};
    struct record r;
    struct findings f;
    struct text pdf = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    print(&r, &f, &picture, "a4", &pdf);
    assert_int_equal(count(&pdf, "/DCTDecode"), 1);
    assert_non_null(find(pdf.s, pdf.n_bytes, (const char *)jpeg, sizeof jpeg));
    text_release(&pdf);
    findings_release(&f);
    record_release(&r);
}

/* Each letter of a title nothing else has must be found again in the maps from glyphs to characters. */
static void words_can_be_found_again(void **state)
{
    static const char *const letters[] = {"03A9", "0416"}; /* Ω, Ж */
    struct record r;
    struct findings f;
    struct text pdf = {0}, streams = {0};
    bool there;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    print(&r, &f, NULL, "a4", &pdf);
    unpack(&pdf, &streams);
    assert_true(count(&streams, "begincmap") > 0);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(count(&streams, letters[i]) + count(&streams, i == 0 ? "03a9" : "0416"), 0);
    text_clear(&pdf);
    text_clear(&streams);
    text_copy(r.engine.name, sizeof r.engine.name, "ΩЖ");
    print(&r, &f, NULL, "a4", &pdf);
    unpack(&pdf, &streams);
    for (size_t i = 0; i < 2; i++) {
        there = count(&streams, letters[i]) > 0 || count(&streams, i == 0 ? "03a9" : "0416") > 0;
        if (!there)
            fail_msg("U+%s cannot be found in the PDF", letters[i]);
    }
    text_release(&pdf);
    text_release(&streams);
    findings_release(&f);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pages_have_size_title_and_bookmarks),
        cmocka_unit_test(photos_go_in_as_they_are),
        cmocka_unit_test(words_can_be_found_again),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
