#include "placing/placing.h"

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "photo/place.h"
#include "photo/pool.h"
#include "placing/old_photos.h"
#include "placing/placing_later.h"

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

/* Sorted into: those that wait, by the name of their file and by time; those that have their place. */
struct sorted {
    const struct record *r;
    const struct logbook_photo *photos;
    size_t n;
    struct photo_proposal *out;
    size_t *which, n_waiting, n_named;  /* indices of those that wait and are not told by their names */
    struct aside {                      /* of these, those taken out because nothing tells where they belong: */
        size_t n;
        const char *first;              /* name of the first of them */
    } untold, damaged;                  /* without a time; without a picture */
    struct later_taken *taken;          /* of a plug itself, with a place or one by name */
    size_t n_taken, n_taken_untold;
    double *besides, last_beside_s;     /* of something else: their times, the last of them */
    size_t n_besides;
    bool has[ZONE_COUNT];               /* there is a photo of it */
};

/* A photo that stands in the bore shows the plug there; by name a second one never does. */
static bool is_shown(const struct sorted *s, size_t i, int cylinder, int position)
{
    const struct logbook_photo *shown = logbook_bore_photo(s->photos, s->n, cylinder, position);

    if (shown != NULL)
        return shown == &s->photos[i];
    for (size_t k = 0; k < s->n; k++)
        if (s->out[k].cylinder == cylinder && s->out[k].position == position && s->out[k].zone == ZONE_FIRING_END)
            return k == i;
    return false;
}

static bool has_end(const struct sorted *s, int cylinder, int position)
{
    if (logbook_bore_photo(s->photos, s->n, cylinder, position) != NULL)
        return true;
    for (size_t k = 0; k < s->n; k++)
        if (s->out[k].cylinder == cylinder && s->out[k].position == position && s->out[k].zone == ZONE_FIRING_END)
            return true;
    return false;
}

static void by_names(struct sorted *s)
{
    for (size_t i = 0; i < s->n; i++) {
        struct photo_proposal p;

        if (!logbook_photo_waits(&s->photos[i]))
            continue;
        if (!old_photos_plug(&s->r->engine, s->photos[i].name, &p.cylinder, &p.position, &p.zone)) {
            if (s->n_waiting < PLACE_MAX_PHOTOS)
                s->which[s->n_waiting++] = i;
            continue;
        }
        if (p.zone < 0 || p.zone == ZONE_FIRING_END)
            p.zone = has_end(s, p.cylinder, p.position) ? -1 : ZONE_FIRING_END;
        s->out[i] = p;
        s->n_named++;
    }
}

/* What is known of those that have a place, or one by their name. */
static void look_around(struct sorted *s)
{
    for (size_t i = 0; i < s->n; i++) {
        const struct logbook_photo *p = &s->photos[i];
        struct photo_proposal at = p->cylinder >= 0 ? (struct photo_proposal){p->cylinder, p->position > 0 ? p->position : 0, p->zone} : s->out[i];
        double t;
        bool timed = place_parse_time(p->taken, &t);

        if (at.cylinder < 0)
            continue;
        if (at.zone >= 0)
            s->has[at.zone] = true;
        if (at.zone < 0 || at.zone == ZONE_FIRING_END || at.zone == ZONE_THREADS || at.zone == ZONE_BODY) {
            bool shown = is_shown(s, i, at.cylinder, at.position);

            if (timed)
                s->taken[s->n_taken++] = (struct later_taken){t, record_plug_index(&s->r->engine, at.cylinder, at.position), shown};
            s->n_taken_untold += shown && !timed;
        } else if (timed) {
            s->last_beside_s = s->n_besides == 0 || t > s->last_beside_s ? t : s->last_beside_s;
            s->besides[s->n_besides++] = t;
        }
    }
}

static bool is_untold(const struct logbook_photo *p)
{
    double t;

    return !place_parse_time(p->taken, &t);
}

static bool is_damaged(const struct logbook_photo *p)
{
    return p->trouble[0] != '\0';
}

