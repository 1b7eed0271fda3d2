/* report_extra.c - what the logbook adds to a report: work done, steps, parts, notes for next time and
 * photos. Photos are decoded and encoded again, which leaves everything but the picture behind. */
#include <openssl/evp.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "photo/photo.h"
#include "report/report.h"
#include "report/report_work.h"

/* Wide enough for a column on paper; 30 photos then make a file of about 2 MB. */
#define EMBEDDED_PX 640
#define EMBEDDED_QUALITY 82

static bool shrunk_jpeg(const unsigned char *data, size_t n_bytes, struct arena *a, struct report_picture *out)
{
    struct photo_pixels p;
    uint8_t *jpeg;
    size_t n;
    bool fine;

    memset(&p, 0, sizeof p);
    if (!photo_decode(data, n_bytes, EMBEDDED_PX, NULL, &p, NULL, NULL))
        return false;
    out->width = p.width;
    out->height = p.height;
    fine = photo_encode_jpeg(&p, EMBEDDED_QUALITY, &jpeg, &n, NULL);
    photo_pixels_release(&p);
    if (fine) {
        unsigned char *kept = arena_alloc(a, n, 1);

        memcpy(kept, jpeg, n);
        free(jpeg);
        out->jpeg = kept;
        out->n_bytes = n;
    }
    return fine;
}

static void load_picture(struct logbook *lb, struct cache *cache, const struct logbook_photo *p, struct arena *a, struct report_picture *out)
{
    unsigned char *jpeg;
    char *original, path[FILES_PATH_BYTES];
    size_t n;

    *out = (struct report_picture){.cylinder = p->cylinder, .position = p->position, .zone = p->zone,
                                   .name = arena_text(a, p->name), .taken = arena_text(a, p->taken)};
    if (cache_get(cache, p->sha256, CACHE_PREVIEW, PHOTO_PREVIEW_VERSION, &jpeg, &n)) {
        bool fine = shrunk_jpeg(jpeg, n, a, out);

        free(jpeg);
        if (fine)
            return;
    }
    if (!logbook_photo_path(lb, p->sha256, p->format, path, sizeof path) ||
        !files_read(path, PHOTO_MAX_FILE_BYTES, &original, &n, NULL))
        return;
    shrunk_jpeg((const unsigned char *)original, n, a, out);
    free(original);
}

/* By plug, along the engine; those that belong to no plug last. */
static int compare_photos(const void *x, const void *y)
{
    const struct logbook_photo *a = x, *b = y;
    unsigned pa = (unsigned)a->cylinder, pb = (unsigned)b->cylinder; /* -1 becomes the largest */

    if (pa != pb)
        return pa < pb ? -1 : 1;
    if (a->position != b->position)
        return a->position < b->position ? -1 : 1;
    if (a->zone != b->zone)
        return a->zone < b->zone ? -1 : 1;
    return strcmp(a->taken, b->taken);
}

bool report_load_extra(struct logbook *lb, const char *engine_id, const char *visit_id, struct arena *a, struct report_extra *out, struct err *e)
{
    struct logbook_step *steps;
    struct logbook_need *needs;
    struct logbook_fact *facts;
    struct logbook_verdict *verdicts;
    struct logbook_photo *photos;
    struct report_picture *pictures;
    struct cache *cache;

    memset(out, 0, sizeof *out);
    if (!logbook_list_steps(lb, visit_id, a, &steps, &out->n_steps, e) ||
        !logbook_list_needs(lb, visit_id, a, &needs, &out->n_needs, e) ||
        !logbook_list_facts(lb, engine_id, a, &facts, &out->n_facts, e) ||
        !logbook_list_verdicts(lb, engine_id, a, &verdicts, &out->n_verdicts, e) ||
        !logbook_list_photos(lb, visit_id, a, &photos, &out->n_pictures, e))
        return false;
    if (out->n_pictures > 0) {
        qsort(photos, out->n_pictures, sizeof *photos, compare_photos);
        cache = cache_open(logbook_folder(lb));
        pictures = arena_alloc(a, out->n_pictures, sizeof *pictures);
        for (size_t i = 0; i < out->n_pictures; i++)
            load_picture(lb, cache, &photos[i], a, &pictures[i]);
        cache_close(cache);
        out->pictures = pictures;
    }
    out->steps = steps;
    out->needs = needs;
    out->facts = facts;
    out->verdicts = verdicts;
    return true;
}

/* "2026-05-02: valve cover seal replaced, bank 2" */
void report_add_done(struct text *t, const struct record *r)
{
    bool any = false;

    for (int i = 0; i < r->n_visits; i++)
        for (int k = 0; k < r->visits[i].n_done; k++) {
            const struct visit *v = &r->visits[i];
            char words[40], whole[160];
            const char *place;

            if (!any)
                text_add(t, "<h2>What was done</h2>\n<ul>\n");
            any = true;
            clock_date_words(v->date[0] ? v->date : "no date", words, sizeof words);
            visit_format_done(&r->engine, &v->done[k], whole, sizeof whole);
            place = strrchr(whole, ':');
            text_add(t, "<li>After ");
            report_escape(t, words);
            text_add(t, ": ");
            report_escape(t, words_label(WORDS_DONE_PART, v->done[k].part));
            text_add(t, " ");
            report_escape(t, words_label(WORDS_DONE_VERB, v->done[k].verb));
            text_add(t, ", ");
            report_escape(t, place == NULL ? whole : place + 1);
            text_add(t, "</li>\n");
        }
    if (any)
        text_add(t, "</ul>\n");
}

