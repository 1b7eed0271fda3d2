/* test_fonts.c - signs the typeface lacks are drawn by a font that has them, where fc-list (fontconfig's own tool, another
 * way to the same question) names one; a sign that no font has asks nobody twice. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <SDL_ttf.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "ui/ui.h"
#include "ui/ui_fonts.h"

static bool is_installed(uint32_t sign)
{
    char command[100], line[512];
    FILE *f;
    bool any;

    text_format(command, sizeof command, "fc-list ':charset=%x:scalable=true' file", sign);
    f = popen(command, "r");
    assert_non_null(f);
    any = fgets(line, sizeof line, f) != NULL;
    pclose(f);
    return any;
}

static void signs_come_from_a_font_that_has_them(void **state)
{
    static const char *const texts[] = {"Merrow 4.2 V8 · 1,234.5 km – “ok” ≈ ±", "日本製 V6", "V8 中文 und 한국어", "e\xCC\x81t\xC3\xA9", "\xF0\xAA\x9B\x96\xF4\x8F\xBF\xBD x"};
    struct err e = {0};
    struct fonts *f = fonts_create(&e);

    (void)state;
    assert_non_null(f);
    for (int round = 0; round < 2; round++) /* found, then known */
        for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
            for (const char *s = texts[i]; *s != '\0';) {
                const size_t n = fonts_run(f, 18, UI_SEMIBOLD, s, strlen(s)).n;
                struct _TTF_Font *font = fonts_face(f, 18, UI_SEMIBOLD, fonts_run(f, 18, UI_SEMIBOLD, s, strlen(s)).face);

                assert_true(n > 0 && n <= strlen(s) && font != NULL);
                for (size_t k = 0; k < n; k = text_next(s, k)) {
                    uint32_t sign = text_codepoint(s, k);

                    if (!TTF_GlyphIsProvided32(font, sign) && is_installed(sign) && !(sign >= 0x300 && sign <= 0x36F))
                        fail_msg("“%s”: U+%04X is drawn as a box", texts[i], sign);
                }
                s += n;
            }
    fonts_destroy(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(signs_come_from_a_font_that_has_them)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
