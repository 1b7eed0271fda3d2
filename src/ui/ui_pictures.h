/* ui_pictures.h - the photographs a renderer draws: kept by key, made smaller, turned, put together. For
 * ui_render.c. */
#ifndef UI_UI_PICTURES_H
#define UI_UI_PICTURES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <SDL.h>

#include "ui/ui.h"

#define PICTURE_DIRECT_PX 420 /* drawn larger than this they are scaled by the renderer */

struct picture {
    uint64_t key;
    uint8_t *bgra; /* in the order of channels windows mostly have */
    int w, h;
    SDL_Texture *texture; /* made when drawn directly, */
    int turn;             /* turned so many quarters clockwise */
    uint64_t used;        /* frame */
};
bool picture_is_large(int w, int h);
/* The part `crop` of it as w × h pixels, each the average of what falls on it (a box filter); round: cut
 * to a disc. B, G, R, A. */
void picture_shrink(const struct picture *p, struct rect crop, int turn, bool round, uint8_t *to, int w, int h);

struct pictures;
struct pictures *pictures_create(SDL_Renderer *renderer);
void pictures_destroy(struct pictures *ps);
void pictures_begin_frame(struct pictures *ps, uint64_t frame);
void pictures_drop_textures(struct pictures *ps); /* all are made anew when drawn next */
/* As ui_render_put_image() and its fellows. */
bool pictures_put(struct pictures *ps, uint64_t key, const uint8_t *rgba, int w, int h);
bool pictures_have(const struct pictures *ps, uint64_t key);
void pictures_drop(struct pictures *ps, uint64_t key);
struct picture *pictures_use(struct pictures *ps, uint64_t key); /* in this frame; NULL: not there. Until the next put or drop */
/* Scaled by the renderer into r, in its clip. */
void picture_draw_direct(struct pictures *ps, struct picture *p, struct rect crop, int turn, SDL_Rect r);
/* The images from d on that lie on layers, at most n_left; gives their number. */
size_t pictures_draw_layers(struct pictures *ps, const struct ui_draw *d, size_t n_left, float scale);

#endif
