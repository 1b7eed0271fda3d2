/* plan_bore.c - the tip of a plug drawn from its reading, seen along its axis: shell, gap of the
 * bore, insulator nose, centre electrode, side electrode. A log without photos is still a picture. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/plug_look.h"
#include "screen/model.h"

#define PI 3.14159265358979f

static uint8_t byte(float v)
{
    return (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v + 0.5f);
}

struct bore_look bore_look_of(const struct reading *r, int cylinder)
{
    struct bore_look look;
    uint8_t rgb[3];

    memset(&look, 0, sizeof look);
    look.read = plug_nose_rgb(r, rgb);
    look.nose = (struct rgba){rgb[0], rgb[1], rgb[2], 255};
    look.strap_deg = (int16_t)plug_strap_deg(r, cylinder);
    if (r == NULL)
        return look;
    look.wet = (uint8_t)(r->amount[SIGN_OIL_WET] > 0 ? r->amount[SIGN_OIL_WET] : r->amount[SIGN_FUEL_WET] > 0 ? r->amount[SIGN_FUEL_WET] : 0);
    look.soot = (uint8_t)(r->amount[SIGN_DRY_CARBON] > 0 ? r->amount[SIGN_DRY_CARBON] : 0);
    look.ash = (uint8_t)(r->amount[SIGN_OIL_ASH] > 0 ? r->amount[SIGN_OIL_ASH] : 0);
    look.specks = (uint8_t)(r->amount[SIGN_METAL_SPECKS] > 0 ? r->amount[SIGN_METAL_SPECKS] : 0);
    look.blister = (uint8_t)(r->amount[SIGN_BLISTERED] > 0 ? r->amount[SIGN_BLISTERED] : 0);
    return look;
}

/* Lays a colour over a pixel by coverage. */
static void over(uint8_t *p, float r, float g, float b, float cover)
{
    float a0 = (float)p[3] / 255, a;

    if (cover <= 0)
        return;
    if (cover >= 1) { /* what is below does not show */
        p[0] = byte(r), p[1] = byte(g), p[2] = byte(b), p[3] = 255;
        return;
    }
    a = cover + a0 * (1 - cover);
    p[0] = byte((r * cover + (float)p[0] * a0 * (1 - cover)) / a);
    p[1] = byte((g * cover + (float)p[1] * a0 * (1 - cover)) / a);
    p[2] = byte((b * cover + (float)p[2] * a0 * (1 - cover)) / a);
    p[3] = byte(a * 255);
}

static float hash01(int x, int y)
{
    uint32_t h = (uint32_t)x * 374761393u + (uint32_t)y * 668265263u;

    h = (h ^ (h >> 13)) * 1274126177u;
    return (float)(h >> 8 & 0xFFFF) / 65535;
}

/* Smooth grain: the surface of a deposit. */
static float grain(float x, float y)
{
    int ix = (int)floorf(x), iy = (int)floorf(y);
    float fx = x - (float)ix, fy = y - (float)iy;

    fx = fx * fx * (3 - 2 * fx);
    fy = fy * fy * (3 - 2 * fy);
    return (hash01(ix, iy) * (1 - fx) + hash01(ix + 1, iy) * fx) * (1 - fy) +
           (hash01(ix, iy + 1) * (1 - fx) + hash01(ix + 1, iy + 1) * fx) * fy;
}

static float mix(float a, float b, float t)
{
    return a + (b - a) * (t < 0 ? 0 : t > 1 ? 1 : t);
}

