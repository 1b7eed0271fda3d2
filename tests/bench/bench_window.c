/* The window's figures: start against a bare SDL2 + SDL2_ttf window in the same run, full redraws of
 * Plan, idle time. With a display (tests/bench runs under Xvfb when there is one) in a real window,
 * else on the dummy driver; prints which. */
#include <SDL.h>
#include <SDL_ttf.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "logbook/logbook.h"

extern char **environ;

/* The outside reference: the least a window with a line of text needs. */
static int bare(void)
{
    SDL_Window *w;
    SDL_Renderer *r;
    TTF_Font *font;
    SDL_Surface *s;

    if (SDL_Init(SDL_INIT_VIDEO) != 0 || TTF_Init() != 0)
        return 1;
    if (strcmp(SDL_GetCurrentVideoDriver(), "x11") == 0)
        SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0"); /* as the window does: the least is without OpenGL */
    w = SDL_CreateWindow("bare", SDL_WINDOWPOS_UNDEFINED, SDL_WINDOWPOS_UNDEFINED, 1440, 900, 0);
    r = SDL_CreateRenderer(w, -1, SDL_RENDERER_SOFTWARE);
    font = TTF_OpenFont("/usr/share/fonts/opentype/inter/Inter-Regular.otf", 13);
    if (w == NULL || r == NULL || font == NULL)
        return 1;
    SDL_SetRenderDrawColor(r, 138, 138, 138, 255);
    SDL_RenderClear(r);
    s = TTF_RenderUTF8_Blended(font, "a bare window", (SDL_Color){0, 0, 0, 255});
    SDL_RenderCopy(r, SDL_CreateTextureFromSurface(r, s), NULL, &(SDL_Rect){10, 10, s->w, s->h});
    SDL_RenderPresent(r);
    SDL_Quit();
    return 0;
}

static double run(char *const *argv)
{
    double from = clock_monotonic_s();
    pid_t child;
    int status = 1;

    if (posix_spawn(&child, argv[0], NULL, NULL, argv, environ) == 0)
        waitpid(child, &status, 0);
    return status == 0 ? clock_monotonic_s() - from : -1;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static bool fill(const char *folder, int n_engines, int n_visits, struct err *e)
{
    struct logbook *lb;
    struct record r;
    bool fine = true;

    if (!logbook_create(folder, e) || (lb = logbook_open(folder, LOGBOOK_WRITE, e)) == NULL)
        return false;
    record_init(&r);
    r.engine.layout = ENGINE_V;
    fine = engine_parse_banks(&r.engine, "1 3 5 7 / 2 4 6 8", e) && engine_parse_firing(&r.engine, "1 8 4 3 6 5 7 2", e) && engine_finish(&r.engine, e);
    for (int v = 0; v < n_visits && fine; v++) {
        struct visit *visit = record_add_visit(&r);

        text_format(visit->date, sizeof visit->date, "20%02d-06-14", 10 + v);
        for (int i = 0; i < 8; i++) {
            reading_note(&visit->readings[i], SIGN_NORMAL, 2);
            reading_note(&visit->readings[i], SIGN_WELL_OIL, i > 4 ? 3 : 0);
            visit->readings[i].gap_mm = MAYBE(1.1);
        }
    }
    fine = fine && logbook_begin(lb, "Bench", e);
    for (int i = 0; i < n_engines && fine; i++) {
        char id[UUID_BYTES];

        text_format(r.engine.name, sizeof r.engine.name, "Engine %d", i + 1);
        fine = logbook_import_record(lb, &r, id, e);
    }
    fine = fine && logbook_commit(lb, e);
    record_release(&r);
    logbook_close(lb);
    return fine;
}

int main(int argc, char **argv)
{
    char work[] = "/tmp/sootbook-bench-XXXXXX", folder[128], script[128], sample[128], command[700];
    const char *program = getenv("SOOTBOOK") ? getenv("SOOTBOOK") : "build/sootbook";
    char *bare_argv[] = {argv[0], (char *)"bare", NULL};
    char *ours_argv[] = {(char *)program, (char *)"drive", folder, (char *)"--script", script, NULL};
    double a[9], b[9], ratio[9];
    struct err e = {0};
    static const char plan[] = "size 1440 900\nkey Enter\nwait\nredraw 200\n", nothing[] = "# nothing\n", idle[] = "size 1440 900\nkey Enter\nwait\nidle 10\n";
    int null;

    if (argc > 1 && strcmp(argv[1], "bare") == 0)
        return bare();
    if (mkdtemp(work) == NULL)
        return 1;
    if (getenv("DISPLAY") == NULL)
        setenv("SDL_VIDEODRIVER", "dummy", 1);
    printf("video: %s\n", getenv("DISPLAY") ? "a real window" : "dummy driver (no display)");
    fflush(stdout);
    text_format(folder, sizeof folder, "%s/many", work);
    text_format(sample, sizeof sample, "%s/sample", work);
    text_format(script, sizeof script, "%s/script", work);
    setenv("XDG_CONFIG_HOME", work, 1);
    setenv("XDG_DATA_HOME", work, 1);
    if (!fill(folder, 200, 5, &e) || !files_write(script, nothing, sizeof nothing - 1, &e)) {
        fprintf(stderr, "%s\n", e.text);
        return 1;
    }
    null = dup(1);
    if (freopen("/dev/null", "w", stdout) == NULL)
        return 1;
    for (int i = -1; i < 9; i++) { /* one warm-up of each */
        double x = run(ours_argv), y = run(bare_argv);

        if (i >= 0) {
            a[i] = x;
            b[i] = y;
            ratio[i] = x / y;
        }
    }
    fflush(stdout);
    dup2(null, 1);
    qsort(a, 9, sizeof a[0], ascending);
    qsort(b, 9, sizeof b[0], ascending);
    qsort(ratio, 9, sizeof ratio[0], ascending);
    printf("first frame on 200 engines, 1,000 visits, start to exit: %.1f ms; bare SDL2 + SDL2_ttf window: %.1f ms; ratio median %.2f (%.2f to %.2f)\n",
           a[4] * 1e3, b[4] * 1e3, ratio[4], ratio[0], ratio[8]);
    fflush(stdout);
    text_format(command, sizeof command, "'%s' sample '%s'", program, sample);
    if (system(command) == 0) {
        ours_argv[2] = sample;
        files_write(script, plan, sizeof plan - 1, &e);
        printf("Plan, 200 full redraws at 1440×900, software renderer:\n");
        fflush(stdout);
        run(ours_argv);
        files_write(script, idle, sizeof idle - 1, &e);
        run(ours_argv);
    }
    text_format(command, sizeof command, "rm -rf '%s'", work);
    return system(command);
}
