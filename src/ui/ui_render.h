/* ui_render.h - replays the kit's drawing list on an SDL renderer. Main thread only. */
#ifndef UI_UI_RENDER_H
#define UI_UI_RENDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "ui/ui.h"

struct err;
struct SDL_Renderer;

struct ui_render;

/* Fonts: Inter, or any sans-serif that fontconfig finds. Fails when there is no font at all. */
struct ui_render *ui_render_create(struct SDL_Renderer *renderer, float scale, struct err *e);
void ui_render_destroy(struct ui_render *rd); /* before its SDL_Renderer */
struct ui_measure ui_render_measure(struct ui_render *rd);

/* Real pixels for one logical pixel; texts and shapes are made anew at the new size. */
void ui_render_set_scale(struct ui_render *rd, float scale);
/* Textures are gone (device or targets were reset): everything is made anew when drawn next. */
void ui_render_drop_textures(struct ui_render *rd);

void ui_render_frame(struct ui_render *rd, const struct ui *ui); /* draws; does not present */

/* Pictures by key, RGBA, copied. Putting the same key again replaces it. The least recently drawn
 * go first when small ones together exceed 192 MB, or large ones 32; ui_render_has_image() then says false. */
bool ui_render_put_image(struct ui_render *rd, uint64_t key, const uint8_t *rgba, int w, int h);
bool ui_render_has_image(const struct ui_render *rd, uint64_t key);
void ui_render_drop_image(struct ui_render *rd, uint64_t key);

/* What was drawn last, read back; writes a PNG. */
bool ui_render_save_png(struct ui_render *rd, const char *path, struct err *e);

#endif
