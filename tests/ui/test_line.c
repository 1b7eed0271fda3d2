/* test_line.c - a line as pixels: words that run from right to left stand where they are read, letters join, and no sign is
 * a box. Compared with what the same faces draw of one letter or word alone; where the machine has no such face (fc-list,
 * fontconfig's own tool, says) there is nothing to compare. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <SDL.h>
#include <SDL_ttf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "ui/ui.h"
#include "ui/ui_fonts.h"
#include "ui/ui_line.h"

#define SIZE 24

static struct fonts *fonts;
static struct arena *work;

static int begin(void **state)
{
    struct err e = {0};

    (void)state;
    fonts = fonts_create(&e);
    work = arena_create();
    return fonts != NULL ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    fonts_destroy(fonts);
    arena_destroy(work);
    return 0;
}

static bool is_installed(const char *sign)
{
    char command[100], line[512];
    FILE *f;
    bool any;

    text_format(command, sizeof command, "fc-list ':charset=%x:scalable=true' file", text_codepoint(sign, 0));
    f = popen(command, "r");
    assert_non_null(f);
    any = fgets(line, sizeof line, f) != NULL;
    pclose(f);
    return any;
}

static SDL_Surface *draw(const char *s)
{
    SDL_Surface *surface = line_surface(fonts, work, s, SIZE, UI_REGULAR, false);

    assert_non_null(surface);
    return surface;
}

static int alpha(const SDL_Surface *s, int x, int y)
{
    return (int)(((const uint32_t *)(const void *)((const uint8_t *)s->pixels + y * s->pitch))[x] >> 24);
}

static bool inked(const SDL_Surface *s, int x)
{
    for (int y = 0; y < s->h; y++)
        if (alpha(s, x, y) > 0)
            return true;
    return false;
}

/* What is inked of the part, blank columns cut off at both sides, stands at the line's left or right end the same. */
static bool ends_with(const char *line, const char *part, bool right)
{
    SDL_Surface *all = draw(line), *one = draw(part);
    int a0 = 0, a1 = all->w - 1, o0 = 0, o1 = one->w - 1;
    bool same = true;

    while (a0 < a1 && !inked(all, a0))
        a0++;
    while (a1 > a0 && !inked(all, a1))
        a1--;
    while (o0 < o1 && !inked(one, o0))
        o0++;
    while (o1 > o0 && !inked(one, o1))
        o1--;
    assert_true(o1 > o0 && a1 - a0 >= o1 - o0);
    /* the last column may touch a neighbour: all but two are compared */
    for (int i = 0; i <= o1 - o0 - 2; i++)
        for (int y = 0; y < all->h; y++) {
            const int there = right ? alpha(all, a1 - i, y) : alpha(all, a0 + i, y);
            const int here = y < one->h ? right ? alpha(one, o1 - i, y) : alpha(one, o0 + i, y) : 0;

            same = same && abs(there - here) <= 2;
        }
    SDL_FreeSurface(all);
    SDL_FreeSurface(one);
    return same;
}

#define SHALOM "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D" /* shin lamed vav mem */
#define SHIN "\xD7\xA9"
#define MEM "\xD7\x9D"
#define BEH "\xD8\xA8"

static void hebrew_is_read_from_the_right(void **state)
{
    (void)state;
    if (!is_installed(SHIN))
        skip();
    assert_true(ends_with(SHALOM, SHIN, true));
    assert_true(ends_with(SHALOM, MEM, false));
    assert_false(ends_with(SHALOM, SHIN, false));
    /* a line that begins in Hebrew begins at the right, one that begins in Latin at the left */
    assert_true(ends_with(SHALOM " V8", "V8", false));
    assert_true(ends_with(SHALOM " V8", SHIN, true));
    assert_true(ends_with("V8 " SHALOM, "V8", false));
    assert_true(ends_with("V8 " SHALOM, SHIN, true));
    assert_true(ends_with("V8 " SHALOM " V", "V", true));
    /* a number keeps its order, and stands behind the word */
    assert_true(ends_with(SHALOM " 1.25", "1.25", false));
    /* brackets open towards what they hold */
    assert_true(ends_with("(" SHALOM ")", ")", true));
    assert_true(ends_with("(" SHALOM ")", "(", false));
}

