#include "placing/old_photos.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "photo/photo.h"
#include "photo/pool.h"
#include "placing/placing.h"

/* ---- names ---- */

static int figures(const char *s, size_t n)
{
    int v = 0;

    for (size_t i = 0; i < n; i++) {
        if (!isdigit((unsigned char)s[i]))
            return -1;
        v = v * 10 + s[i] - '0';
    }
    return v;
}

static bool make_date(int year, int month, int day, char iso[11])
{
    int y, m, d;

    if (year < 1950 || year > 2199 || month < 1 || month > 12 || day < 1 || day > 31)
        return false;
    text_format(iso, 11, "%04d-%02d-%02d", year, month, day);
    return clock_parse_date(iso, &y, &m, &d);
}

bool old_photos_date(const char *name, char iso[11], size_t *at, size_t *n)
{
    size_t len = strlen(name);

    for (size_t i = 0; i < len; i++) {
        const char *s = name + i;
        bool begins = i == 0 || !isdigit((unsigned char)s[-1]);

        if (!begins || !isdigit((unsigned char)s[0]))
            continue;
        *at = i;
        *n = 10;
        if (len - i >= 10 && strchr("-_. ", s[4]) != NULL && s[4] == s[7] && !isdigit((unsigned char)s[10]) &&
            make_date(figures(s, 4), figures(s + 5, 2), figures(s + 8, 2), iso))
            return true;
        if (len - i >= 10 && strchr(".-_", s[2]) != NULL && s[2] == s[5] && !isdigit((unsigned char)s[10]) &&
            make_date(figures(s + 6, 4), figures(s + 3, 2), figures(s, 2), iso))
            return true;
        *n = 8;
        if (len - i >= 8 && !isdigit((unsigned char)s[8]) && make_date(figures(s, 4), figures(s + 4, 2), figures(s + 6, 2), iso))
            return true;
    }
    return false;
}

/* Small letters and figures, one blank between words, a blank where letters and figures meet. */
static void plain(const char *s, bool split, char *to, size_t n_room)
{
    size_t n = 0;

    for (; *s != '\0' && n + 3 < n_room; s++) {
        unsigned char c = (unsigned char)*s;

        if (!isalnum(c) && c < 0x80) {
            if (n > 0 && to[n - 1] != ' ')
                to[n++] = ' ';
            continue;
        }
        if (split && n > 0 && to[n - 1] != ' ' && (isdigit(c) != 0) != (isdigit((unsigned char)to[n - 1]) != 0))
            to[n++] = ' ';
        to[n++] = (char)(c < 0x80 ? tolower(c) : c);
    }
    while (n > 0 && to[n - 1] == ' ')
        n--;
    to[n] = '\0';
}

static int zone_in(const char *words)
{
    static const struct {
        const char *word;
        enum zone zone;
    } rows[] = {{"well", ZONE_WELL}, {"schacht", ZONE_WELL}, {"boot", ZONE_BOOT}, {"coil", ZONE_COIL}, {"spule", ZONE_COIL}, {"lead", ZONE_LEAD}, {"kabel", ZONE_LEAD},
                {"connector", ZONE_CONNECTOR}, {"stecker", ZONE_CONNECTOR}, {"threads", ZONE_THREADS}, {"gewinde", ZONE_THREADS}, {"body", ZONE_BODY},
                {"end", ZONE_FIRING_END}, {"tip", ZONE_FIRING_END}, {"side", ZONE_FIRING_END}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *at = strstr(words, rows[i].word);
        size_t n = strlen(rows[i].word);

        if (at != NULL && (at == words || at[-1] == ' ') && (at[n] == '\0' || at[n] == ' '))
            return (int)rows[i].zone;
    }
    return -1;
}

/* The label at the beginning of the words, and the position behind it. */
static bool label_at(const struct engine *en, const char *words, int *cylinder, int *position)
{
    size_t n = strcspn(words, " ");
    char label[32];
    const char *rest = words + n + (words[n] == ' ');

    text_format(label, sizeof label, "%.*s", (int)n, words);
    *cylinder = -1;
    for (int c = 0; c < en->n_cylinders; c++)
        if (strcasecmp(en->cylinders[c].label, label) == 0)
            *cylinder = c;
    if (*cylinder < 0)
        return false;
    *position = 0;
    for (int p = 0; p < en->n_positions && en->n_positions > 1; p++) {
        size_t len = strlen(en->position_names[p]);

        if (strncasecmp(rest, en->position_names[p], len) == 0 && (rest[len] == '\0' || rest[len] == ' ')) {
            *position = p;
            return true;
        }
    }
    return en->n_positions == 1; /* which of its plugs is not said */
}

