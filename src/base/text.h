/* text.h - text that ends in NUL and is UTF-8. Buffers carry their size in bytes. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A growing text; zero it before use, text_release() when done. .s is never NULL after the first
 * append; use text_get(). */
struct text {
    char *s;
    size_t n_bytes; /* without the NUL */
    size_t n_room;
};
void text_add(struct text *t, const char *s);
void text_add_bytes(struct text *t, const void *s, size_t n_bytes);
void text_add_char(struct text *t, char c);
void text_add_codepoint(struct text *t, uint32_t c); /* below 0x10000, no surrogate; as UTF-8 */
void text_addf(struct text *t, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
const char *text_get(const struct text *t); /* "" when nothing was added */
void text_clear(struct text *t);            /* keeps the room */
void text_release(struct text *t);          /* frees and zeroes */

/* Copies at most n_room-1 bytes, cut at a whole UTF-8 character; always ends in NUL.
 * Returns false when something was cut. */
bool text_copy(char *to, size_t n_room, const char *from);
bool text_format(char *to, size_t n_room, const char *fmt, ...) __attribute__((format(printf, 3, 4)));
/* The first place in text where `of` stands holds `words` after it, cut as by text_copy(); where there is none nothing changes. n_room: bytes of text. */
void text_put_for(char *text, size_t n_room, const char *of, const char *words);

/* Bytes of the longest beginning of s that has at most n_max of them and ends with a whole character, for "%.*s"; n_max: no more than s has. */
size_t text_whole(const char *s, size_t n_max);
/* s, or its first n_most - 1 characters and an ellipsis in `to` (4 * n_most bytes are enough) where it is longer. */
const char *text_short(const char *s, size_t n_most, char *to, size_t n_room);
/* The same in a buffer that lives to the end of the block; n_most: a constant. */
#define TEXT_SHORT(s, n_most) text_short((s), (n_most), (char[4 * (n_most)]){0}, 4 * (n_most))

bool text_equal(const char *a, const char *b);          /* NULL equals only NULL */
bool text_starts(const char *s, const char *beginning);
bool text_ends(const char *s, const char *ending);

/* UTF-8. */
bool text_is_utf8(const char *s, size_t n_bytes); /* no overlong forms, no surrogates */
size_t text_next(const char *s, size_t at);       /* byte after the character at `at`; stays at NUL */
size_t text_prev(const char *s, size_t at);       /* start of the character before `at` */
uint32_t text_codepoint(const char *s, size_t at); /* 0xFFFD when malformed */
size_t text_count(const char *s);                 /* characters */
/* Some of it is written from right to left: Hebrew, Arabic, Syriac … (blocks of Unicode 15 that are). */
bool text_has_rtl(const char *s);
/* What somebody wrote, to stand inside a sentence of ours: where some of it runs from right to left, set apart (U+2068 …
 * U+2069), so that it does not turn round what stands beside it. Gives s itself where there is nothing to set apart, else
 * `to`, cut when it does not fit. For eyes, not for files that machines read. */
const char *text_apart(const char *s, char *to, size_t n_room);
bool text_is_apart(const char *s); /* some of it is */
/* Replaces malformed bytes by U+FFFD and strips C0 controls but tab and newline, in place;
 * `n_room` is the buffer's size. For clipboard, file names and pasted text. */
void text_sanitize(char *s, size_t n_room);

/* Numbers, independent of the locale. The whole text must be used up (blanks around are allowed).
 * A comma counts as the decimal point. */
bool text_to_double(const char *s, double *out);
/* "97,655.5 mi", "97.655,5", "61.234", "61 234": a count as people write it. Of points and commas the last parts the
 * decimals when the other stands before it; one kind alone with three figures behind each parts thousands, as in tables
 * that are taken over ("0.234" and "61.23" are decimals). Gives what stands behind it and its blanks, NULL when there is
 * no such number. */
const char *text_read_grouped(const char *s, double *out);
bool text_to_long(const char *s, long *out);
/* Fixed decimals with a point, "-0.00" never: for files and the window alike. */
void text_from_double(char *to, size_t n_room, double value, int n_decimals);
/* "1,120": thousands set off with a comma, for the window. */
void text_from_count(char *to, size_t n_room, long value);

#endif
