#include "ui/ui_fonts.h"

#include <SDL_ttf.h>
#include <fontconfig/fontconfig.h>
#include <hb.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "ui/ui.h"
#include "ui/ui_bidi.h"

#define MAX_OPEN 96

#define MAX_OTHERS 48  /* fonts besides the program's own, for signs it lacks, each in the weights that were asked for */
#define NOWHERE 512    /* slots for signs that no font has: asking again costs tens of milliseconds */

struct open_font {
    int size_px, face, digit_px; /* face: a weight, or UI_WEIGHT_COUNT + which of the others */
    TTF_Font *font;
};

struct fonts {
    char path[UI_WEIGHT_COUNT + MAX_OTHERS][512];
    int index[UI_WEIGHT_COUNT + MAX_OTHERS]; /* face within a collection file */
    int n_others, other_weight[MAX_OTHERS];
    uint32_t nowhere[NOWHERE];
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

/* sign: one it must have, 0 any. coloured: of the kind that is pictures, which a fontconfig asked for outlines does not name. */
static bool match(struct fonts *f, const char *family, int fc_weight, uint32_t sign, bool coloured, int face)
{
    FcPattern *want = family != NULL ? FcNameParse((const FcChar8 *)family) : FcPatternCreate(), *got;
    FcCharSet *signs = FcCharSetCreate(), *has = NULL;
    FcResult result;
    FcChar8 *file = NULL;
    int index = 0;
    bool fine = false;

    FcPatternAddInteger(want, FC_WEIGHT, fc_weight);
    if (sign != 0) {
        FcCharSetAddChar(signs, sign);
        FcPatternAddCharSet(want, FC_CHARSET, signs);
        FcPatternAddBool(want, FC_SCALABLE, FcTrue);
        FcPatternAddBool(want, FC_COLOR, coloured ? FcTrue : FcFalse);
    }
    FcConfigSubstitute(NULL, want, FcMatchPattern);
    FcDefaultSubstitute(want);
    got = FcFontMatch(NULL, want, &result);
    if (got != NULL && FcPatternGetString(got, FC_FILE, 0, &file) == FcResultMatch &&
        (sign == 0 || (FcPatternGetCharSet(got, FC_CHARSET, 0, &has) == FcResultMatch && FcCharSetHasChar(has, sign)))) {
        FcPatternGetInteger(got, FC_INDEX, 0, &index);
        text_copy(f->path[face], sizeof f->path[face], (const char *)file);
        f->index[face] = index & 0xFFFF;
        fine = true;
    }
    if (got != NULL)
        FcPatternDestroy(got);
    FcCharSetDestroy(signs);
    FcPatternDestroy(want);
    return fine;
}

static TTF_Font *open_face(struct fonts *f, int size_px, int face)
{
    TTF_Font *font = TTF_OpenFontIndex(f->path[face], size_px, f->index[face]);

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
        if (!find_usual(f, w) && !match(f, "Inter,sans-serif", faces[w].fc_weight, 0, false, w)) {
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

static struct open_font *get(struct fonts *f, int size_px, int face)
{
    struct open_font *o;

    for (int i = 0; i < f->n_open; i++)
        if (f->open[i].size_px == size_px && f->open[i].face == face)
            return &f->open[i];
    if (f->n_open == MAX_OPEN) { /* many scales were tried: start over */
        for (int i = 0; i < f->n_open; i++)
            TTF_CloseFont(f->open[i].font);
        f->n_open = 0;
    }
    o = &f->open[f->n_open++];
    o->size_px = size_px;
    o->face = face;
    o->font = open_face(f, size_px, face);
    if (o->font == NULL && face >= UI_WEIGHT_COUNT) { /* then without it */
        f->n_open--;
        return NULL;
    }
    if (o->font == NULL) {
        /* The file was there at start; without it nothing can be shown. */
        SDL_Log("sootbook: the font %s is gone", f->path[face]);
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

/* ---- signs the typeface lacks ---- */

/* HB_SCRIPT_COMMON of what stands in all scripts: blanks, points, figures. */
static hb_script_t script_of(uint32_t sign)
{
    hb_script_t script = hb_unicode_script(hb_unicode_funcs_get_default(), sign);

    return script == HB_SCRIPT_INHERITED || script == HB_SCRIPT_UNKNOWN ? HB_SCRIPT_COMMON : script;
}

/* A face besides the program's own that has the sign, -1 none. */
static int other_with(struct fonts *f, int size_px, int weight, uint32_t sign)
{
    uint32_t *slot = &f->nowhere[sign % NOWHERE];

    if (*slot == sign)
        return -1;
    for (int i = 0; i <= f->n_others && i < MAX_OTHERS; i++) {
        const int face = UI_WEIGHT_COUNT + i;
        const bool fresh = i == f->n_others;
        struct open_font *o;

        if (!fresh && f->other_weight[i] != weight)
            continue;
        if (fresh && !match(f, NULL, faces[weight].fc_weight, sign, false, face) && !match(f, NULL, faces[weight].fc_weight, sign, true, face))
            break;
        o = get(f, size_px, face);
        if (o != NULL && TTF_GlyphIsProvided32(o->font, sign)) {
            f->n_others += fresh;
            f->other_weight[i] = weight;
            return face;
        }
        if (fresh && o != NULL) { /* the next one asked for takes its place */
            TTF_CloseFont(o->font);
            f->n_open--;
        }
    }
    *slot = sign;
    return -1;
}

struct font_run fonts_run(struct fonts *f, int size_px, int weight, const char *s, size_t n_bytes)
{
    struct font_run run = {0, weight, HB_SCRIPT_UNKNOWN};
    hb_script_t script = HB_SCRIPT_COMMON;
    size_t next;

    for (; run.n < n_bytes && s[run.n] != '\0'; run.n = next) {
        const uint32_t sign = text_codepoint(s, run.n);
        int face = weight;

        next = text_next(s, run.n);
        if (run.n > 0 && bidi_clings(sign))
            continue;
        if (sign >= 0x80 && !TTF_GlyphIsProvided32(fonts_get(f, size_px, weight), sign)) {
            face = other_with(f, size_px, weight, sign);
            face = face >= 0 ? face : weight;
        }
        if (run.n > 0 && face != run.face)
            break;
        run.face = face;
        if (face >= UI_WEIGHT_COUNT) { /* another script has other rules of how its letters join */
            const hb_script_t here = script_of(sign);

            if (script != HB_SCRIPT_COMMON && here != HB_SCRIPT_COMMON && here != script)
                break;
            script = here != HB_SCRIPT_COMMON ? here : script;
        }
    }
    if (script != HB_SCRIPT_COMMON)
        run.script = script;
    return run;
}

TTF_Font *fonts_face(struct fonts *f, int size_px, int weight, int face)
{
    struct open_font *o = get(f, size_px, face);

    return o != NULL ? o->font : fonts_get(f, size_px, weight);
}