/* A word that names a zone at the beginning of the words; -1 none. */
static int zone_at(const char *words)
{
    char first[32];

    text_format(first, sizeof first, "%.*s", (int)strcspn(words, " "), words);
    return zone_in(first);
}

/* "six 3 end", "moth 2 top well", "v8 coil 6": a label beside the word for what is shown, wherever they stand. A figure behind the word
 * for the plug itself may as well count the pictures. */
static bool label_beside_zone(const struct engine *en, const char *words, int *cylinder, int *position, int *zone)
{
    for (const char *w = words; w != NULL; w = strchr(w, ' ') != NULL ? strchr(w, ' ') + 1 : NULL) {
        const char *behind = w + strcspn(w, " ");

        if (zone_at(w) > ZONE_FIRING_END && *behind == ' ' && strchr(behind + 1, ' ') == NULL && label_at(en, behind + 1, cylinder, position)) {
            *zone = zone_at(w);
            return true;
        }
        if (*behind == '\0' || !label_at(en, w, cylinder, position))
            continue;
        behind++;
        if (en->n_positions > 1)
            behind += strcspn(behind, " ") + (strchr(behind, ' ') != NULL);
        if (*behind != '\0' && zone_at(behind) >= 0) {
            *zone = zone_at(behind);
            return true;
        }
    }
    return false;
}

bool old_photos_plug(const struct engine *en, const char *name, int *cylinder, int *position, int *zone)
{
    static const char *const before[] = {"cylinder", "cyl", "zylinder", "zyl", "plug", "kerze", "no", "nr"};
    char rest[300], words[300], iso[11];
    size_t at, n;

    text_copy(rest, sizeof rest, name);
    if (strrchr(rest, '.') != NULL && photo_name_fits(rest))
        *strrchr(rest, '.') = '\0';
    if (old_photos_date(rest, iso, &at, &n))
        memmove(rest + at, rest + at + n, strlen(rest + at + n) + 1);
    for (int split = 0; split < 2; split++) { /* "a3" is a label of some engines, "zyl3" of none */
        plain(rest, split != 0, words, sizeof words);
        *zone = zone_in(words);
        for (size_t i = 0; i < sizeof before / sizeof before[0]; i++) {
            size_t len = strlen(before[i]);

            for (const char *w = strstr(words, before[i]); w != NULL; w = strstr(w + 1, before[i]))
                if ((w == words || w[-1] == ' ') && w[len] == ' ' && label_at(en, w + len + 1, cylinder, position))
                    return true;
        }
        /* only the label, or the label and a place seen */
        if (label_at(en, words, cylinder, position)) {
            const char *behind = words + strcspn(words, " ");

            if (*behind == '\0' || *zone >= 0 || en->n_positions > 1)
                return true;
        }
        if (split == 0 && label_beside_zone(en, words, cylinder, position, zone))
            return true;
    }
    return false;
}

/* ---- the folder ---- */

#define HEIC_MOST_BYTES ((size_t)8 << 20) /* the notes may stand behind the picture */

struct walk {
    const struct logbook_watch *watch;
    struct arena *a;
    struct old_photos *out;
    size_t n_room, n_root;
    const struct engine *en;
};

/* Phones' HEIC files are boxes within boxes, opened by a helper when they are taken in. For the day alone the TIFF
 * structure that holds it is looked for: its first eight bytes are always these, with the first directory right
 * behind (as every camera writes it). */
static void find_tiff(const uint8_t *data, size_t n, struct photo_info *out)
{
    static const uint8_t heads[2][8] = {{'I', 'I', 42, 0, 8, 0, 0, 0}, {'M', 'M', 0, 42, 0, 0, 0, 8}};

    for (size_t i = 0; i + 8 < n && out->taken[0] == '\0'; i++)
        if (memcmp(data + i, heads[0], 8) == 0 || memcmp(data + i, heads[1], 8) == 0)
            photo_read_exif(data + i, n - i, out);
}

/* The day the camera noted. */
static bool camera_date(const char *path, char iso[11])
{
    size_t room = 256 * 1024, n;
    uint8_t *data = mem_alloc(1, room);
    struct photo_info info = {.taken = ""};
    struct err ignored;
    FILE *f = fopen(path, "rb");
    int y, m, d;

    n = f != NULL ? fread(data, 1, room, f) : 0;
    if (n > 0 && photo_sniff(data, n) == PHOTO_HEIC) {
        find_tiff(data, n, &info);
        if (info.taken[0] == '\0') {
            data = mem_resize(data, 1, HEIC_MOST_BYTES);
            n += fread(data + n, 1, HEIC_MOST_BYTES - n, f);
            find_tiff(data, n, &info);
        }
    } else if (n > 0 && !photo_parse_info(data, n, &info, &ignored)) {
        info.taken[0] = '\0';
    }
    if (f != NULL)
        fclose(f);
    free(data);
    text_format(iso, 11, "%.10s", info.taken);
    return clock_parse_date(iso, &y, &m, &d);
}