static const char *state_words(const char *state)
{
    static const struct {
        const char *id, *words;
    } rows[] = {{"todo", "☐ to do"}, {"waiting", "◷ waiting"}, {"done", "☑ done"}, {"later", "→ later"},
                {"to-order", "☐ to order"}, {"ordered", "◷ ordered"}, {"in-hand", "☑ in hand"}, {"fitted", "☑ fitted"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].id, state) == 0)
            return rows[i].words;
    return state;
}

static void add_row(struct text *t, const char *state, const char *what, const char *note)
{
    text_add(t, "<tr><td>");
    report_escape(t, state_words(state));
    text_add(t, "</td><th scope=\"row\">");
    report_escape(t, what);
    text_add(t, "</th><td>");
    report_escape(t, note);
    text_add(t, "</td></tr>\n");
}

static void add_picture(struct text *t, const struct record *r, const struct report_picture *p)
{
    char label[48] = "", alt[200], *code;
    const char *zone = p->zone >= 0 && p->zone < ZONE_COUNT ? zone_row((enum zone)p->zone)->label : "";

    if (p->cylinder >= 0 && p->cylinder < r->engine.n_cylinders)
        engine_plug_label(&r->engine, p->cylinder, p->position < 0 ? 0 : p->position, label, sizeof label);
    if (label[0] != '\0')
        text_format(alt, sizeof alt, "Plug %s%s%s", label, zone[0] ? ", " : "", zone);
    else
        text_format(alt, sizeof alt, "Not placed yet: %s", p->name);
    if (p->jpeg == NULL) {
        text_add(t, "<figure><p class=\"soft\">This photo cannot be shown.</p>");
    } else {
        text_addf(t, "<figure><img width=\"%d\" height=\"%d\" alt=\"Photo: ", p->width, p->height);
        report_escape(t, alt);
        text_add(t, "\" src=\"data:image/jpeg;base64,");
        code = mem_alloc((p->n_bytes + 2) / 3 * 4 + 1, 1);
        EVP_EncodeBlock((unsigned char *)code, p->jpeg, (int)p->n_bytes);
        text_add(t, code);
        free(code);
        text_add(t, "\">");
    }
    text_add(t, "<figcaption>");
    report_escape(t, alt);
    text_add(t, "</figcaption></figure>\n");
}

void report_add_extra(struct text *t, const struct record *r, const struct report_extra *x)
{
    report_add_held(t, r, x);
    if (x->n_steps > 0) {
        text_add(t, "<h2>Steps</h2>\n<div class=\"wide\"><table><thead><tr><th scope=\"col\">State</th><th scope=\"col\">Step</th><th scope=\"col\">Note</th></tr></thead><tbody>\n");
        for (size_t i = 0; i < x->n_steps; i++) {
            const struct logbook_step *s = &x->steps[i];
            struct text note = {0};
            char words[40];

            text_add(&note, s->note);
            if (s->waits_for[0] != '\0' && strcmp(s->state, "done") != 0)
                text_addf(&note, "%swaits for %s", note.n_bytes ? "; " : "", s->waits_for);
            if (s->done_on[0] != '\0') {
                clock_date_words(s->done_on, words, sizeof words);
                text_addf(&note, "%s%s", note.n_bytes ? "; " : "", words);
            }
            if (job_caution_find(s->caution) != NULL && strcmp(s->state, "done") != 0)
                text_addf(&note, "%sCaution: %s", note.n_bytes ? "; " : "", job_caution_find(s->caution)->text);
            if (s->after_m.given && strcmp(s->state, "later") == 0) {
                visit_format_odometer(s->after_m, job_distance_unit(record_current(r)), words, sizeof words);
                text_addf(&note, "%safter %s", note.n_bytes ? "; " : "", words);
            }
            add_row(t, s->state, s->text, text_get(&note));
            text_release(&note);
        }
        text_add(t, "</tbody></table></div>\n");
    }
    if (x->n_needs > 0) {
        text_add(t, "<h2>Parts</h2>\n<div class=\"wide\"><table><thead><tr><th scope=\"col\">State</th><th scope=\"col\">Part</th><th scope=\"col\">Note</th></tr></thead><tbody>\n");
        for (size_t i = 0; i < x->n_needs; i++) {
            const struct logbook_need *d = &x->needs[i];
            char what[200];

            if (d->quantity > 1)
                text_format(what, sizeof what, "%d × %s", d->quantity, d->text);
            else
                text_copy(what, sizeof what, d->text);
            add_row(t, d->state, what, d->note);
        }
        text_add(t, "</tbody></table></div>\n");
    }
    report_add_refit(t, r);
    if (x->n_facts > 0) {
        text_add(t, "<h2>For next time</h2>\n<table><tbody>\n");
        for (size_t i = 0; i < x->n_facts; i++) {
            text_add(t, "<tr><th scope=\"row\">");
            report_escape(t, x->facts[i].label);
            text_add(t, "</th><td>");
            report_escape(t, x->facts[i].value);
            text_add(t, "</td></tr>\n");
        }
        text_add(t, "</tbody></table>\n");
    }
    if (x->n_pictures > 0) {
        text_add(t, "<h2>Photos</h2>\n<div class=\"photos\">\n");
        for (size_t i = 0; i < x->n_pictures; i++)
            add_picture(t, r, &x->pictures[i]);
        text_add(t, "</div>\n");
    }
}
