/* ui_line.h - one line of text as pixels: which face draws which part of it, in the order it is seen, with the script's
 * joined letters; a sign that no face has becomes a dot. Sizes in real pixels. Main thread only. */
#ifndef UI_UI_LINE_H
#define UI_UI_LINE_H

#include <stdbool.h>

struct arena;
struct fonts;
struct SDL_Surface;

/* tabular: digits at equal advance. The arena is for the work alone. */
int line_width(struct fonts *f, struct arena *a, const char *s, int size_px, int weight, bool tabular);
/* White, with alpha; as high as the own face. The caller frees it; NULL when there is nothing to draw or no memory. */
struct SDL_Surface *line_surface(struct fonts *f, struct arena *a, const char *s, int size_px, int weight, bool tabular);

#endif
