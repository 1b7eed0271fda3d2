/* Text, numbers, CSV (RFC 4180), dates, ids and SHA-256 (vectors of FIPS 180-4 / NIST CSRC examples). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <glob.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"

static void sha256_gives_the_published_digests(void **state)
{
    char hex[65];

    (void)state;
    files_sha256_bytes("abc", 3, hex);
    assert_string_equal(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    files_sha256_bytes("", 0, hex);
    assert_string_equal(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    files_sha256_bytes("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 56, hex);
    assert_string_equal(hex, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

static void utf8_is_told_from_other_bytes(void **state)
{
    /* RFC 3629: no overlong forms, no surrogates, nothing above U+10FFFF */
    static const struct {
        const char *s;
        bool fine;
    } rows[] = {{"", true}, {"plug", true}, {"\xC3\xA9", true}, {"\xE2\x82\xAC", true}, {"\xF0\x9F\x94\xA7", true},
                {"\xC0\x80", false}, {"\xE0\x80\x80", false}, {"\xED\xA0\x80", false}, {"\xF4\x90\x80\x80", false},
                {"\x80", false}, {"\xC3", false}, {"\xFF", false}};
    char s[16] = "a\xC3\x01\xE2\x82\xAC";

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(text_is_utf8(rows[i].s, strlen(rows[i].s)), rows[i].fine);
    text_sanitize(s, sizeof s);
    assert_string_equal(s, "a\xEF\xBF\xBD\xE2\x82\xAC");
    assert_int_equal(text_count("e\xCC\x81\xE2\x82\xAC"), 3);
    assert_int_equal(text_codepoint("\xE2\x82\xAC", 0), 0x20AC);
}

static void cutting_keeps_whole_characters(void **state)
{
    char small[5];

    (void)state;
    assert_false(text_copy(small, sizeof small, "ab\xE2\x82\xAC"));
    assert_string_equal(small, "ab");
    assert_false(text_format(small, sizeof small, "abc%s", "\xC3\xA9z"));
    assert_string_equal(small, "abc");
    assert_true(text_format(small, sizeof small, "ab%s", "\xC3\xA9"));
    assert_string_equal(small, "ab\xC3\xA9");
}

static void numbers_read_and_print_without_a_locale(void **state)
{
    double v;
    long n;
    char s[32];

    (void)state;
    assert_true(text_to_double(" 1,25 ", &v));
    assert_true(v > 1.2499999 && v < 1.2500001);
    assert_false(text_to_double("1,2,3", &v));
    assert_false(text_to_double("0x10", &v));
    assert_false(text_to_double("inf", &v));
    assert_false(text_to_double("1 2", &v));
    assert_string_equal(text_read_grouped("97,655.5  mi", &v), "mi");
    assert_float_equal(v, 97655.5, 0.001);
    assert_string_equal(text_read_grouped("12", &v), "");
    assert_null(text_read_grouped(" 12", &v));
    assert_null(text_read_grouped("mi", &v));
    assert_null(text_read_grouped("1.2.3 mi", &v));
    {
        static const struct {
            const char *typed;
            double value; /* -1: no number */
            const char *rest;
        } rows[] = {
            {"61.234 mi", 61234, "mi"}, {"61,234 mi", 61234, "mi"}, {"61 234 mi", 61234, "mi"}, {"61'234", 61234, ""}, {"1.234.567 km", 1234567, "km"}, {"1,234,567", 1234567, ""},
            {"61.234,5 km", 61234.5, "km"}, {"61,234.5 km", 61234.5, "km"}, {"61 234,5 km", 61234.5, "km"}, {"97655,5", 97655.5, ""}, {"1234.5 h", 1234.5, "h"}, {"1234,567", 1234.567, ""},
            {"0.234", 0.234, ""}, {"61.23", 61.23, ""}, {"97655", 97655, ""}, {"12 mi", 12, "mi"}, {"12 34 mi", 12, "34 mi"}, {"1.234,567.8", -1, ""}, {"1,23.4", -1, ""}, {"1234,567.8", -1, ""}, {"1.2.345", -1, ""},
        };

        for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
            const char *rest = text_read_grouped(rows[i].typed, &v);

            if (rows[i].value < 0) {
                assert_null(rest);
                continue;
            }
            assert_non_null(rest);
            assert_string_equal(rest, rows[i].rest);
            assert_float_equal(v, rows[i].value, 1e-9);
        }
    }
    assert_true(text_to_long("-9223372036854775808", &n));
    assert_true(n == INT64_MIN);
    assert_false(text_to_long("9223372036854775808", &n));
    text_from_double(s, sizeof s, -0.004, 2);
    assert_string_equal(s, "0.00");
    text_from_double(s, sizeof s, 1.1, 2);
    assert_string_equal(s, "1.10");
    text_from_count(s, sizeof s, 1234567);
    assert_string_equal(s, "1,234,567");
    text_from_count(s, sizeof s, -97655);
    assert_string_equal(s, "-97,655");
}

