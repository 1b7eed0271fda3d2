#include "ui/ui_fonts.h"

#include <SDL_ttf.h>
#include <fontconfig/fontconfig.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "ui/ui.h"

#define MAX_OPEN 96

struct open_font {
    int size_px, weight, digit_px;
    TTF_Font *font;
};

struct fonts {
    char path[UI_WEIGHT_COUNT][512];
    int index[UI_WEIGHT_COUNT]; /* face within a collection file */
    struct open_font open[MAX_OPEN];
    int n_open;
};

static const struct {
    const char *file; /* as Debian's fonts-inter installs it */
    int fc_weight;
} faces[UI_WEIGHT_COUNT] = {
    [UI_REGULAR] = {"Inter-Regular.otf", FC_WEIGHT_REGULAR},
    [UI_MEDIUM] = {"Inter-Medium.otf", FC_WEIGHT_MEDIUM},
    [UI_SEMIBOLD] = {"Inter-SemiBold.otf", FC_WEIGHT_DEMIBOLD},
    [UI_BOLD] = {"Inter-Bold.otf", FC_WEIGHT_BOLD},
};

/* The usual place first: asking fontconfig costs tens of milliseconds at every start. */
static bool find_usual(struct fonts *f, int weight)
{
    text_format(f->path[weight], sizeof f->path[weight], "/usr/share/fonts/opentype/inter/%s",
                faces[weight].file);
    f->index[weight] = 0;
    return access(f->path[weight], R_OK) == 0;
}

static bool find_any(struct fonts *f, int weight)
{
    FcPattern *want = FcNameParse((const FcChar8 *)"Inter,sans-serif"), *got;
    FcResult result;
    FcChar8 *file = NULL;
    int index = 0;
    bool fine = false;

    FcPatternAddInteger(want, FC_WEIGHT, faces[weight].fc_weight);
    FcConfigSubstitute(NULL, want, FcMatchPattern);
    FcDefaultSubstitute(want);
    got = FcFontMatch(NULL, want, &result);
    if (got != NULL && FcPatternGetString(got, FC_FILE, 0, &file) == FcResultMatch) {
        FcPatternGetInteger(got, FC_INDEX, 0, &index);
        text_copy(f->path[weight], sizeof f->path[weight], (const char *)file);
        f->index[weight] = index & 0xFFFF;
        fine = true;
    }
    if (got != NULL)
        FcPatternDestroy(got);
    FcPatternDestroy(want);
    return fine;
}

static TTF_Font *open_face(struct fonts *f, int size_px, int weight)
{
    TTF_Font *font = TTF_OpenFontIndex(f->path[weight], size_px, f->index[weight]);

    if (font != NULL)
        TTF_SetFontHinting(font, TTF_HINTING_LIGHT);
    return font;
}

struct fonts *fonts_create(struct err *e)
{
    struct fonts *f = mem_alloc(1, sizeof *f);

    if (!TTF_WasInit() && TTF_Init() != 0) {
        err_set(e, ERR_IO, "The font library does not start: %s", TTF_GetError());
        free(f);
        return NULL;
    }
    for (int w = 0; w < UI_WEIGHT_COUNT; w++)
        if (!find_usual(f, w) && !find_any(f, w)) {
            err_set(e, ERR_NOTFOUND, "No font was found. Install fonts-inter or any sans-serif font.");
            free(f);
            return NULL;
        }
    TTF_Font *first = open_face(f, 13, UI_REGULAR);

    if (first == NULL) {
        err_set(e, ERR_IO, "The font %s cannot be opened: %s", f->path[0], TTF_GetError());
        free(f);
        return NULL;
    }
    TTF_CloseFont(first);
    return f;
}

void fonts_destroy(struct fonts *f)
{
    if (f == NULL)
        return;
    for (int i = 0; i < f->n_open; i++)
        TTF_CloseFont(f->open[i].font);
    free(f);
}

static struct open_font *get(struct fonts *f, int size_px, int weight)
{
    struct open_font *o;

    for (int i = 0; i < f->n_open; i++)
        if (f->open[i].size_px == size_px && f->open[i].weight == weight)
            return &f->open[i];
    if (f->n_open == MAX_OPEN) { /* many scales were tried: start over */
        for (int i = 0; i < f->n_open; i++)
            TTF_CloseFont(f->open[i].font);
        f->n_open = 0;
    }
    o = &f->open[f->n_open++];
    o->size_px = size_px;
    o->weight = weight;
    o->font = open_face(f, size_px, weight);
    if (o->font == NULL) {
        /* The file was there at start; without it nothing can be shown. */
        SDL_Log("sootbook: the font %s is gone", f->path[weight]);
        abort();
    }
    o->digit_px = 0;
    for (Uint32 c = '0'; c <= '9'; c++) {
        int advance = 0;

        TTF_GlyphMetrics32(o->font, c, NULL, NULL, NULL, NULL, &advance);
        if (advance > o->digit_px)
            o->digit_px = advance;
    }
    return o;
}

TTF_Font *fonts_get(struct fonts *f, int size_px, int weight)
{
    return get(f, size_px, weight)->font;
}

int fonts_digit_px(struct fonts *f, int size_px, int weight)
{
    return get(f, size_px, weight)->digit_px;
}
