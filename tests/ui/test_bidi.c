/* test_bidi.c - the order words are seen in. Capitals stand for Hebrew letters, as in the examples of Unicode Standard
 * Annex 9 ("The Unicode Bidirectional Algorithm", section 3.4, rule L2), from which the rows marked UAX 9 are; < and > are a
 * right-to-left isolate there. The others are worked by hand from its rules. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "ui/ui_bidi.h"

/* As written here, in Unicode. */
static void spell(struct text *t, const char *s)
{
    for (; *s != '\0'; s++)
        if (*s >= 'A' && *s <= 'Z') {
            text_add_char(t, (char)0xD7);
            text_add_char(t, (char)(0x90 + *s - 'A'));
        } else if (*s == '<' || *s == '>') {
            text_add(t, *s == '<' ? "\xE2\x81\xA7" : "\xE2\x81\xA9");
        } else {
            text_add_char(t, *s);
        }
}

/* And back, one sign. */
static char letter(uint32_t sign)
{
    return sign >= 0x5D0 ? sign == 0x2067 ? '<' : sign == 0x2069 ? '>' : (char)('A' + (int)(sign - 0x5D0)) : (char)sign;
}

/* The signs from left to right. */
static bool seen(const char *unicode, char *to)
{
    struct arena *a = arena_create();
    struct bidi_line line = bidi_line(a, unicode, strlen(unicode));
    const bool rtl = line.rtl;

    for (size_t i = 0; i < line.n; i++) {
        const struct bidi_run *r = &line.runs[i];

        if (r->rtl)
            for (size_t at = r->at + r->n; at > r->at;) {
                at = text_prev(unicode, at);
                *to++ = letter(text_codepoint(unicode, at));
            }
        else
            for (size_t at = r->at; at < r->at + r->n; at = text_next(unicode, at))
                *to++ = letter(text_codepoint(unicode, at));
    }
    *to = '\0';
    arena_destroy(a);
    return rtl;
}

static void words_stand_in_the_order_the_standard_gives(void **state)
{
    static const struct {
        const char *typed, *seen;
        bool rtl;
    } rows[] = {
        {"", "", false},
        {"cleaned, 1.1 mm", "cleaned, 1.1 mm", false},
        {"car means CAR.", "car means RAC.", false},                       /* UAX 9 */
        {"<car MEANS CAR.>", "<.RAC SNAEM car>", false},                   /* UAX 9 */
        {"he said \"<car MEANS CAR>.\"", "he said \"<RAC SNAEM car>.\"", false}, /* UAX 9 */
        {"CAR MEANS car", "car SNAEM RAC", true},
        {"CAR!", "!RAC", true},
        {"PLUG 12", "12 GULP", true},                                      /* a number reads from the left, behind the word */
        {"plug CAR 12 dry", "plug 12 RAC dry", false},
        {"PLUG 1.1 mm NEW", "WEN mm 1.1 GULP", true},
        {"12 CAR", "RAC 12", true},                                        /* a number says no direction */
        {"CAR ", " RAC", true},
        {"car CAR ", "car RAC ", false},                                   /* L1: blanks at the end stand where the line ends */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct text t = {0};
        char got[100];

        spell(&t, rows[i].typed);
        assert_int_equal(seen(text_get(&t), got), rows[i].rtl);
        assert_string_equal(got, rows[i].seen);
        text_release(&t);
    }
}

static void every_byte_is_in_one_stretch(void **state)
{
    static const char *const texts[] = {"V8 \xD7\xA9\xD6\xB0\xD7\x9C (1.1) \xD8\xA7\xD9\x84 7", "\xF0\x9F\x94\xA7 ok", "\xD7", "\xD7\xA9\xFFx\xD7\xA9", "\xE2\x80\x8F" "abc"};
    struct arena *a = arena_create();

    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        const size_t n = strlen(texts[i]);
        struct bidi_line line = bidi_line(a, texts[i], n);
        unsigned char times[64] = {0};

        for (size_t k = 0; k < line.n; k++)
            for (size_t b = 0; b < line.runs[k].n; b++)
                times[line.runs[k].at + b]++;
        for (size_t b = 0; b < n; b++)
            assert_int_equal(times[b], 1);
    }
    arena_destroy(a);
}

/* Words set apart stay together over the end of a line. */
static void what_is_set_apart_goes_on_in_the_next_line(void **state)
{
    struct arena *a = arena_create();
    struct text t = {0}, own = {0};
    char apart[64], got[100];
    const char *s;
    size_t n_mark, at;

    (void)state;
    spell(&own, "AB 4 CD ef 5");
    text_addf(&t, "said: %s, x", text_apart(text_get(&own), apart, sizeof apart));
    s = text_get(&t);
    at = (size_t)(strstr(s, "\xD7\x92") - s); /* from the C on */
    seen(bidi_part(a, s, at, strlen(s) - at, &n_mark), got);
    assert_int_equal(n_mark, 6);
    assert_non_null(strstr(got, "ef 5 DC")); /* as it stands in its own line; in ours it would be DC ef 5 */
    assert_non_null(strstr(got, ", x"));
    text_release(&t);
    text_release(&own);
    arena_destroy(a);
}

/* A line of a wrapped note runs the way its note does. */
static void a_line_begins_as_its_paragraph(void **state)
{
    static const struct {
        const char *typed;
        size_t at, n; /* signs, of two bytes each where capital */
        const char *seen;
    } rows[] = {
        {"ABC abc XY", 7, 8, "\x01YX abc"},
        {"abc ABC de", 4, 9, "\x02" "CBA de"},
        {"ABC DEF", 7, 6, "FED"},       /* says the same itself */
        {"abc def", 4, 3, "def"},
        {"abc ABC\nXY", 4, 6, "\x02" "CBA"},
        {"ABC", 0, 6, "CBA"},
    };
    struct arena *a = arena_create();

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct text t = {0};
        size_t n_mark;
        char *part, got[100];

        spell(&t, rows[i].typed);
        part = bidi_part(a, text_get(&t), rows[i].at, rows[i].n, &n_mark);
        assert_int_equal(strlen(part), rows[i].n + n_mark);
        assert_memory_equal(part + n_mark, text_get(&t) + rows[i].at, rows[i].n);
        seen(part, got);
        if (rows[i].seen[0] == '\x01') { /* right to left: the mark is the line's first sign, at its right end */
            assert_string_equal(part + n_mark - 3, part);
            assert_memory_equal(part, "\xE2\x80\x8F", 3);
            assert_int_equal(strncmp(got, rows[i].seen + 1, strlen(rows[i].seen) - 1), 0);
        } else if (rows[i].seen[0] == '\x02') {
            assert_memory_equal(part, "\xE2\x80\x8E", 3);
            assert_string_equal(got + 1, rows[i].seen + 1);
        } else {
            assert_int_equal(n_mark, 0);
            assert_string_equal(got, rows[i].seen);
        }
        text_release(&t);
    }
    arena_destroy(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_stand_in_the_order_the_standard_gives),
        cmocka_unit_test(every_byte_is_in_one_stretch),
        cmocka_unit_test(a_line_begins_as_its_paragraph),
        cmocka_unit_test(what_is_set_apart_goes_on_in_the_next_line),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