static void csv_follows_rfc_4180(void **state)
{
    static const char table[] = "\xEF\xBB\xBF" "a,b,c\r\n1,\"two, \"\"2\"\"\",\"line\r\nbreak\"\r\n,,\r\nlast,row,\"\"";
    struct csv c;
    struct err e;
    struct text t = {0};

    (void)state;
    assert_true(csv_parse(table, sizeof table - 1, ',', &c, &e));
    assert_int_equal(c.n_rows, 4);
    assert_string_equal(csv_cell(&c, 1, csv_column(&c, "b")), "two, \"2\"");
    assert_string_equal(csv_cell(&c, 1, 2), "line\r\nbreak");
    assert_int_equal(c.n_cells[2], 3);
    assert_int_equal(c.line[3], 5);
    assert_string_equal(csv_cell(&c, 3, 2), "");
    csv_release(&c);
    assert_false(csv_parse("a,\"b", 4, ',', &c, &e));
    assert_non_null(strstr(e.text, "never closed"));
    assert_false(csv_parse("a,\"b\"c", 6, ',', &c, &e));
    csv_add_cell(&t, "=SUM(A1)", true, true);
    csv_add_cell(&t, "-1.5", true, false);
    csv_add_cell(&t, "@x", true, false);
    csv_add_cell(&t, "a\"b", true, false);
    csv_end_row(&t);
    assert_string_equal(text_get(&t), "\"'=SUM(A1)\",-1.5,\"'@x\",\"a\"\"b\"\r\n");
    text_release(&t);
}

static void dates_keep_to_the_calendar(void **state)
{
    int y, m, d;
    char s[32], a[UUID_BYTES], b[UUID_BYTES];

    (void)state;
    assert_true(clock_parse_date("2024-02-29", &y, &m, &d));
    assert_false(clock_parse_date("2026-02-29", &y, &m, &d));
    assert_false(clock_parse_date("1900-02-29", &y, &m, &d));
    assert_false(clock_parse_date("2026-13-01", &y, &m, &d));
    assert_false(clock_parse_date("2026-1-01", &y, &m, &d));
    assert_int_equal(clock_days(1970, 1, 1), 0);
    assert_int_equal(clock_days(2000, 3, 1), 11017); /* date -d 2000-03-01 +%s / 86400 (GNU coreutils) */
    assert_int_equal(clock_days(1969, 12, 31), -1);
    static const struct {
        const char *typed, *iso; /* "" refused */
    } dates[] = {{"2026-06-14", "2026-06-14"}, {" 2026-06-14 ", "2026-06-14"}, {"24 Nov 2026", "2026-11-24"}, {"4. november 2026", "2026-11-04"},
                 {"14 JUN 2026 ", "2026-06-14"}, {"29 Feb 2026", ""}, {"24 Nox 2026", ""}, {"24 N 2026", ""}, {"24 Nov 26", ""},
                 {"24 Nov 20266", ""}, {"24 Nov", ""}, {"", ""}, {"0 Jan 2026", ""}, {"yesterday", ""}, {"2026-06-1", ""}, {"24 Nov 2026 or so", ""}};

    for (size_t i = 0; i < sizeof dates / sizeof dates[0]; i++) {
        char iso[11] = "";
        bool fine = clock_read_date(dates[i].typed, iso);

        if (fine != (dates[i].iso[0] != '\0') || strcmp(iso, dates[i].iso) != 0)
            fail_msg("“%s” gave %d “%s”", dates[i].typed, fine, iso);
    }
    clock_date_words("2026-06-14", s, sizeof s);
    assert_string_equal(s, "14 Jun 2026");
    uuid_make(a);
    uuid_make(b);
    assert_true(uuid_is_valid(a) && uuid_is_valid(b) && strcmp(a, b) != 0);
    assert_int_equal(a[14], '7');
    uuid_from_parts(a, "reading", "v", "6", "");
    uuid_from_parts(b, "reading", "v", "6", "");
    assert_string_equal(a, b);
    assert_true(uuid_is_valid(a) && a[14] == '8');
}

