/* ui_fonts.h - finds and opens the program's typeface. Main thread only. */
#ifndef UI_UI_FONTS_H
#define UI_UI_FONTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;
struct _TTF_Font;
struct fonts;

/* Inter from where Debian puts it, else by fontconfig, else any sans-serif fontconfig offers. */
struct fonts *fonts_create(struct err *e);
void fonts_destroy(struct fonts *f);
/* Opened once per size and weight, kept. size in real pixels. Never NULL. */
struct _TTF_Font *fonts_get(struct fonts *f, int size_px, int weight);
/* Bytes from s on that one face draws as one: the program's own as far as it has the signs, for others any installed one
 * that fontconfig names (Chinese, Arabic …). A sign that none has is left to the own one, which lacks it too. */
struct font_run {
    size_t n;
    int face;        /* for fonts_face() */
    uint32_t script; /* as HarfBuzz names it (ISO 15924), "Zzzz" for the own face and where none is told */
};
struct font_run fonts_run(struct fonts *f, int size_px, int weight, const char *s, size_t n_bytes);
/* Until the next call; the own face of that weight where the other cannot be opened any more. */
struct _TTF_Font *fonts_face(struct fonts *f, int size_px, int weight, int face);
/* Widest digit's advance. */
int fonts_digit_px(struct fonts *f, int size_px, int weight);

#endif
