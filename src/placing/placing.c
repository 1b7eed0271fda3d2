#include "placing/placing.h"

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "photo/place.h"
#include "photo/pool.h"

bool placing_record(struct logbook *lb, const char *visit_id, const struct photo_result *r, int64_t sort, struct err *e)
{
    struct logbook_photo p = {.cylinder = -1, .position = -1, .zone = -1, .sort = sort};

    text_copy(p.visit, sizeof p.visit, visit_id);
    text_copy(p.sha256, sizeof p.sha256, r->sha256);
    text_copy(p.name, sizeof p.name, files_name(r->path));
    text_sanitize(p.name, sizeof p.name);
    text_copy(p.format, sizeof p.format, photo_format_id(r->info.format));
    text_copy(p.taken, sizeof p.taken, r->info.taken);
    p.offset_given = r->info.offset_given;
    p.offset_min = r->info.offset_min;
    if (r->ok) {
        p.width = r->info.width;
        p.height = r->info.height;
    } else {
        text_copy(p.trouble, sizeof p.trouble, r->err.text);
    }
    logbook_photo_id(visit_id, r->sha256, p.id);
    return logbook_is_there(lb, "photo", p.id) || logbook_put_photo(lb, &p, e);
}

void placing_keep_pictures(struct cache *cache, const struct photo_result *r)
{
    if (r->thumb_jpeg != NULL)
        cache_put(cache, r->sha256, CACHE_THUMB, PHOTO_PREVIEW_VERSION, r->thumb_jpeg, r->n_thumb_jpeg);
    if (r->preview_jpeg != NULL)
        cache_put(cache, r->sha256, CACHE_PREVIEW, PHOTO_PREVIEW_VERSION, r->preview_jpeg, r->n_preview_jpeg);
}

/* One place a coil, where its first plug is drawn: a coil sits on its cylinder and serves all plugs of
 * it, or on a group of cylinders where the engine's card says so. */
static size_t find_coils(const struct engine *en, const struct place_seat *plugs, size_t n_plugs, struct place_seat *coils)
{
    engine_set seen = 0;
    size_t n = 0;

    for (size_t i = 0; i < n_plugs; i++) {
        engine_set own = (engine_set)1 << plugs[i].cylinder;

        for (int g = 0; g < en->n_coil_groups; g++)
            if (en->coil_groups[g] & own)
                own |= en->coil_groups[g];
        if ((seen & own) == 0)
            coils[n++] = plugs[i];
        seen |= own;
    }
    return n;
}

bool placing_propose(const struct record *r, const struct logbook_photo *photos, size_t n, struct arena *a,
                     struct photo_proposal *out, char *sentence, size_t n_room)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    struct place_photo *given = arena_alloc(a, n, sizeof *given);
    struct place_choice *choices = arena_alloc(a, n, sizeof *choices);
    struct place_seat *seats = arena_alloc(a, ENGINE_MAX_PLUGS, sizeof *seats);
    struct place_seat *coils = arena_alloc(a, ENGINE_MAX_PLUGS, sizeof *coils);
    size_t *which = arena_alloc(a, n, sizeof *which), n_given = 0, n_passes = 0;
    struct place_pass passes[3];

    for (size_t i = 0; i < n; i++) {
        out[i] = (struct photo_proposal){.cylinder = -1};
        if (!logbook_photo_waits(&photos[i]) || n_given == PLACE_MAX_PHOTOS)
            continue;
        given[n_given].time_given = place_parse_time(photos[i].taken, &given[n_given].taken_s);
        given[n_given].name = photos[i].name;
        which[n_given++] = i;
    }
    if (n_given == 0)
        return false;
    for (int i = 0; i < v->n_removal; i++) {
        struct plug_place at = visit_drawn(v, i);

        seats[i] = (struct place_seat){at.cylinder, at.position};
    }
    if (en->access != ENGINE_ACCESS_OPEN)
        passes[n_passes++] = (struct place_pass){ZONE_WELL, "well", "wells", seats, (size_t)v->n_removal};
    if (en->ignition == ENGINE_COIL_PER_PLUG)
        passes[n_passes++] = (struct place_pass){ZONE_COIL, "coil", "coils", coils, find_coils(en, seats, (size_t)v->n_removal, coils)};
    passes[n_passes++] = (struct place_pass){ZONE_FIRING_END, "plug", "plugs", seats, (size_t)v->n_removal};
    if (place_propose(given, n_given, passes, n_passes, choices, sentence, n_room) == PLACE_PROPOSED)
        for (size_t k = 0; k < n_given; k++)
            if (choices[k].pass >= 0) {
                const struct place_pass *pass = &passes[choices[k].pass];
                const struct place_seat *seat = &pass->seats[choices[k].seat];

                out[which[k]] = (struct photo_proposal){seat->cylinder, seat->position, pass->zone};
            }
    return true;
}