static void files_are_replaced_whole(void **state)
{
    char folder[] = "/tmp/sootbook-test-XXXXXX", path[128], *data;
    size_t n;
    struct err e;
    struct files_list list;

    (void)state;
    assert_non_null(mkdtemp(folder));
    text_format(path, sizeof path, "%s/a10", folder);
    assert_true(files_write(path, "one", 3, &e));
    assert_true(files_write(path, "two!", 4, &e));
    assert_true(files_read(path, 100, &data, &n, &e));
    assert_int_equal(n, 4);
    assert_string_equal(data, "two!");
    free(data);
    assert_false(files_read(path, 3, &data, &n, &e));
    assert_int_equal(e.code, ERR_LIMIT);
    assert_false(files_read(folder, 100, &data, &n, &e));
    assert_non_null(strstr(e.text, "folder"));
    assert_false(files_write("/nowhere/at/all", "x", 1, &e));
    assert_non_null(strstr(e.text, "/nowhere/at/all"));
    text_format(path, sizeof path, "%s/a9", folder);
    assert_true(files_write(path, "", 0, &e));
    assert_true(files_list_load(folder, &list, &e));
    assert_int_equal(list.n_entries, 2); /* nothing left beside them */
    assert_string_equal(list.entries[0].name, "a9");
    files_list_release(&list);
    assert_true(files_remove(path, &e));
    text_format(path, sizeof path, "%s/a10", folder);
    assert_true(files_remove(path, &e));
    rmdir(folder);
}

static void arenas_hold_what_was_put_in(void **state)
{
    struct arena *a = arena_create();
    char *first = arena_text(a, "first"), *big;

    (void)state;
    big = arena_alloc(a, 100000, 1);
    memset(big, 7, 100000);
    for (int i = 0; i < 5000; i++)
        assert_string_equal(arena_format(a, "%d", i), arena_format(a, "%d", i));
    assert_string_equal(first, "first");
    assert_int_equal((uintptr_t)arena_alloc(a, 1, 1) % _Alignof(max_align_t), 0);
    assert_null(mem_try(SIZE_MAX / 2, 3));
    arena_reset(a);
    assert_string_equal(arena_text(a, "again"), "again");
    arena_destroy(a);
}

