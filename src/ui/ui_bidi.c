#include "ui/ui_bidi.h"

#include <fribidi.h>
#include <hb.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

#define MARK_LTR "\xE2\x80\x8E" /* U+200E, U+200F */
#define MARK_RTL "\xE2\x80\x8F"
#define APART "\xE2\x81\xA8" /* U+2068, and what ends it */
#define APART_END "\xE2\x81\xA9"
#define MARK_BYTES 3

bool bidi_is_control(uint32_t sign)
{
    return sign == 0x200E || sign == 0x200F || sign == 0x061C || (sign >= 0x202A && sign <= 0x202E) || (sign >= 0x2066 && sign <= 0x2069);
}

bool bidi_clings(uint32_t sign)
{
    hb_unicode_general_category_t c;

    if (sign < 0x300)
        return false;
    c = hb_unicode_general_category(hb_unicode_funcs_get_default(), sign);
    return c == HB_UNICODE_GENERAL_CATEGORY_NON_SPACING_MARK || c == HB_UNICODE_GENERAL_CATEGORY_ENCLOSING_MARK ||
           c == HB_UNICODE_GENERAL_CATEGORY_SPACING_MARK || c == HB_UNICODE_GENERAL_CATEGORY_FORMAT || (sign >= 0x1F3FB && sign <= 0x1F3FF);
}

/* Nothing in it runs from right to left, nor asks to: as quick as looking at its bytes where all are ASCII. */
static bool is_plain(const char *s, size_t n_bytes)
{
    for (size_t i = 0; i < n_bytes; i++)
        if ((unsigned char)s[i] >= 0xD6) { /* U+0580 and up */
            uint32_t sign = text_codepoint(s, i);

            if (bidi_is_control(sign))
                return false;
            if (sign < 0x2000 ? sign >= 0x590 && sign < 0x900 : sign >= 0xFB1D) /* Hebrew to Arabic extended; presentation forms and all planes above */
                return false;
        }
    return true;
}

struct signs {
    FriBidiChar *signs;
    size_t *at; /* byte of each; one more: the end */
    FriBidiStrIndex n;
};

static struct signs signs_of(struct arena *a, const char *s, size_t n_bytes)
{
    struct signs g = {arena_alloc(a, n_bytes + 1, sizeof *g.signs), arena_alloc(a, n_bytes + 1, sizeof *g.at), 0};

    for (size_t i = 0; i < n_bytes && s[i] != '\0';) {
        size_t next = text_next(s, i);

        g.signs[g.n] = text_codepoint(s, i);
        g.at[g.n++] = i;
        i = next < n_bytes ? next : n_bytes;
    }
    g.at[g.n] = n_bytes;
    return g;
}

struct bidi_line bidi_line(struct arena *a, const char *s, size_t n_bytes)
{
    struct bidi_line line = {NULL, 0, false};
    struct bidi_run *runs;
    struct signs g;
    FriBidiCharType *types;
    FriBidiBracketType *brackets;
    FriBidiLevel *levels;
    FriBidiStrIndex *seen;
    FriBidiParType base = FRIBIDI_PAR_WLTR;

    if (n_bytes == 0)
        return line;
    if (is_plain(s, n_bytes)) {
        runs = arena_alloc(a, 1, sizeof *runs);
        runs[0] = (struct bidi_run){0, n_bytes, false};
        return (struct bidi_line){runs, 1, false};
    }
    g = signs_of(a, s, n_bytes);
    const size_t n = (size_t)g.n;

    types = arena_alloc(a, n, sizeof *types);
    brackets = arena_alloc(a, n, sizeof *brackets);
    levels = arena_alloc(a, n, sizeof *levels);
    seen = arena_alloc(a, n, sizeof *seen);
    runs = arena_alloc(a, n, sizeof *runs);
    fribidi_get_bidi_types(g.signs, g.n, types);
    fribidi_get_bracket_types(g.signs, g.n, types, brackets);
    for (FriBidiStrIndex i = 0; i < g.n; i++)
        seen[i] = i;
    /* no flags: marks stay behind their letter, for the shaping to set them */
    if (fribidi_get_par_embedding_levels_ex(types, brackets, g.n, &base, levels) == 0 || fribidi_reorder_line(0, types, g.n, 0, base, levels, NULL, seen) == 0) {
        runs[0] = (struct bidi_run){0, n_bytes, false}; /* no memory: as typed */
        return (struct bidi_line){runs, 1, false};
    }
    for (FriBidiStrIndex i = 0; i < g.n; i++) {
        const FriBidiStrIndex k = seen[i];
        const bool rtl = FRIBIDI_LEVEL_IS_RTL(levels[k]) != 0;
        const size_t at = g.at[k], end = g.at[k + 1];
        struct bidi_run *last = line.n > 0 ? &runs[line.n - 1] : NULL;

        if (last != NULL && last->rtl == rtl && (rtl ? end == last->at : at == last->at + last->n)) {
            last->at = rtl ? at : last->at;
            last->n += end - at;
        } else {
            runs[line.n++] = (struct bidi_run){at, end - at, rtl};
        }
    }
    line.runs = runs;
    line.rtl = FRIBIDI_IS_RTL(base) != 0;
    return line;
}

static bool begins_rtl(struct arena *a, const char *s, size_t n_bytes)
{
    return !is_plain(s, n_bytes) && bidi_line(a, s, n_bytes).rtl;
}

/* The byte lies in words that are set apart from the sentence they stand in. */
static bool lies_apart(const char *s, size_t at)
{
    int depth = 0;

    for (size_t i = 0; i + MARK_BYTES <= at; i++)
        depth += memcmp(s + i, APART, MARK_BYTES) == 0 ? 1 : depth > 0 && memcmp(s + i, APART_END, MARK_BYTES) == 0 ? -1 : 0;
    return depth > 0;
}

char *bidi_part(struct arena *a, const char *s, size_t at, size_t n, size_t *n_mark)
{
    const size_t n_all = strcspn(s, "\n");
    char *part = arena_alloc(a, 2 * MARK_BYTES + n + 1, 1);

    *n_mark = 0;
    if ((at > 0 || n < n_all) && !is_plain(s, n_all)) {
        const bool rtl = begins_rtl(a, s, n_all), apart = lies_apart(s, at);

        if (apart || rtl != begins_rtl(a, s + at, n)) {
            memcpy(part, rtl ? MARK_RTL : MARK_LTR, MARK_BYTES);
            *n_mark = MARK_BYTES;
        }
        if (apart) { /* and goes on so */
            memcpy(part + *n_mark, APART, MARK_BYTES);
            *n_mark += MARK_BYTES;
        }
    }
    memcpy(part + *n_mark, s + at, n);
    return part;
}
