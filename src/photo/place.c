/* place.c - photos laid along the order things were looked at and taken out.
 *
 * Photos sorted by time are a row of pauses. A reading of the row says which passes were photographed
 * and where one ends; inside a pass the longest pauses part the plugs, the rest lie between photos of
 * one plug. A reading counts when its pauses bear it out, by the rules below; every reading is tried, and
 * only if exactly one is left it is proposed.
 *
 * The rules' figures are common practice, no source: a second photo of the same plug comes within
 * seconds, the next plug needs more than twice as long, and between two passes lies the longest pause
 * of the pass before (the tool is changed, coils are laid aside). */
#include "photo/place.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"

#define CLEAR_RATIO 2.0     /* between plugs against within one */
#define LEAST_INSIDE_S 0.5  /* pauses within one plug count as at least so long: bursts */
#define LEAST_BETWEEN_S 0.8 /* nobody reaches the next plug sooner; also: same second, order unknown */
#define END_RATIO 1.5       /* pause behind a pass against the longest in it */
#define STEP_RATIO 3.0      /* … so much more says by itself that a pass ended */
#define CLUMP_RATIO 4.0     /* photos that come in clumps although there is one for each plug */

bool place_parse_time(const char *taken, double *out_s)
{
    int y, mo, d, h, mi;
    double s;
    char date[11];

    if (strlen(taken) < 19 || (taken[10] != 'T' && taken[10] != ' ') || taken[13] != ':' || taken[16] != ':')
        return false;
    memcpy(date, taken, 10);
    date[10] = '\0';
    if (!clock_parse_date(date, &y, &mo, &d))
        return false;
    for (int i = 11; i < 19; i++)
        if (i != 13 && i != 16 && (taken[i] < '0' || taken[i] > '9'))
            return false;
    h = (taken[11] - '0') * 10 + taken[12] - '0';
    mi = (taken[14] - '0') * 10 + taken[15] - '0';
    if (!text_to_double(taken + 17, &s) || h > 23 || mi > 59 || s >= 61)
        return false;
    *out_s = (double)clock_days(y, mo, d) * 86400 + h * 3600 + mi * 60 + s;
    return true;
}

struct item {
    size_t index;
    double at;
    const char *name;
};