static void add_file(struct walk *w, const char *path, const char *name, const char *folder_date, int cylinder, int position)
{
    void *items = w->out->photos;
    struct old_photo *p;
    size_t at, n;

    if (!photo_name_fits(name)) {
        w->out->n_others++;
        return;
    }
    p = arena_push(w->a, &items, &w->out->n, &w->n_room, sizeof *p);
    w->out->photos = items;
    *p = (struct old_photo){.path = arena_text(w->a, path), .shown = arena_text(w->a, path + w->n_root), .visit = -1, .cylinder = -1, .zone = -1};
    if (old_photos_date(name, p->date, &at, &n)) {
        p->by = OLD_DATE_NAME;
    } else if (folder_date[0] != '\0') {
        text_copy(p->date, sizeof p->date, folder_date);
        p->by = OLD_DATE_FOLDER;
    } else if (camera_date(path, p->date)) {
        p->by = OLD_DATE_CAMERA;
    } else {
        p->date[0] = '\0';
    }
    if (!old_photos_plug(w->en, name, &p->cylinder, &p->position, &p->zone)) {
        p->cylinder = cylinder; /* as the folder says */
        p->position = position;
    }
    if (p->cylinder >= 0 && p->zone < 0)
        p->zone = ZONE_FIRING_END;
}

static bool walk(struct walk *w, const char *folder, const char *date, int cylinder, int position, int depth, struct err *e)
{
    struct files_list list = {0};
    bool fine = true;

    if (!files_list_load(folder, &list, e))
        return false;
    for (size_t i = 0; fine && i < list.n_entries; i++) {
        const struct files_entry *f = &list.entries[i];
        char path[1024], iso[11];
        size_t at, n;

        if (!files_join(path, sizeof path, folder, f->name))
            continue;
        if (f->is_folder) {
            int c, p, z;

            text_copy(iso, sizeof iso, date);
            (void)old_photos_date(f->name, iso, &at, &n);
            if (!old_photos_plug(w->en, f->name, &c, &p, &z)) {
                c = cylinder;
                p = position;
            }
            if (iso[0] == '\0')
                text_copy(iso, sizeof iso, date);
            fine = depth >= OLD_PHOTOS_DEEP || walk(w, path, iso, c, p, depth + 1, e);
        } else {
            add_file(w, path, f->name, date, cylinder, position);
            if (w->watch != NULL && !w->watch->go_on(w->watch->ctx, "photos", w->out->n, 0))
                fine = err_set(e, ERR_CANCEL, "Stopped; nothing was taken in.");
            else
                fine = w->out->n <= OLD_PHOTOS_MOST || err_set(e, ERR_LIMIT, "%s holds more than %d photos. Take it over in parts.", folder, OLD_PHOTOS_MOST);
        }
    }
    files_list_release(&list);
    return fine;
}

/* ---- visits ---- */

static int by_date(const void *x, const void *y)
{
    const struct old_photo *a = x, *b = y;
    int order = strcmp(a->date, b->date);

    return order != 0 ? order : strcmp(a->path, b->path);
}

static int64_t day_of(const char *iso)
{
    int y, m, d;

    return clock_parse_date(iso, &y, &m, &d) ? clock_days(y, m, d) : 0;
}

/* The visit there is on that day, the latest of several; "" none. */
static void find_visit(struct logbook *lb, const struct logbook_visit *visits, size_t n, struct old_visit *v)
{
    for (size_t i = 0; i < n; i++) {
        char last[11];

        if (!logbook_get_text(lb, "visit", visits[i].id, "last_day", last, sizeof last))
            text_copy(last, sizeof last, visits[i].date);
        if (visits[i].date[0] != '\0' && strcmp(visits[i].date, v->last_day) <= 0 && strcmp(last, v->date) >= 0)
            text_copy(v->id, sizeof v->id, visits[i].id);
    }
}

