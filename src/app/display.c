#include "app/display.h"

#include <SDL.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

#define DOTS_AT_ONE 96.0 /* CSS Values and Units 4, section 6.2: 1px is 1/96 inch */
#define MOST 3.0

static double number_of(const char *text)
{
    double v = 0;

    return text != NULL && text_to_double(text, &v) && v > 0 ? v : 0;
}

float display_scale_of(const char *xft_dpi, const char *gdk_scale)
{
    double by_dots = number_of(xft_dpi) / DOTS_AT_ONE, by_factor = number_of(gdk_scale);
    double scale = round(fmax(by_dots, by_factor) * 4) / 4;

    return (float)fmin(fmax(scale, 1), MOST);
}

/* SDL asks the monitors for their size in millimetres, which is often missing or wrong, and not what the person set. The
 * library is there, since SDL's own driver has loaded it. */
static void read_dots(char *to, size_t n_room)
{
    void *(*open)(const char *), *display = NULL, *library = SDL_LoadObject("libX11.so.6"), *symbol;
    char *(*get_default)(void *, const char *, const char *);
    int (*close)(void *);

    to[0] = '\0';
    if (library == NULL)
        return;
    symbol = SDL_LoadFunction(library, "XOpenDisplay");
    memcpy(&open, &symbol, sizeof open); /* ISO C has no conversion between the two; POSIX has one size for both */
    symbol = SDL_LoadFunction(library, "XGetDefault");
    memcpy(&get_default, &symbol, sizeof get_default);
    symbol = SDL_LoadFunction(library, "XCloseDisplay");
    memcpy(&close, &symbol, sizeof close);
    if (open != NULL && get_default != NULL && close != NULL)
        display = open(NULL);
    if (display != NULL) {
        const char *dots = get_default(display, "Xft", "dpi");

        if (dots != NULL)
            text_copy(to, n_room, dots);
        close(display);
    }
    SDL_UnloadObject(library);
}

float display_scale(void)
{
    const char *driver = SDL_GetCurrentVideoDriver();
    char dots[32];

    if (driver == NULL || strcmp(driver, "x11") != 0)
        return 1;
    read_dots(dots, sizeof dots);
    return display_scale_of(dots, getenv("GDK_SCALE"));
}
