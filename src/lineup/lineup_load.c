#include "lineup/lineup_load.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/files.h"
#include "base/mem.h"
#include "logbook/cache.h"
#include "photo/photo.h"

struct loader {
    struct logbook *lb;
    struct cache *cache;
    struct arena *a;
    enum crop_view view;
};

static bool decode(struct loader *l, const struct logbook_photo *p, struct photo_pixels *px, double *focal_px)
{
    char path[FILES_PATH_BYTES], *data;
    struct photo_info info;
    size_t n_bytes;
    bool fine;

    if (!logbook_photo_path(l->lb, p->sha256, p->format, path, sizeof path) || !files_read(path, PHOTO_MAX_FILE_BYTES, &data, &n_bytes, NULL))
        return false;
    fine = photo_decode((const uint8_t *)data, n_bytes, LINEUP_DECODE_PX, NULL, px, &info, NULL);
    free(data);
    if (fine)
        *focal_px = info.focal_as_35mm_mm / 36 * fmax(px->width, px->height); /* a film frame is 36 mm wide */
    return fine;
}

static void keep(struct loader *l, const uint8_t *jpeg, size_t n_jpeg, struct lineup_cell *cell)
{
    uint8_t *own = arena_alloc(l->a, n_jpeg, 1);

    memcpy(own, jpeg, n_jpeg);
    cell->jpeg = own;
    cell->n_jpeg = n_jpeg;
}

/* Packed: a line of figures stands before the JPEG. */
static bool keep_packed(struct loader *l, const uint8_t *bytes, size_t n_bytes, struct lineup_cell *cell)
{
    struct lineup_cut facts;
    const uint8_t *jpeg;
    size_t n_jpeg;

    if (!lineup_cut_unpack(bytes, n_bytes, &facts, &jpeg, &n_jpeg))
        return false;
    keep(l, jpeg, n_jpeg, cell);
    cell->to_scale = true;
    cell->light = facts.light;
    return true;
}

static bool load_cut(struct loader *l, const struct logbook_photo *p, const struct lineup_plan *plan, struct lineup_cell *cell)
{
    enum cache_kind kind = l->view == CROP_TIP ? CACHE_TIP : CACHE_SIDE;
    int version = lineup_plan_version(plan);
    struct photo_pixels px;
    struct lineup_cut cut;
    double focal_px;
    uint8_t *bytes;
    size_t n_bytes;
    bool fine;

    if (cache_get(l->cache, p->sha256, kind, version, &bytes, &n_bytes)) {
        fine = keep_packed(l, bytes, n_bytes, cell);
        free(bytes);
        if (fine)
            return true;
    }
    if (!decode(l, p, &px, &focal_px))
        return false;
    fine = lineup_cut_make(plan, &px, focal_px, &cut, NULL);
    photo_pixels_release(&px);
    if (!fine)
        return false;
    fine = lineup_cut_pack(&cut, &bytes, &n_bytes);
    lineup_cut_release(&cut);
    if (!fine)
        return false;
    cache_put(l->cache, p->sha256, kind, version, bytes, n_bytes);
    fine = keep_packed(l, bytes, n_bytes, cell);
    free(bytes);
    return fine;
}

static void load_middle(struct loader *l, const struct logbook_photo *p, struct lineup_cell *cell)
{
    struct photo_pixels px, middle;
    double focal_px;
    uint8_t *jpeg;
    size_t n_jpeg;

    if (!decode(l, p, &px, &focal_px))
        return;
    if (lineup_middle_make(&px, logbook_photo_turn_deg(p), &middle)) {
        if (photo_encode_jpeg(&middle, 90, &jpeg, &n_jpeg, NULL)) {
            keep(l, jpeg, n_jpeg, cell);
            free(jpeg);
        }
        photo_pixels_release(&middle);
    }
    photo_pixels_release(&px);
}

static bool load_visit(struct loader *l, const struct record *r, int visit, struct lineup_cell *cells, struct err *e)
{
    const struct engine *en = &r->engine;
    const char *id = r->visits[visit].id;
    struct logbook_photo *photos;
    struct logbook_mark *marks;
    struct logbook_crop *crops;
    struct lineup_plan *plan;
    size_t n, n_marks, n_crops;

    if (!logbook_list_photos(l->lb, id, l->a, &photos, &n, e) || !logbook_list_marks(l->lb, id, l->a, &marks, &n_marks, e) ||
        !logbook_list_crops(l->lb, id, l->a, &crops, &n_crops, e))
        return false;
    plan = mem_alloc(1, sizeof *plan);
    for (int i = 0; i < record_plug_count(en) && n > 0; i++) {
        int cylinder = i / en->n_positions, position = i % en->n_positions;
        const struct logbook_photo *p = lineup_pick(photos, n, marks, n_marks, crops, n_crops, cylinder, position, l->view, en->plug.thread, plan);

        if ((p == NULL || !load_cut(l, p, plan, &cells[i])) && l->view == CROP_TIP && (p = logbook_bore_photo(photos, n, cylinder, position)) != NULL)
            load_middle(l, p, &cells[i]);
    }
    free(plan);
    return true;
}

bool lineup_load(struct logbook *lb, const struct record *r, enum crop_view view, struct arena *a, struct lineup_cell **cells, struct err *e)
{
    struct loader l = {.lb = lb, .cache = cache_open(logbook_folder(lb)), .a = a, .view = view};
    size_t n_plugs = (size_t)record_plug_count(&r->engine);
    bool fine = true;

    *cells = arena_alloc(a, (size_t)r->n_visits * n_plugs + 1, sizeof **cells);
    for (int v = 0; v < r->n_visits && fine; v++)
        fine = load_visit(&l, r, v, *cells + (size_t)v * n_plugs, e);
    cache_close(l.cache);
    return fine;
}