/* The others can be told without them. */
static void set_aside(struct sorted *s, bool (*is)(const struct logbook_photo *), struct aside *out)
{
    size_t n = 0;

    for (size_t k = 0; k < s->n_waiting; k++) {
        const struct logbook_photo *p = &s->photos[s->which[k]];

        if (!is(p))
            s->which[n++] = s->which[k];
        else if (out->n++ == 0)
            out->first = p->name;
    }
    s->n_waiting = n;
}

/* The passes that nothing was photographed of yet; the plugs last. */
static size_t find_passes(const struct sorted *s, struct arena *a, struct place_pass *passes)
{
    const struct engine *en = &s->r->engine;
    const struct visit *v = record_current(s->r);
    struct place_seat *seats = arena_alloc(a, ENGINE_MAX_PLUGS, sizeof *seats);
    struct place_seat *coils = arena_alloc(a, ENGINE_MAX_PLUGS, sizeof *coils);
    size_t n = 0;

    for (int i = 0; i < v->n_removal; i++) {
        struct plug_place at = visit_drawn(v, i);

        seats[i] = (struct place_seat){at.cylinder, at.position};
    }
    if (engine_may_have_wells(en) && !s->has[ZONE_WELL])
        passes[n++] = (struct place_pass){ZONE_WELL, "well", "wells", seats, (size_t)v->n_removal};
    if (en->ignition == ENGINE_COIL_PER_PLUG && !s->has[ZONE_COIL])
        passes[n++] = (struct place_pass){ZONE_COIL, "coil", "coils", coils, find_coils(en, seats, (size_t)v->n_removal, coils)};
    passes[n++] = (struct place_pass){ZONE_FIRING_END, "plug", "plugs", seats, (size_t)v->n_removal};
    return n;
}

/* A part of the order is not the whole of it: only as many photos as it has plugs are laid along it. */
static bool order_is_partial(const struct sorted *s, char *sentence, size_t n_room)
{
    const int n = record_current(s->r)->n_removal, n_all = record_plug_count(&s->r->engine);

    if (n == 0 || n >= n_all || s->n_waiting == (size_t)n)
        return false;
    text_format(sentence, n_room, "The order holds only %d of %d plugs. Draw the rest of it, then photos can be laid along it.", n, n_all);
    return true;
}

/* No plug has a photo yet: they are laid along the order drawn. */
static void lay_first(struct sorted *s, struct arena *a, char *sentence, size_t n_room)
{
    struct place_photo *given = arena_alloc(a, s->n_waiting, sizeof *given);
    struct place_choice *choices = arena_alloc(a, s->n_waiting, sizeof *choices);
    struct place_pass passes[3];
    size_t n_passes = find_passes(s, a, passes);

    if (order_is_partial(s, sentence, n_room))
        return;
    for (size_t k = 0; k < s->n_waiting; k++) {
        const struct logbook_photo *p = &s->photos[s->which[k]];

        given[k].time_given = place_parse_time(p->taken, &given[k].taken_s);
        given[k].name = p->name;
        if (s->n_besides > 0 && given[k].time_given && given[k].taken_s < s->last_beside_s) {
            text_copy(sentence, n_room, "Some of these were taken before photos whose plugs are known, so no order is known.");
            return;
        }
    }
    if (place_propose(given, s->n_waiting, passes, n_passes, choices, sentence, n_room) != PLACE_PROPOSED)
        return;
    for (size_t k = 0; k < s->n_waiting; k++)
        if (choices[k].pass >= 0) {
            const struct place_pass *pass = &passes[choices[k].pass];
            const struct place_seat *seat = &pass->seats[choices[k].seat];

            s->out[s->which[k]] = (struct photo_proposal){seat->cylinder, seat->position, pass->zone};
        }
}

