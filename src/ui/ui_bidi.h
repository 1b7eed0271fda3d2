/* ui_bidi.h - a line of text that holds words written from right to left, as it is seen: which stretches of it stand where
 * (Unicode Standard Annex 9, by FriBidi). Pure. A text without such words is one stretch, and asks nobody. */
#ifndef UI_UI_BIDI_H
#define UI_UI_BIDI_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct arena;

struct bidi_run { /* bytes that follow each other in the text and run one way */
    size_t at, n;
    bool rtl;
};
struct bidi_line {
    const struct bidi_run *runs; /* from left to right as seen; none of an empty text */
    size_t n;
    bool rtl; /* the line begins at its right end */
};

/* One line, no line ends in it. Which way it begins: its first letter says (rules P2 and P3), left to right without one. */
struct bidi_line bidi_line(struct arena *a, const char *s, size_t n_bytes);

/* Bytes at .. at + n of a paragraph as a line of their own that begins the way the paragraph does: a copy, with invisible
 * marks before it where its own first letter would say otherwise, or it begins amid words set apart (text_apart()); *n_mark:
 * their bytes. The paragraph is s up to its
 * end or line end. */
char *bidi_part(struct arena *a, const char *s, size_t at, size_t n, size_t *n_mark);

/* U+200E and the like: they say where a text runs, and are never drawn. */
bool bidi_is_control(uint32_t sign);
/* The sign goes with the one before it: accents, vowel points, joiners, the skin of a hand. */
bool bidi_clings(uint32_t sign);

#endif