static int by_time(const void *pa, const void *pb)
{
    const struct item *a = pa, *b = pb;

    if (a->at < b->at || a->at > b->at)
        return a->at < b->at ? -1 : 1;
    if (a->name && b->name && strcmp(a->name, b->name) != 0)
        return strcmp(a->name, b->name);
    return a->index < b->index ? -1 : 1;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* One reading: the known passes that were photographed, and for each photo its pass and seat. */
struct reading {
    size_t passes[PLACE_MAX_PASSES], n_passes;
    size_t begins[PLACE_MAX_PASSES + 1]; /* first photo of each pass; the number of photos at the end */
    size_t *seat;                        /* of each photo, in its pass */
    unsigned other;                      /* bit for each pass that may as well be another one */
};

struct search {
    const struct item *items;
    size_t n;
    double *pauses;  /* n - 1: behind each photo */
    double *sorted;  /* room for n - 1 */
    const struct place_pass *passes;
    const size_t *known; /* indices of passes with seats */
    size_t n_known;
    struct reading now, best, other; /* being tried; the one kept; one that contradicts it */
    size_t n_found;  /* readings of different shape */
};

static size_t seats_of(const struct search *s, size_t k)
{
    return s->passes[s->known[k]].n_seats;
}

/* One photo for each plug, but they come in three or more clumps of two or more: just as well two
 * photos each of fewer plugs. */
static bool comes_in_clumps(const double *sorted, size_t n_pauses, const double *pauses)
{
    size_t n_clumps = 1, run = 1;
    double border = 0, best = CLUMP_RATIO;
    bool all_shared = true;

    if (n_pauses < 5)
        return false;
    for (size_t i = 0; i + 1 < n_pauses; i++) {
        double low = sorted[i] < LEAST_INSIDE_S ? LEAST_INSIDE_S : sorted[i];

        if (sorted[i + 1] >= best * low) {
            best = sorted[i + 1] / low;
            border = sorted[i + 1];
        }
    }
    if (border <= 0)
        return false;
    for (size_t i = 0; i < n_pauses; i++) {
        if (pauses[i] < border) {
            run++;
            continue;
        }
        all_shared = all_shared && run >= 2;
        n_clumps++;
        run = 1;
    }
    return all_shared && run >= 2 && n_clumps >= 3;
}

/* Lays photos from..to (exclusive) on n_seats seats in order. False when the pauses do not bear it
 * out. longest_s: the longest pause in the run; between_s: the middle one of those between seats. */
static bool lay_run(struct search *s, size_t from, size_t to, size_t n_seats, double *longest_s, double *between_s)
{
    size_t n = to - from, n_pauses = n - 1, seat = 0;
    double cut;

    *longest_s = *between_s = 0;
    if (n < n_seats)
        return false;
    memcpy(s->sorted, s->pauses + from, n_pauses * sizeof *s->sorted);
    qsort(s->sorted, n_pauses, sizeof *s->sorted, ascending);
    if (n_pauses > 0)
        *longest_s = s->sorted[n_pauses - 1];
    s->now.seat[from] = 0;
    if (n_seats == 1) {
        for (size_t i = from; i < to; i++)
            s->now.seat[i] = 0;
        return true;
    }
    cut = s->sorted[n - n_seats]; /* the shortest pause that still parts */
    *between_s = s->sorted[(n - n_seats + n_pauses) / 2];
    if (cut < LEAST_BETWEEN_S)
        return false;
    if (n > n_seats) {
        double inside = s->sorted[n - n_seats - 1];

        if (cut < CLEAR_RATIO * (inside < LEAST_INSIDE_S ? LEAST_INSIDE_S : inside))
            return false;
    } else if (comes_in_clumps(s->sorted, n_pauses, s->pauses + from)) {
        return false;
    }
    for (size_t i = from + 1; i < to; i++) {
        if (s->pauses[i - 1] >= cut)
            seat++;
        s->now.seat[i] = seat;
    }
    return seat + 1 == n_seats;
}

static bool same_seats(const struct place_pass *a, const struct place_pass *b)
{
    for (size_t i = 0; i < a->n_seats && a->n_seats == b->n_seats; i++)
        if (a->seats[i].cylinder != b->seats[i].cylinder || a->seats[i].position != b->seats[i].position)
            return false;
    return a->n_seats == b->n_seats;
}

/* Same photos on the same places, whatever the passes are called. */
static bool same_shape(const struct search *s, const struct reading *a, const struct reading *b)
{
    for (size_t k = 0; k < a->n_passes && a->n_passes == b->n_passes; k++)
        if (!same_seats(&s->passes[s->known[a->passes[k]]], &s->passes[s->known[b->passes[k]]]))
            return false;
    return a->n_passes == b->n_passes && memcmp(a->begins, b->begins, (a->n_passes + 1) * sizeof *a->begins) == 0 &&
           memcmp(a->seat, b->seat, s->n * sizeof *a->seat) == 0;
}

static void copy_reading(struct reading *to, const struct reading *from, size_t n)
{
    size_t *seat = to->seat;

    memcpy(seat, from->seat, n * sizeof *seat);
    *to = *from;
    to->seat = seat;
}

/* Of two readings of one shape: with the most photographed pass (the last), then the earlier passes. */
static bool is_likelier(const struct search *s, const struct reading *a, const struct reading *b)
{
    bool a_last = a->passes[a->n_passes - 1] == s->n_known - 1, b_last = b->passes[b->n_passes - 1] == s->n_known - 1;

    if (a_last != b_last)
        return a_last;
    for (size_t i = 0; i < a->n_passes; i++)
        if (a->passes[i] != b->passes[i])
            return a->passes[i] < b->passes[i];
    return false;
}

/* Photos on the places of pass number k: the fewest and the most. */
static void count_photos(const struct reading *r, size_t k, size_t *least, size_t *most)
{
    size_t run = 0;

    *most = 0;
    *least = r->begins[k + 1] - r->begins[k];
    for (size_t i = r->begins[k]; i < r->begins[k + 1]; i++) {
        run++;
        if (i + 1 == r->begins[k + 1] || r->seat[i + 1] != r->seat[i]) {
            *most = run > *most ? run : *most;
            *least = run < *least ? run : *least;
            run = 0;
        }
    }
}

/* One place holds so many photos that a whole other pass may hide in them: four photos of the first
 * plug of four, or four wells? Several of every plug alike are beyond doubt. */
static bool hides_a_pass(const struct search *s, const struct reading *r)
{
    for (size_t k = 0; k < r->n_passes; k++) {
        size_t n_seats = seats_of(s, r->passes[k]), doubtful = n_seats > 1 ? 3 : 2, least, most;

        count_photos(r, k, &least, &most);
        if (most == least && (n_seats > 1 || r->passes[k] == s->n_known - 1))
            continue;
        for (size_t other = 0; other < s->n_known; other++)
            if (other != r->passes[k] && seats_of(s, other) >= doubtful && most >= seats_of(s, other))
                return true;
    }
    return false;
}

static void take_reading(struct search *s)
{
    if (hides_a_pass(s, &s->now))
        return;
    s->now.other = 0;
    if (s->n_found > 0 && same_shape(s, &s->now, &s->best)) {
        for (size_t k = 0; k < s->now.n_passes; k++)
            s->now.other |= s->now.passes[k] != s->best.passes[k] ? 1u << k : 0;
        s->best.other = s->now.other |= s->best.other;
        if (is_likelier(s, &s->now, &s->best))
            copy_reading(&s->best, &s->now, s->n);
        return;
    }
    if (s->n_found > 0)
        copy_reading(&s->other, &s->now, s->n);
    else
        copy_reading(&s->best, &s->now, s->n);
    s->n_found++;
}

/* Passes number `which` on of the reading being tried, from photo `from` on. before_s: the pause in
 * front, earlier_s: the longest pause of the pass before it. */
static void try_passes(struct search *s, size_t which, size_t from, double before_s, double earlier_s)
{
    size_t left = 0;
    bool last = which + 1 == s->now.n_passes;
    double longest_so_far = 0;

    for (size_t k = which + 1; k < s->now.n_passes; k++)
        left += seats_of(s, s->now.passes[k]);
    for (size_t to = last ? s->n : from + 1; to + left <= s->n; to++) {
        double longest, between;

        if (!last && to > from + 1 && s->pauses[to - 2] > longest_so_far)
            longest_so_far = s->pauses[to - 2];
        if (!last && s->pauses[to - 1] < END_RATIO * longest_so_far)
            continue; /* no pass ends at a pause that some in it reach */
        if (!lay_run(s, from, to, seats_of(s, s->now.passes[which]), &longest, &between))
            continue;
        if (which > 0) {
            bool step = earlier_s > 0 && before_s >= STEP_RATIO * earlier_s;
            bool rest = between > 0 && before_s >= END_RATIO * between;

            if (before_s < LEAST_BETWEEN_S || (!step && !rest))
                continue;
        }
        s->now.begins[which] = from;
        s->now.begins[which + 1] = to;
        if (last)
            take_reading(s);
        else
            try_passes(s, which + 1, to, s->pauses[to - 1], longest);
    }
}

static void try_all(struct search *s)
{
    for (unsigned chosen = 1; chosen < 1u << s->n_known; chosen++) {
        size_t n_seats = 0;

        s->now.n_passes = 0;
        for (size_t k = 0; k < s->n_known; k++)
            if (chosen >> k & 1) {
                s->now.passes[s->now.n_passes++] = k;
                n_seats += seats_of(s, k);
            }
        if (n_seats <= s->n)
            try_passes(s, 0, 0, 0, 0);
    }
}

/* "8 wells, then 8 plugs with 2 photos each" */
static void describe(const struct search *s, const struct reading *r, struct text *t)
{
    for (size_t k = 0; k < r->n_passes; k++) {
        const struct place_pass *pass = &s->passes[s->known[r->passes[k]]];
        size_t least, most;

        count_photos(r, k, &least, &most);
        text_addf(t, "%s%zu %s", k > 0 ? ", then " : "", pass->n_seats, pass->n_seats == 1 ? pass->one : pass->many);
        if (most > 1 && most == least)
            text_addf(t, " with %zu photos%s", most, pass->n_seats == 1 ? "" : " each");
        else if (most > 1)
            text_add(t, ", some with several photos");
    }
}

static void say_why_not(const struct search *s, char *sentence, size_t n_room)
{
    const struct place_pass *main_pass = &s->passes[s->known[s->n_known - 1]];
    size_t least = main_pass->n_seats;

    for (size_t k = 0; k < s->n_known; k++)
        least = seats_of(s, k) < least ? seats_of(s, k) : least;
    if (s->n_found > 1) {
        struct text t = {0};

        text_addf(&t, "%zu photos can be read as ", s->n);
        describe(s, &s->best, &t);
        text_add(&t, ", or as ");
        describe(s, &s->other, &t);
        text_add(&t, ".");
        text_copy(sentence, n_room, text_get(&t));
        text_release(&t);
    } else if (s->n < least) {
        text_format(sentence, n_room, "%zu %s for %zu %s, and the times do not say which %s missing.",
                    s->n, s->n == 1 ? "photo" : "photos", main_pass->n_seats, main_pass->many,
                    main_pass->n_seats - s->n == 1 ? "is" : "are");
    } else if (s->n > 1 && s->items[0].at >= s->items[s->n - 1].at) {
        text_format(sentence, n_room, "All %zu photos carry the same time.", s->n);
    } else {
        text_format(sentence, n_room, "%zu photos do not part clearly over %zu %s.", s->n,
                    main_pass->n_seats, main_pass->many);
    }
}

static void search_begin(struct search *s, const struct place_photo *photos, size_t n, struct item *items)
{
    for (size_t i = 0; i < n; i++)
        items[i] = (struct item){i, photos[i].taken_s, photos[i].name};
    qsort(items, n, sizeof *items, by_time);
    s->items = items;
    s->n = n;
    s->pauses = mem_alloc(n, sizeof *s->pauses);
    s->sorted = mem_alloc(n, sizeof *s->sorted);
    for (size_t i = 0; i + 1 < n; i++)
        s->pauses[i] = items[i + 1].at - items[i].at;
    s->now.seat = mem_alloc(n, sizeof(size_t));
    s->best.seat = mem_alloc(n, sizeof(size_t));
    s->other.seat = mem_alloc(n, sizeof(size_t));
}

static void search_finish(struct search *s)
{
    free(s->pauses);
    free(s->sorted);
    free(s->now.seat);
    free(s->best.seat);
    free(s->other.seat);
}

enum place_outcome place_propose(const struct place_photo *photos, size_t n_photos, const struct place_pass *passes,
                                 size_t n_passes, struct place_choice *choices, char *sentence, size_t n_room)
{
    size_t known[PLACE_MAX_PASSES], n_known = 0, n_timeless = 0;
    struct search s = {.passes = passes, .known = known};
    struct item *items;

    assert(n_photos <= PLACE_MAX_PHOTOS && n_passes <= PLACE_MAX_PASSES);
    for (size_t i = 0; i < n_photos; i++) {
        choices[i] = (struct place_choice){-1, 0, false};
        n_timeless += !photos[i].time_given;
    }
    if (n_photos == 0) {
        text_copy(sentence, n_room, "No photo waits.");
        return PLACE_NOTHING;
    }
    for (size_t i = 0; i < n_passes; i++)
        if (passes[i].n_seats > 0)
            known[n_known++] = i;
    if (n_known == 0) {
        text_copy(sentence, n_room, "Write down the order the plugs come out, then photos can be laid along it.");
        return PLACE_NOTHING;
    }
    for (size_t i = 0; n_timeless > 0 && i < n_photos; i++)
        if (!photos[i].time_given) {
            const char *name = photos[i].name ? photos[i].name : "A photo";

            if (n_timeless == 1)
                text_format(sentence, n_room, "%s does not tell when it was taken.", name);
            else
                text_format(sentence, n_room, "%zu of %zu photos (%s …) do not tell when they were taken.", n_timeless, n_photos, name);
            return PLACE_NOTHING;
        }
    items = mem_alloc(n_photos, sizeof *items);
    s.n_known = n_known;
    search_begin(&s, photos, n_photos, items);
    try_all(&s);
    if (s.n_found == 1) {
        struct text t = {0};

        for (size_t k = 0; k < s.best.n_passes; k++)
            for (size_t i = s.best.begins[k]; i < s.best.begins[k + 1]; i++)
                choices[items[i].index] = (struct place_choice){(int)known[s.best.passes[k]], s.best.seat[i], (s.best.other >> k & 1) != 0};
        describe(&s, &s.best, &t);
        text_copy(sentence, n_room, text_get(&t));
        text_release(&t);
    } else {
        say_why_not(&s, sentence, n_room);
    }
    search_finish(&s);
    free(items);
    return s.n_found == 1 ? PLACE_PROPOSED : PLACE_NOTHING;
}
