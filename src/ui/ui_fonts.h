/* ui_fonts.h - finds and opens the program's typeface. Main thread only. */
#ifndef UI_UI_FONTS_H
#define UI_UI_FONTS_H

#include <stdbool.h>
#include <stddef.h>

struct err;
struct _TTF_Font;
struct fonts;

/* Inter from where Debian puts it, else by fontconfig, else any sans-serif fontconfig offers. */
struct fonts *fonts_create(struct err *e);
void fonts_destroy(struct fonts *f);
/* Opened once per size and weight, kept. size in real pixels. Never NULL. */
struct _TTF_Font *fonts_get(struct fonts *f, int size_px, int weight);
/* How many bytes from s on one font draws, and which: the program's own as far as it has the signs, for others any
 * installed one that fontconfig names (Chinese, Arabic …). A sign that none has is drawn by the own one, as its box. */
size_t fonts_run(struct fonts *f, int size_px, int weight, const char *s, struct _TTF_Font **font);
/* Widest digit's advance. */
int fonts_digit_px(struct fonts *f, int size_px, int weight);

#endif