static void paint(uint8_t *rgba, int w, int h, const void *ctx)
{
    const struct bore_look *k = ctx;
    float cx = (float)w / 2, cy = (float)h / 2, R = (float)(w < h ? w : h) / 2 - 0.5f;
    float turn = (float)k->strap_deg * PI / 180, sx = sinf(turn), sy = -cosf(turn);
    float shell = 0.70f * R, gap = 0.52f * R, nose = 0.40f * R, pin = 0.135f * R;
    float dirt = (float)k->soot * 0.16f + (float)k->wet * 0.10f;

    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            uint8_t *p = rgba + ((size_t)y * (size_t)w + (size_t)x) * 4;
            float dx = (float)x + 0.5f - cx, dy = (float)y + 0.5f - cy, d = hypotf(dx, dy);
            float light = 0.5f - 0.5f * (dx + dy) / (1.42f * R); /* from the upper left */
            float g = grain((float)x * 34 / R, (float)y * 34 / R);
            float v;

            if (d > R + 1)
                continue;
            if (gap - d + 0.5f < 1) { /* not all covered by the insulator */
                /* hex shoulder, rim, shell face */
                over(p, 74, 73, 71, R - d + 0.5f);
                v = mix(118, 178, light) + 8 * (g - 0.5f);
                over(p, v, v, v - 3, 0.955f * R - d + 0.5f);
                v = mix(178, 112, light);
                over(p, v, v - 1, v - 4, 0.78f * R - d + 0.5f);
                v = mix(142, 168, light) * (1 - dirt * 0.7f) + 10 * (g - 0.5f);
                over(p, v, v - 1, v - 4, 0.76f * R - d + 0.5f);
                /* the annular space: dark, a little light at its far wall */
                v = mix(46, 30, (d - gap) / (shell - gap)) + 10 * (1 - light);
                over(p, v, v - 3, v - 6, shell - d + 0.5f);
            }
            /* insulator: a cone, lit from the side */
            if (d < gap + 1) {
                float shade = 0.72f + 0.36f * light - 0.22f * (d / gap) * (d / gap);
                float nr = (float)k->nose.r, ng = (float)k->nose.g, nb = (float)k->nose.b;
                float mottle = 1 + 0.10f * (g - 0.5f) * (k->read ? 1.0f : 0.2f);

                if (k->soot > 0) { /* velvet: darker in patches */
                    float patch = grain((float)x * 9 / R + 31, (float)y * 9 / R + 7);

                    mottle *= mix(1, 0.55f, (patch - 0.62f + 0.2f * (float)k->soot) * 2);
                }
                if (k->ash > 0 && grain((float)x * 14 / R + 11, (float)y * 14 / R + 3) > 0.82f - 0.12f * (float)k->ash) {
                    nr = mix(nr, 226, 0.7f), ng = mix(ng, 214, 0.7f), nb = mix(nb, 190, 0.7f);
                }
                if (k->blister > 0 && grain((float)x * 20 / R + 5, (float)y * 20 / R + 9) > 0.80f) {
                    nr = mix(nr, 150, 0.5f), ng = mix(ng, 140, 0.5f), nb = mix(nb, 128, 0.5f);
                }
                over(p, nr * shade * mottle * 0.74f, ng * shade * mottle * 0.74f, nb * shade * mottle * 0.74f, gap - d + 0.5f);
                over(p, nr * shade * mottle, ng * shade * mottle, nb * shade * mottle, nose - d + 0.5f);
                if (k->specks > 0 && hash01((int)((float)x * 26 / R), (int)((float)y * 26 / R)) > 0.985f - 0.008f * (float)k->specks)
                    over(p, 214, 216, 220, nose - d);
                if (k->wet > 0) { /* a bright edge of the film */
                    float hx = dx + 0.18f * R, hy = dy + 0.20f * R, q = hypotf(hx, hy * 1.3f);

                    over(p, 250, 250, 250, (0.6f - fabsf(q - 0.10f * R) / (0.035f * R)) * 0.8f);
                }
            }
            /* centre electrode */
            v = mix(92, 150, light) * (1 - dirt * 0.5f);
            over(p, 40, 38, 36, pin * 1.14f - d + 0.5f);
            over(p, v, v - 2, v - 4, pin - d + 0.5f);
            /* side electrode: from the shell's face over the middle */
            {
                float along = dx * sx + dy * sy, aside = dx * sy - dy * sx;
                float half = 0.135f * R, from = -0.20f * R, to = 0.80f * R;
                float c = fminf(fminf(half - fabsf(aside), along - from), to - along) + 0.5f;
                float sc = fminf(fminf(half - fabsf(aside - 0.045f * R), along - from + 0.02f * R), to - along) + 0.5f;

                over(p, 14, 13, 12, fminf(sc, 1) * (sc > 0 ? 0.42f : 0)); /* its shadow */
                v = mix(128, 174, 0.5f - aside / (2 * half) * (sy > 0 ? -1 : 1)) * (1 - dirt * 0.55f) + 8 * (g - 0.5f);
                over(p, v, v - 2, v - 8, c);
                over(p, mix(v, 235, 0.55f), mix(v, 232, 0.55f), mix(v, 224, 0.55f),
                     c > 0 ? fminf(c, 0.9f - fabsf(aside - half * 0.80f * (sy > 0 ? -1 : 1)) / (0.03f * R + 0.6f)) : 0);
            }
        }
}

