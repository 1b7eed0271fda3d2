/* Photographs on a software renderer: turned the right way, and the right part of them, also when only a
 * corner of a much larger rectangle is seen. Expected colours by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include <SDL.h>

#include "base/err.h"
#include "ui/ui.h"
#include "ui/ui_render.h"

enum { SIDE = 480, WIDTH = 500, HEIGHT = 440 };

static SDL_Surface *surface;
static SDL_Renderer *renderer;
static struct ui_render *rd;
static struct ui *ui;

static int begin(void **state)
{
    uint8_t *rgba = malloc(WIDTH * HEIGHT * 4);
    struct err e = {0};

    (void)state;
    surface = SDL_CreateRGBSurfaceWithFormat(0, SIDE, SIDE, 32, SDL_PIXELFORMAT_ABGR8888);
    renderer = surface ? SDL_CreateSoftwareRenderer(surface) : NULL;
    rd = renderer ? ui_render_create(renderer, 1, &e) : NULL;
    if (!rd || !rgba)
        return -1;
    ui = ui_create(ui_render_measure(rd));
    /* quarters: red, green / blue, white */
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            int right = x >= WIDTH / 2, low = y >= HEIGHT / 2;
            uint8_t *to = rgba + (y * WIDTH + x) * 4;

            to[0] = right == low ? 255 : 0;
            to[1] = right ? 255 : 0;
            to[2] = low ? 255 : 0;
            to[3] = 255;
        }
    ui_render_put_image(rd, 7, rgba, WIDTH, HEIGHT);
    free(rgba);
    return 0;
}

static int end(void **state)
{
    (void)state;
    ui_destroy(ui);
    ui_render_destroy(rd);
    SDL_DestroyRenderer(renderer);
    SDL_FreeSurface(surface);
    return 0;
}

/* What was drawn, in letters, at four points: top left, top right, bottom left, bottom right. */
static void letters(char out[5])
{
    static const int at[4][2] = {{60, 60}, {SIDE - 60, 60}, {60, SIDE - 60}, {SIDE - 60, SIDE - 60}};

    SDL_RenderFlush(renderer);
    for (int i = 0; i < 4; i++) {
        const uint8_t *p = (const uint8_t *)surface->pixels + at[i][1] * surface->pitch + at[i][0] * 4;
        int bits = (p[0] > 127) | (p[1] > 127) << 1 | (p[2] > 127) << 2;

        out[i] = "-RG?B??W"[bits];
    }
    out[4] = '\0';
}

static void draw(struct rect r, struct rect crop, int turn, char out[5])
{
    SDL_SetRenderDrawColor(renderer, 0, 0, 0, 255);
    SDL_RenderClear(renderer);
    ui_begin(ui, SIDE, SIDE, 1);
    ui_image(ui, r, 7, crop, turn, false);
    ui_end(ui);
    ui_render_frame(rd, ui);
    letters(out);
}

static void pictures_turn_clockwise(void **state)
{
    static const char *const whole[4] = {"RGBW", "BRWG", "WBGR", "GWRB"};
    static const struct rect all = {0, 0, 1, 1};
    char got[5];

    (void)state;
    for (int turn = 0; turn < 4; turn++)
        for (int again = 0; again < 2; again++) { /* its texture is there already */
            draw((struct rect){0, 0, SIDE, SIDE}, all, turn, got);
            assert_string_equal(got, whole[turn]);
        }
}

static void what_is_seen_of_a_large_one_is_right(void **state)
{
    static const struct rect all = {0, 0, 1, 1};
    char got[5];

    (void)state;
    for (int turn = 0; turn < 4; turn++) {
        static const char *const middles[4] = {"RGBW", "BRWG", "WBGR", "GWRB"};

        draw((struct rect){-3760, -3760, 8000, 8000}, all, turn, got); /* the middle, much enlarged */
        assert_string_equal(got, middles[turn]);
        draw((struct rect){-10, -10, 8000, 8000}, all, turn, got); /* only its first corner */
        for (int i = 0; i < 4; i++)
            assert_int_equal(got[i], middles[turn][0]);
        draw((struct rect){-3760, 0, 8000, 8000}, all, turn, got); /* the middle of its upper half */
        assert_true(got[0] == middles[turn][0] && got[1] == middles[turn][1] && got[2] == got[0] && got[3] == got[1]);
    }
    draw((struct rect){240, 240, 8000, 8000}, all, 0, got); /* begins in the middle of the screen */
    assert_string_equal(got, "---R");
    draw((struct rect){-9000, 0, 8000, 8000}, all, 0, got); /* wholly outside */
    assert_string_equal(got, "----");
    draw((struct rect){0, 0, SIDE, SIDE}, (struct rect){0.5f, 0, 0.5f, 1}, 0, got); /* its right half */
    assert_string_equal(got, "GGWW");
    draw((struct rect){0, 0, SIDE, SIDE}, (struct rect){0.5f, 0, 0.5f, 1}, 1, got); /* that, turned: below its left half */
    assert_string_equal(got, "WGWG");
}