static void group(struct logbook *lb, struct walk *w, const struct logbook_visit *visits, size_t n_there)
{
    struct old_photos *out = w->out;
    size_t n_room = 0;
    void *items = NULL;
    bool camera = false; /* the visit under way is dated by the camera alone */

    if (out->n > 0)
        qsort(out->photos, out->n, sizeof *out->photos, by_date);
    for (size_t i = 0; i < out->n; i++) {
        struct old_photo *p = &out->photos[i];
        struct old_visit *v = out->n_visits > 0 ? &out->visits[out->n_visits - 1] : NULL;

        if (p->date[0] == '\0') {
            out->n_undated++;
            continue;
        }
        if (v == NULL || (strcmp(v->last_day, p->date) != 0 && !(camera && p->by == OLD_DATE_CAMERA && day_of(p->date) - day_of(v->last_day) <= 1))) {
            v = arena_push(w->a, &items, &out->n_visits, &n_room, sizeof *v);
            out->visits = items;
            text_copy(v->date, sizeof v->date, p->date);
            camera = true;
        }
        camera = camera && p->by == OLD_DATE_CAMERA;
        text_copy(v->last_day, sizeof v->last_day, p->date);
        p->visit = (int)out->n_visits - 1;
        v->n_photos++;
        v->n_placed += p->cylinder >= 0;
    }
    for (size_t i = 0; i < out->n_visits; i++) {
        find_visit(lb, visits, n_there, &out->visits[i]);
        out->n_new_visits += out->visits[i].id[0] == '\0';
    }
}

bool old_photos_find(struct logbook *lb, const char *engine_id, const struct engine *en, const char *folder, const struct logbook_watch *watch, struct arena *a, struct old_photos *out,
                     struct err *e)
{
    struct walk w = {.a = a, .out = out, .en = en, .watch = watch, .n_root = strlen(folder)};
    struct logbook_visit *visits;
    char date[11] = "";
    size_t n, at, len;

    memset(out, 0, sizeof *out);
    while (folder[w.n_root] == '/')
        w.n_root++;
    if (w.n_root > 0 && folder[w.n_root - 1] != '/')
        w.n_root++;
    if (!old_photos_date(files_name(folder), date, &at, &len))
        date[0] = '\0';
    if (!logbook_list_visits(lb, engine_id, a, &visits, &n, e) || !walk(&w, folder, date, -1, 0, 0, e))
        return false;
    if (out->n == 0)
        return err_set(e, ERR_NOTFOUND, "There are no photos in %s.", folder);
    group(lb, &w, visits, n);
    return true;
}

void old_photos_words(const struct old_photos *p, char *to, size_t n_room)
{
    size_t n_placed = 0, n = p->n - p->n_undated;
    struct text t = {0};

    for (size_t i = 0; i < p->n_visits; i++)
        n_placed += p->visits[i].n_placed;
    text_addf(&t, "%zu photo%s of %zu visit%s (%zu new), %zu onto their plugs", n, n == 1 ? "" : "s", p->n_visits, p->n_visits == 1 ? "" : "s", p->n_new_visits, n_placed);
    if (p->n_undated > 0)
        text_addf(&t, "; %zu without a date stay%s out", p->n_undated, p->n_undated == 1 ? "s" : "");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* ---- into the logbook ---- */

static bool make_visit(struct logbook *lb, const char *engine_id, struct old_visit *v, struct err *e)
{
    v->made = true;
    return logbook_add(lb, "visit", v->id, e) && logbook_set_text(lb, "visit", v->id, "engine", engine_id, e) && logbook_set_text(lb, "visit", v->id, "date", v->date, e) &&
           logbook_set_int(lb, "visit", v->id, "closed", CLOSED_AS_HISTORY, e) && (strcmp(v->date, v->last_day) == 0 || logbook_set_text(lb, "visit", v->id, "last_day", v->last_day, e));
}

bool old_photos_record(struct logbook *lb, const char *engine_id, struct old_photos *p, const struct old_photo *photo, const struct photo_result *r, int64_t sort, bool *taken,
                       struct err *e)
{
    struct old_visit *visit = &p->visits[photo->visit];
    char id[UUID_BYTES];

    *taken = !logbook_has_photo(lb, engine_id, r->sha256);
    if (!*taken)
        return true;
    if ((visit->id[0] == '\0' || (visit->made && !logbook_is_there(lb, "visit", visit->id))) && !make_visit(lb, engine_id, visit, e))
        return false;
    logbook_photo_id(visit->id, r->sha256, id);
    return placing_record(lb, visit->id, r, sort, e) &&
           (photo->cylinder < 0 || (logbook_place_photo(lb, id, visit->id, photo->cylinder, photo->position, e) &&
                                    logbook_set_text(lb, "photo", id, "zone", zone_row((enum zone)photo->zone)->id, e)));
}
