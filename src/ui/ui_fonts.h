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
/* Widest digit's advance. */
int fonts_digit_px(struct fonts *f, int size_px, int weight);

#endif