static void arabic_letters_join(void **state)
{
    int one, three;

    (void)state;
    if (!is_installed(BEH))
        skip();
    one = line_width(fonts, work, BEH, SIZE, UI_REGULAR, false);
    three = line_width(fonts, work, BEH BEH BEH, SIZE, UI_REGULAR, false);
    assert_true(three < 3 * one * 9 / 10); /* beginning and middle forms are narrower than the one alone */
    SDL_Surface *joined = draw(BEH BEH BEH);
    int gaps = 0, last = joined->w - 1;

    while (last > 0 && !inked(joined, last))
        last--;
    for (int x = 1; x < last; x++)
        gaps += !inked(joined, x) && inked(joined, x - 1);
    assert_int_equal(gaps, 0); /* one stroke from end to end */
    SDL_FreeSurface(joined);
}

/* The fonts are as they were after a line from right to left. */
static void a_line_leaves_nothing_behind(void **state)
{
    SDL_Surface *before, *after;

    (void)state;
    before = draw("Merrow 4.2 (V8)");
    SDL_FreeSurface(draw(SHALOM " (V8) 12"));
    after = draw("Merrow 4.2 (V8)");
    assert_int_equal(before->w, after->w);
    assert_memory_equal(before->pixels, after->pixels, (size_t)before->pitch * (size_t)before->h);
    SDL_FreeSurface(before);
    SDL_FreeSurface(after);
}

static void a_sign_that_no_font_has_is_a_dot(void **state)
{
    static const struct {
        const char *typed, *drawn;
    } rows[] = {
        {"plug \xF4\x8F\xBF\xBD new", "plug \xE2\x80\xA2 new"},              /* U+10FFFD, nobody's */
        {"plug \xF4\x8F\xBF\xBD\xF0\x9F\x8F\xBD new", "plug \xE2\x80\xA2 new"}, /* and a skin that goes with it */
        {"plug 1\xEF\xB8\x8F new", "plug 1 new"},                            /* U+FE0F: as a picture, which a figure is not */
        {"a\xE2\x80\x8F" "b", "ab"},                                         /* marks of direction have no shape */
        {"\xE2\x81\xA8plug\xE2\x81\xA9 4", "plug 4"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        /* both laid in pieces; one that is parted may lose the kerning of two letters */
        const int typed = line_width(fonts, work, rows[i].typed, SIZE, UI_REGULAR, true), drawn = line_width(fonts, work, rows[i].drawn, SIZE, UI_REGULAR, true);

        if (abs(typed - drawn) > 1)
            fail_msg("“%s” is %d px wide, “%s” %d", rows[i].typed, typed, rows[i].drawn, drawn);
    }
    if (!is_installed("\xF0\x9F\x87\xA9")) /* a flag: two letters, U+1F1E9 U+1F1EA */
        assert_true(ends_with("\xF0\x9F\x87\xA9\xF0\x9F\x87\xAA", "DE", true));
}

/* What is measured is what is drawn, also in figures at equal advance. */
static void a_line_is_as_wide_as_measured(void **state)
{
    static const char *const texts[] = {"Merrow 4.2 V8", SHALOM " V8 12", "1,234.5 km", "\xF0\x9F\x94\xA7 new", "\xD8\xA7\xD9\x84\xD8\xB9 1.25 mm", "e\xCC\x81t\xC3\xA9 \xE2\x89\x88 \xE4\xB8\xAD"};

    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        for (int tabular = 0; tabular < 2; tabular++) {
            SDL_Surface *s = line_surface(fonts, work, texts[i], SIZE, UI_REGULAR, tabular != 0);

            assert_non_null(s);
            assert_int_equal(s->w, line_width(fonts, work, texts[i], SIZE, UI_REGULAR, tabular != 0));
            SDL_FreeSurface(s);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hebrew_is_read_from_the_right),
        cmocka_unit_test(arabic_letters_join),
        cmocka_unit_test(a_line_leaves_nothing_behind),
        cmocka_unit_test(a_sign_that_no_font_has_is_a_dot),
        cmocka_unit_test(a_line_is_as_wide_as_measured),
    };

    return cmocka_run_group_tests(tests, begin, end);
}