void bore_draw(struct ui *ui, struct rect r, const struct bore_look *look)
{
    ui_painting(ui, r, ui_hash(look, sizeof *look, 0xB0E), paint, look, sizeof *look);
}

enum level gap_level(const struct engine_plug_spec *spec, double mm)
{
    switch (gap_against(spec, mm)) {
    case GAP_PAST_LIMIT: return LEVEL_ACT;
    case GAP_OVER:
    case GAP_UNDER: return LEVEL_WATCH;
    case GAP_HAIR_OVER:
    case GAP_IN_RANGE: break;
    }
    return LEVEL_NONE;
}

enum level model_gap_level(const struct model *m, const struct reading *r)
{
    enum level level = gap_level(&m->record->engine.plug, r->gap_mm.value);

    for (int i = 0; m->findings != NULL && i < m->findings->n_stand_outs; i++) {
        const struct stand_out *o = &m->findings->stand_outs[i];

        /* of several plugs in a cylinder the one it is said of; one out of its range shows that by its own figure */
        if (strcmp(o->measure, "gap") == 0 && (o->cylinders >> r->cylinder & 1u) != 0 && (m->record->engine.n_positions == 1 || o->position == r->position) && o->level > level && o->level != LEVEL_NOTE)
            level = o->level;
    }
    return level;
}

void bore_well(struct ui *ui, float x, float y, float radius, const struct reading *r)
{
    float band = radius * 0.0824f;
    uint8_t rgb[3];

    /* oil standing in the well: a crescent under the bore, darker the more there is */
    if (plug_well_rgb(r, rgb))
        ui_arc(ui, x, y, radius + band, band + 2, 90, 270, (struct rgba){rgb[0], rgb[1], rgb[2], 255});
}

void bore_open(struct ui *ui, float x, float y, float radius)
{
    ui_ring(ui, x, y, radius * 0.98f, 2, (struct rgba){90, 90, 90, 255});
    ui_ring(ui, x, y, radius * 0.62f, 1, (struct rgba){104, 104, 104, 255});
    if (radius > 40)
        ui_text(ui, (struct rect){x - radius, y - 10, 2 * radius, 20}, "not read", &(struct ui_style){.size_px = 11, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
}

void bore_show(struct ui *ui, float x, float y, float radius, const struct reading *r, const struct logbook_photo *photo, const struct plug_cut *cut, int cylinder)
{
    struct rect disc = {x - radius, y - radius, 2 * radius, 2 * radius};
    uint8_t rgb[3];

    bore_well(ui, x, y, radius, r);
    if (photo != NULL && photo_ready(photo)) {
        float side = (float)(photo->width < photo->height ? photo->width : photo->height);
        float cw = photo->width > 0 ? side / (float)photo->width : 1, ch = photo->height > 0 ? side / (float)photo->height : 1;

        ui_disc(ui, x, y, radius + 1, (struct rgba){74, 73, 71, 255});
        ui_image(ui, disc, photo_key(photo->sha256, false), (struct rect){(1 - cw) / 2, (1 - ch) / 2, cw, ch}, photo->turn, true);
        if (cut != NULL) /* its picture may still be on its way */
            ui_image(ui, disc, cut->key, (struct rect){0, 0, 1, 1}, 0, true);
    } else if (r != NULL && reading_tells_plug(r)) {
        struct bore_look look = bore_look_of(r, cylinder);

        bore_draw(ui, disc, &look);
    } else { /* nothing known: an open bore */
        bore_open(ui, x, y, radius);
        if (r != NULL && r->present && reading_zone_looked(r, ZONE_WELL) && !plug_well_rgb(r, rgb)) /* its well was found dry */
            ui_ring(ui, x, y, radius + 3, 2, ui_rgba(UI_DESK_TEXT));
    }
}