/* The preview of a photo with tiles over it: what they hide all of is not drawn, and where one is missing it shows. */
static void what_lies_below_shows_where_nothing_covers_it(void **state)
{
    const struct rect all = {0, 0, 1, 1};
    uint8_t *red = malloc(WIDTH * HEIGHT * 4);
    char got[5];

    (void)state;
    for (int i = 0; i < WIDTH * HEIGHT; i++)
        memcpy(red + 4 * i, (const uint8_t[]){255, 0, 0, 255}, 4);
    ui_render_put_image(rd, 9, red, WIDTH, HEIGHT);
    free(red);
    for (int missing = -1; missing < 8; missing++) { /* of four tiles one is not drawn, or is not there yet */
        SDL_SetRenderDrawColor(renderer, 0, 0, 0, 255);
        SDL_RenderClear(renderer);
        ui_begin(ui, SIDE, SIDE, 1);
        ui_image(ui, (struct rect){0, 0, SIDE, SIDE}, 7, all, 0, false);
        for (int i = 0; i < 4; i++)
            if (i != missing)
                ui_image(ui, (struct rect){i % 2 ? SIDE / 2 : -300, i / 2 ? SIDE / 2 : -300, i % 2 ? 600 : 300 + SIDE / 2, i / 2 ? 600 : 300 + SIDE / 2}, missing == 4 + i ? 10 : 9, all, 0, false);
        ui_end(ui);
        ui_render_frame(rd, ui);
        letters(got);
        for (int i = 0; i < 4; i++)
            assert_int_equal(got[i], missing >= 0 && missing % 4 == i ? "RGBW"[i] : 'R');
    }
}

/* A layer of two pictures over another: turned like the plain ones, and each layer takes its share once,
 * however many pictures lie above one another in it. */
static void layers_turn_and_blend(void **state)
{
    static const char *const whole[4] = {"RGBW", "BRWG", "WBGR", "GWRB"};
    const struct rect all = {0, 0, SIDE, SIDE};
    const uint8_t *px = (const uint8_t *)surface->pixels + 60 * surface->pitch + 60 * 4;
    char got[5];

    (void)state;
    for (int turn = 0; turn < 4; turn++) {
        SDL_RenderClear(renderer);
        ui_begin(ui, SIDE, SIDE, 1);
        ui_layer_image(ui, all, 7, (float)turn * 90, 1, 1);
        ui_layer_image(ui, (struct rect){-900, -900, 20, 20}, 7, 10, 1, 1); /* off the screen */
        ui_end(ui);
        ui_render_frame(rd, ui);
        letters(got);
        assert_string_equal(got, whole[turn]);
    }
    SDL_RenderClear(renderer);
    ui_begin(ui, SIDE, SIDE, 1);
    ui_layer_image(ui, all, 7, 0, 1, 1); /* red there */
    for (int i = 0; i < 3; i++)
        ui_layer_image(ui, all, 7, 90, 2, 0.25f); /* blue there */
    ui_end(ui);
    ui_render_frame(rd, ui);
    SDL_RenderFlush(renderer);
    assert_in_range(px[0], 190, 193);
    assert_in_range(px[2], 62, 65);
}

static void paint_white(uint8_t *rgba, int w, int h, const void *ctx)
{
    (void)ctx;
    memset(rgba, 255, (size_t)w * (size_t)h * 4);
}

/* Discs, squares and paintings let through what is below by their share, and hide it again when it is over. */
static void faded_pictures_let_what_is_below_through(void **state)
{
    static const struct rect all = {0, 0, 1, 1}, red = {0, 0, 0.4f, 0.4f};
    const struct rect at = {20, 20, 80, 80};
    const uint8_t *px = (const uint8_t *)surface->pixels + 60 * surface->pitch + 60 * 4;

    (void)state;
    for (int round = 0; round < 3; round++)
        for (int again = 0; again < 2; again++) {
            SDL_SetRenderDrawColor(renderer, 0, 0, 0, 255);
            SDL_RenderClear(renderer);
            ui_begin(ui, SIDE, SIDE, 1);
            ui_image(ui, at, 7, red, 0, round == 1);
            ui_fade(ui, again ? 1 : 0.25f);
            if (round < 2)
                ui_image(ui, at, 7, (struct rect){0, 0.6f, 0.4f, 0.4f}, 0, round == 1); /* blue */
            else
                ui_painting(ui, at, 3, paint_white, &all, sizeof all);
            ui_end(ui);
            ui_render_frame(rd, ui);
            SDL_RenderFlush(renderer);
            if (again) {
                assert_int_equal(px[0], round == 2 ? 255 : 0);
                assert_int_equal(px[2], 255);
            } else {
                assert_in_range(px[0], round == 2 ? 254 : 190, round == 2 ? 255 : 193);
                assert_in_range(px[2], 62, 66);
            }
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(pictures_turn_clockwise, begin, end),
        cmocka_unit_test_setup_teardown(what_lies_below_shows_where_nothing_covers_it, begin, end),
        cmocka_unit_test_setup_teardown(layers_turn_and_blend, begin, end),
        cmocka_unit_test_setup_teardown(faded_pictures_let_what_is_below_through, begin, end),
        cmocka_unit_test_setup_teardown(what_is_seen_of_a_large_one_is_right, begin, end),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