/* Plugs have photos: what is known of these says where the others go. */
static void lay_later(struct sorted *s, struct arena *a, char *sentence, size_t n_room)
{
    const struct engine *en = &s->r->engine;
    struct place_pass passes[3];
    struct later l = {.taken = s->taken, .n_taken = s->n_taken, .besides = s->besides, .n_besides = s->n_besides, .n_waiting = s->n_waiting, .passes = passes,
                      .n_plugs = record_plug_count(en), .n_positions = en->n_positions};

    l.n_passes = find_passes(s, a, passes) - 1;
    l.order = passes[l.n_passes].seats;
    l.n_order = passes[l.n_passes].n_seats;
    l.no_wells = !engine_may_have_wells(en) && en->ignition != ENGINE_COIL_PER_PLUG;
    if (s->n_taken_untold > 0) {
        text_copy(sentence, n_room, "Photos whose plugs are known do not tell when they were taken, so nothing says which plugs these show.");
        return;
    }
    l.waiting = arena_alloc(a, s->n_waiting, sizeof *l.waiting);
    for (size_t k = 0; k < s->n_waiting; k++) {
        const struct logbook_photo *p = &s->photos[s->which[k]];

        l.waiting[k].name = p->name;
        l.waiting[k].index = s->which[k];
        (void)place_parse_time(p->taken, &l.waiting[k].s);
    }
    placing_later(&l, sentence, n_room);
    for (size_t k = 0; k < s->n_waiting; k++)
        if (l.waiting[k].plug >= 0)
            s->out[l.waiting[k].index] = (struct photo_proposal){l.waiting[k].plug / en->n_positions, l.waiting[k].plug % en->n_positions, l.waiting[k].zone};
}

static bool lay(struct sorted *s, struct arena *a, char *sentence, size_t n_room)
{
    if (s->n_waiting == 0)
        return false;
    if (s->n_taken + s->n_taken_untold > 0)
        lay_later(s, a, sentence, n_room);
    else
        lay_first(s, a, sentence, n_room);
    for (size_t k = 0; k < s->n_waiting; k++)
        if (s->out[s->which[k]].cylinder >= 0)
            return true;
    return false;
}

/* "side.jpg does not tell when it was taken: it stays here." */
static void say_aside(const struct aside *x, const char *one, const char *many, struct text *t)
{
    if (x->n > 0)
        text_addf(t, "%s%s", t->n_bytes > 0 && t->s[t->n_bytes - 1] != '.' ? ". " : t->n_bytes > 0 ? " " : "", x->first);
    if (x->n == 1)
        text_addf(t, " %s: it stays here.", one);
    else if (x->n > 1)
        text_addf(t, " and %zu more %s: they stay here.", x->n - 1, many);
}

bool placing_propose(const struct record *r, const struct logbook_photo *photos, size_t n, struct arena *a, struct photo_proposal *out, char *sentence, size_t n_room)
{
    struct sorted s = {.r = r, .photos = photos, .n = n, .out = out};
    char rest[400] = "";
    struct text said = {0};
    size_t n_timed;

    s.which = arena_alloc(a, n + 1, sizeof *s.which);
    s.taken = arena_alloc(a, n + 1, sizeof *s.taken);
    s.besides = arena_alloc(a, n + 1, sizeof *s.besides);
    for (size_t i = 0; i < n; i++)
        out[i] = (struct photo_proposal){.cylinder = -1};
    by_names(&s);
    if (s.n_waiting + s.n_named == 0)
        return false;
    look_around(&s);
    set_aside(&s, is_untold, &s.untold);
    /* A damaged photo tells by its time where it belongs, unless it is the very one that fits nowhere. */
    if (!lay(&s, a, rest, sizeof rest)) {
        char without[400] = "";

        n_timed = s.n_waiting;
        set_aside(&s, is_damaged, &s.damaged);
        if (s.n_waiting < n_timed && lay(&s, a, without, sizeof without))
            text_copy(rest, sizeof rest, without);
        else
            s.damaged.n = 0;
    }
    if (s.n_named > 0)
        text_addf(&said, s.n_named == 1 ? "%zu by its name%s" : "%zu by their names%s", s.n_named, rest[0] ? "; " : "");
    text_add(&said, rest);
    say_aside(&s.damaged, "cannot be opened", "cannot be opened", &said);
    say_aside(&s.untold, "does not tell when it was taken", "do not tell when they were taken", &said);
    text_copy(sentence, n_room, text_get(&said));
    text_release(&said);
    return true;
}