static void right_to_left_is_known(void **state)
{
    static const struct {
        const char *s;
        bool is;
    } rows[] = {{"", false}, {"gap 1.10 mm, ± 0.02 · größer", false}, {"רעש", true}, {"V8 محرك", true}, {"火花塞", false}, {"\xff\xfe", false}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(text_has_rtl(rows[i].s), rows[i].is);
}

static void words_are_set_apart_where_they_run_the_other_way(void **state)
{
    char to[32];
    const char *latin = "barn find", *hebrew = "רעש";

    (void)state;
    assert_ptr_equal(text_apart(latin, to, sizeof to), latin);
    assert_false(text_is_apart(latin));
    assert_string_equal(text_apart(hebrew, to, sizeof to), "\xE2\x81\xA8רעש\xE2\x81\xA9");
    assert_true(text_is_apart(to));
    assert_string_equal(text_apart(hebrew, to, 10), "\xE2\x81\xA8ר\xE2\x81\xA9"); /* cut at a whole letter, and ended */
}

static void words_are_put_for_others(void **state)
{
    char text[16] = "all of 3, of 3", full[8] = "abcdef";

    (void)state;
    text_put_for(text, sizeof text, "of 3", "of 5");
    assert_string_equal(text, "all of 5, of 3");
    text_put_for(text, sizeof text, "of 7", "of 8");
    assert_string_equal(text, "all of 5, of 3");
    text_put_for(full, sizeof full, "cd", "xyzzy");
    assert_string_equal(full, "abxyzzy");
}

/* What is too long ends in an ellipsis, behind a whole character. */
static void what_is_shortened_is_cut_by_characters(void **state)
{
    static const struct {
        const char *s;
        size_t n_most;
        const char *want;
    } rows[] = {{"", 3, ""}, {"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"äöü", 3, "äöü"}, {"äöüß", 3, "äö…"}, {"Überholung der Zündspulen", 12, "Überholung…"}, {"二〇二六年二月", 4, "二〇二…"}, {"𝄞𝄞𝄞", 2, "𝄞…"}, {"a", 1, "a"}, {"ab", 1, "…"}};
    char to[80], tight[8];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_string_equal(text_short(rows[i].s, rows[i].n_most, to, sizeof to), rows[i].want);
    assert_string_equal(text_short("äöüäöü", 5, tight, sizeof tight), "äö…"); /* no room for more: still whole */
    assert_string_equal(TEXT_SHORT("Marks copied to the next photo", 12), "Marks copie…");
    assert_int_equal(text_whole("aäöü", 4), 3);
    assert_int_equal(text_whole("aäöü", 7), 7);
}

/* What somebody wrote is cut by characters: no sentence of ours counts its bytes ("“%.30s”"), and those cut at a word's end ask for
 * whole ones. Each name here begins at another byte of its characters. */
static void no_sentence_cuts_a_name_by_bytes(void **state)
{
    static const char name[] = "aäöüßéèçñøåőűčžščřłśźżćńęąäöüßéèçñøåőűčžščřłśźżćńęą";
    struct unit_choice units = {0};
    glob_t files;

    (void)state;
    for (int skip = 0; skip < 2; skip++) {
        struct err e = {0};

        assert_false(unit_choice_parse(name + skip, &units, &e));
        if (!text_is_utf8(e.text, strlen(e.text)))
            fail_msg("cut in the middle of a character: %s", e.text);
    }
    assert_int_equal(glob("src/*/*.c", 0, NULL, &files), 0);
    for (size_t i = 0; i < files.gl_pathc; i++) {
        struct err e = {0};
        char *code;
        size_t n;

        assert_true(files_read(files.gl_pathv[i], 1 << 22, &code, &n, &e));
        for (const char *at = code; (at = strstr(at, "“%.")) != NULL; at += 4)
            if (at[strlen("“%.") + strspn(at + strlen("“%."), "0123456789")] == 's')
                fail_msg("%s: %.60s", files.gl_pathv[i], at);
        free(code);
    }
    globfree(&files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_shortened_is_cut_by_characters),
        cmocka_unit_test(sha256_gives_the_published_digests),
        cmocka_unit_test(utf8_is_told_from_other_bytes),
        cmocka_unit_test(cutting_keeps_whole_characters),
        cmocka_unit_test(no_sentence_cuts_a_name_by_bytes),
        cmocka_unit_test(numbers_read_and_print_without_a_locale),
        cmocka_unit_test(csv_follows_rfc_4180),
        cmocka_unit_test(dates_keep_to_the_calendar),
        cmocka_unit_test(files_are_replaced_whole),
        cmocka_unit_test(right_to_left_is_known),
        cmocka_unit_test(words_are_set_apart_where_they_run_the_other_way),
        cmocka_unit_test(arenas_hold_what_was_put_in),
        cmocka_unit_test(words_are_put_for_others),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
