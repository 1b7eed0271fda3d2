#include "placing/placing_later.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "record/record.h"

#define CLOSE_S 30.0      /* the same plug, seen from elsewhere: at the most so long behind */
#define BURST_S 5.0       /* nobody reaches another place in this time */
#define CLOSE_RATIO 3.0   /* … and so many times as far from the next plug */
#define CLEAR_RATIO 2.0   /* where the same is seen at every plug */
#define BEFOREHAND_RATIO 2.5 /* beforehand: so many times as far from the first plug as others lie from theirs */
#define NEAR_RATIO 1.5    /* outside of all: as far from the first plug as others lie from theirs */
#define PACE_LEAST 0.4    /* of the usual time for a plug: from the one before and to the next one */
#define PACE_MOST 2.5     /* … for a single one that goes on behind the last */
#define LONGEST_SHIFT_H 12
#define SITTING_S (6 * 3600.0) /* what comes so long behind the one before belongs to another day's work */

struct work {
    struct later *l;
    struct later_taken *ends; /* of `taken` those shown, by time: the plugs in the order they were photographed */
    size_t n;
    int rank[ENGINE_MAX_PLUGS]; /* place in the order drawn, -1 none */
    bool in_order;            /* ends come in the order drawn */
    bool all;                 /* each plug of that order has one */
    double pace;              /* usual seconds for a plug, 0 unknown */
    struct text said;         /* parts understood */
    char why[400];            /* of what is not clear, "" */
};

/* ---- what is there ---- */

static int by_time(const void *pa, const void *pb)
{
    const struct later_taken *a = pa, *b = pb;

    return a->s < b->s ? -1 : a->s > b->s ? 1 : a->plug - b->plug;
}

static int waiting_by_time(const void *pa, const void *pb)
{
    const struct later_waiting *a = pa, *b = pb;

    return a->s < b->s ? -1 : a->s > b->s ? 1 : strcmp(a->name, b->name);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static int plug_of(const struct later *l, const struct place_seat *seat)
{
    return seat->cylinder * l->n_positions + seat->position;
}

static void look(struct work *w)
{
    struct later *l = w->l;
    double *pauses = mem_alloc(l->n_taken + 1, sizeof *pauses);
    size_t n_pauses = 0;

    w->ends = mem_alloc(l->n_taken + 1, sizeof *w->ends);
    for (int i = 0; i < ENGINE_MAX_PLUGS; i++)
        w->rank[i] = -1;
    for (size_t i = 0; i < l->n_order; i++)
        w->rank[plug_of(l, &l->order[i])] = (int)i;
    qsort(l->taken, l->n_taken, sizeof *l->taken, by_time);
    qsort(l->waiting, l->n_waiting, sizeof *l->waiting, waiting_by_time);
    for (size_t i = 0; i < l->n_taken; i++)
        if (l->taken[i].shown)
            w->ends[w->n++] = l->taken[i];
    w->in_order = l->n_order > 0;
    w->all = l->n_order > 0 ? w->n >= l->n_order : (int)w->n == l->n_plugs;
    for (size_t i = 0; i < w->n; i++) {
        int rank = w->rank[w->ends[i].plug], before = i > 0 ? w->rank[w->ends[i - 1].plug] : -1;

        w->in_order = w->in_order && rank >= 0 && rank > before;
        if (i > 0)
            pauses[n_pauses++] = (w->ends[i].s - w->ends[i - 1].s) / (rank > before && before >= 0 ? rank - before : 1);
    }
    qsort(pauses, n_pauses, sizeof *pauses, ascending);
    w->pace = n_pauses > 0 ? pauses[n_pauses / 2] : 0;
    free(pauses);
}

/* How many ends are taken up to then: 0 before all, n behind all. */
static size_t slot_of(const struct work *w, double s)
{
    size_t k = 0;

    while (k < w->n && w->ends[k].s <= s)
        k++;
    return k;
}

static double since(const struct work *w, const struct later_waiting *p)
{
    return p->s - w->ends[slot_of(w, p->s) - 1].s;
}

static double until(const struct work *w, const struct later_waiting *p)
{
    return w->ends[slot_of(w, p->s)].s - p->s;
}

static bool inside(const struct work *w, const struct later_waiting *p)
{
    size_t slot = slot_of(w, p->s);

    return slot > 0 && slot < w->n;
}

static void say(struct work *w, const char *words)
{
    text_addf(&w->said, "%s%s", w->said.n_bytes > 0 ? "; " : "", words);
}

static void say_count(struct work *w, size_t n, const char *one, const char *many)
{
    char words[160];

    if (n == 0)
        return;
    text_format(words, sizeof words, "%zu %s", n, n == 1 ? one : many);
    say(w, words);
}

/* ---- a run of photos along places in order ---- */

/* Photos from..to (exclusive) along passes. Zones that several passes could have are not said. */
static bool lay(struct work *w, size_t from, size_t to, const struct place_pass *passes, size_t n_passes, bool zone_told)
{
    struct later *l = w->l;
    size_t n = to - from, fewest = passes[0].n_seats, seen = 0, least, most, counts[ENGINE_MAX_PLUGS] = {0};
    struct place_photo *photos = mem_alloc(n, sizeof *photos);
    struct place_choice *choices = mem_alloc(n, sizeof *choices);
    bool views = true, fine;
    char words[400];

    for (size_t i = 0; i < n; i++)
        photos[i] = (struct place_photo){true, l->waiting[from + i].s, l->waiting[from + i].name};
    fine = place_propose(photos, n, passes, n_passes, choices, words, sizeof words) == PLACE_PROPOSED;
    for (size_t i = 0; i < n && fine; i++) {
        const struct place_pass *pass = &passes[choices[i].pass];
        struct later_waiting *p = &l->waiting[from + i];

        p->plug = plug_of(l, &pass->seats[choices[i].seat]);
        p->zone = choices[i].other || !zone_told ? -1 : pass->zone;
        views = views && p->zone < 0;
        counts[p->plug]++;
    }
    for (size_t k = 0; k < n_passes; k++)
        fewest = passes[k].n_seats < fewest ? passes[k].n_seats : fewest;
    if (!fine && n < fewest)
        text_format(w->why, sizeof w->why, n == 1 ? "%zu more photo, and its time does not say which plug it shows." : "%zu more photos, and their times do not say which plugs they show.", n);
    else if (!fine)
        text_copy(w->why, sizeof w->why, words);
    if (fine && views) {
        least = n;
        most = 0;
        for (size_t i = 0; i < ENGINE_MAX_PLUGS; i++)
            if (counts[i] > 0) {
                seen++;
                least = counts[i] < least ? counts[i] : least;
                most = counts[i] > most ? counts[i] : most;
            }
        if (most == 1)
            text_format(words, sizeof words, "%zu more photos, one of each plug if in the same order", n);
        else if (least == most)
            text_format(words, sizeof words, "%zu more photos, %zu of each plug if in the same order", n, most);
        else
            text_format(words, sizeof words, "%zu more photos of %zu plugs if in the same order", n, seen);
    }
    if (fine)
        say(w, words);
    free(photos);
    free(choices);
    return fine;
}

/* Places of the order drawn from..to (exclusive) that have no photo, into seats. */
static size_t left_out(const struct work *w, int from, int to, struct place_seat *seats)
{
    size_t n = 0;

    for (int rank = from; rank < to; rank++) {
        const struct place_seat *seat = &w->l->order[rank];
        bool there = false;

        for (size_t k = 0; k < w->n; k++)
            there = there || w->ends[k].plug == plug_of(w->l, seat);
        if (!there)
            seats[n++] = *seat;
    }
    return n;
}

static struct place_pass rest_pass(const struct place_seat *seats, size_t n)
{
    return (struct place_pass){ZONE_FIRING_END, "more plug", "more plugs", seats, n};
}

/* ---- between the plugs ---- */

/* Plugs left out between two that have photos, and photos between these. */
static void fill(struct work *w)
{
    struct later *l = w->l;
    struct place_seat seats[ENGINE_MAX_PLUGS];
    size_t to;

    for (size_t from = 0; from < l->n_waiting && w->in_order; from = to) {
        size_t slot = slot_of(w, l->waiting[from].s), n_seats;
        struct place_pass pass;

        for (to = from; to < l->n_waiting && slot_of(w, l->waiting[to].s) == slot;)
            to++;
        if (slot == 0 || slot == w->n)
            continue;
        n_seats = left_out(w, w->rank[w->ends[slot - 1].plug] + 1, w->rank[w->ends[slot].plug], seats);
        if (n_seats == 0 || to - from < n_seats || since(w, &l->waiting[from]) < PACE_LEAST * w->pace || until(w, &l->waiting[to - 1]) < PACE_LEAST * w->pace)
            continue;
        pass = rest_pass(seats, n_seats);
        lay(w, from, to, &pass, 1, true);
    }
}

/* The same at every plug: as many photos behind the photo of each (or before it), clearly nearer to it. shift_s is
 * added to their times. When `take`, they get their plugs. */
static bool at_every_plug(struct work *w, size_t from, size_t to, bool behind, double shift_s, bool take)
{
    struct later *l = w->l;
    size_t counts[ENGINE_MAX_PLUGS] = {0}, n = to - from;
    bool clear = w->n >= 3 && n >= w->n && n % w->n == 0;

    for (size_t i = from; i < to && clear; i++) {
        struct later_waiting p = l->waiting[i];
        size_t slot;

        p.s += shift_s;
        slot = slot_of(w, p.s);
        clear = slot != (behind ? 0 : w->n);
        if (clear && inside(w, &p))
            clear = behind ? since(w, &p) * CLEAR_RATIO <= until(w, &p) : until(w, &p) * CLEAR_RATIO <= since(w, &p);
        if (clear)
            counts[slot - behind]++;
    }
    for (size_t k = 0; k < w->n; k++)
        clear = clear && counts[k] == n / w->n;
    for (size_t i = from; i < to && clear && take; i++)
        l->waiting[i].plug = w->ends[slot_of(w, l->waiting[i].s) - behind].plug;
    return clear;
}

/* How far photos between the plugs lie from the one before, the next, at the most. */
static void farthest(const struct work *w, double *since_s, double *until_s)
{
    *since_s = *until_s = 0;
    for (size_t i = 0; i < w->l->n_waiting; i++)
        if (inside(w, &w->l->waiting[i])) {
            *since_s = fmax(*since_s, since(w, &w->l->waiting[i]));
            *until_s = fmax(*until_s, until(w, &w->l->waiting[i]));
        }
}

/* A photo behind the end of one plug may as well be of the next one's well or coil, looked at before it is drawn. Not so
 * where the engine has neither, or where those were photographed beforehand: several things, long before the
 * first plug. */
static bool nothing_between(const struct work *w, double until_s)
{
    const struct later *l = w->l;
    double first = w->ends[0].s, near = first - BEFOREHAND_RATIO * until_s;
    size_t n_before = 0, n_near = 0;

    for (size_t i = 0; i < l->n_waiting + l->n_besides; i++) {
        double s = i < l->n_waiting ? l->waiting[i].s : l->besides[i - l->n_waiting];

        n_before += s < first;
        n_near += s < first && s >= near;
    }
    return n_near == 0 && (l->no_wells || n_before >= 2);
}

/* The last photo before this one that shows a plug itself; -1 none. */
static int last_seen(const struct work *w, size_t waiting, double *s)
{
    const struct later *l = w->l;
    int plug = -1;

    for (size_t i = 0; i < l->n_taken && l->taken[i].s <= l->waiting[waiting].s; i++) {
        plug = l->taken[i].plug;
        *s = l->taken[i].s;
    }
    if (waiting > 0 && l->waiting[waiting - 1].plug >= 0 && (plug < 0 || l->waiting[waiting - 1].s >= *s)) {
        plug = l->waiting[waiting - 1].plug;
        *s = l->waiting[waiting - 1].s;
    }
    return plug;
}

/* Close behind the photo of a plug, far from the next one: that plug from elsewhere. */
static size_t follow(struct work *w)
{
    struct later *l = w->l;
    size_t n = 0, in_slot[ENGINE_MAX_PLUGS + 1] = {0};
    double since_s, until_s, last_s = 0;
    bool doubt;

    farthest(w, &since_s, &until_s);
    doubt = !nothing_between(w, until_s);
    for (size_t i = 0; i < l->n_waiting; i++)
        in_slot[slot_of(w, l->waiting[i].s)]++;
    for (size_t i = 0; i < l->n_waiting; i++) {
        struct later_waiting *p = &l->waiting[i];
        size_t slot = slot_of(w, p->s);
        double behind, ahead;
        int plug;

        if (p->plug >= 0 || slot == 0 || (in_slot[slot] >= w->n && w->n > 2)) /* so many may be a pass of their own */
            continue;
        plug = last_seen(w, i, &last_s);
        behind = p->s - last_s;
        if (slot < w->n)
            ahead = until(w, p);
        else if (i + 1 < l->n_waiting) /* a pass of its own may begin here */
            ahead = l->waiting[i + 1].s - p->s;
        else
            ahead = n >= 2 ? HUGE_VAL : 0; /* as at others before */
        if (plug < 0 || plug != w->ends[slot - 1].plug || behind > (doubt ? BURST_S : CLOSE_S) || (ahead < CLOSE_RATIO * fmax(behind, 0.5) && (ahead > 0 || behind > BURST_S)))
            continue;
        p->plug = plug;
        n++;
    }
    return n;
}

/* ---- before all, behind all ---- */

/* Their clock shifted by whole hours, they would lie behind the photo of each plug: they may be views of the plugs by a
 * clock that is wrong. */
static bool clock_may_be_wrong(struct work *w, size_t from, size_t to)
{
    for (int h = -LONGEST_SHIFT_H; h <= LONGEST_SHIFT_H; h++)
        if (h != 0 && at_every_plug(w, from, to, true, h * 3600.0, false))
            return true;
    return false;
}

static size_t end_of_sitting(const struct later *l, size_t from, size_t to)
{
    size_t end = from + 1;

    while (end < to && l->waiting[end].s - l->waiting[end - 1].s < SITTING_S)
        end++;
    return end;
}

static void outside(struct work *w, size_t from, size_t to, bool behind)
{
    struct later *l = w->l;
    struct place_pass passes[PLACE_MAX_PASSES];
    struct place_seat again[ENGINE_MAX_PLUGS], rest[ENGINE_MAX_PLUGS];
    size_t n = 0, n_rest = 0;
    bool wrong_clock, amid = behind && !w->all;

    if (from == to)
        return;
    if (l->n_order > 0 && !w->in_order) {
        text_copy(w->why, sizeof w->why, "The photos placed so far do not come in the order drawn, so times do not say which plugs these show.");
        return;
    }
    if (amid) /* those of the plugs go on first: nobody goes back to all the wells amid pulling */
        to = end_of_sitting(l, from, to);
    for (size_t i = 0; i < l->n_passes && l->n_order > 0 && !amid; i++)
        passes[n++] = l->passes[i];
    if (behind && w->n >= 2 && (l->n_order > 0 || w->all)) {
        for (size_t k = 0; k < w->n; k++)
            again[k] = (struct place_seat){w->ends[k].plug / l->n_positions, w->ends[k].plug % l->n_positions};
        passes[n++] = (struct place_pass){-1, "plug again", "plugs again", again, w->n};
    }
    if (l->n_order > 0 && !w->all) {
        n_rest = behind ? left_out(w, w->rank[w->ends[w->n - 1].plug] + 1, (int)l->n_order, rest) : left_out(w, 0, w->rank[w->ends[0].plug], rest);
        if (n_rest == 1) { /* a single photo may be of anything, unless it goes on as the others did */
            double pause = behind ? l->waiting[from].s - w->ends[w->n - 1].s : w->ends[0].s - l->waiting[to - 1].s;

            if (w->pace <= 0 || pause < PACE_LEAST * w->pace || pause > PACE_MOST * w->pace)
                n_rest = 0;
        }
        if (n_rest > 0)
            passes[n++] = rest_pass(rest, n_rest);
    }
    if (n == 0) {
        text_format(w->why, sizeof w->why, to - from == 1 ? "%zu photo came %s those whose plugs are known, and nothing says what it shows." : "%zu photos came %s those whose plugs are known, and nothing says what they show.",
                    to - from, behind ? "after" : "before");
        return;
    }
    wrong_clock = !behind && clock_may_be_wrong(w, from, to);
    if (lay(w, from, to, passes, n, !wrong_clock) && wrong_clock)
        say(w, "their clock may be some hours behind");
}

/* ---- all of it ---- */

static void say_unclear(struct work *w)
{
    const struct later *l = w->l;
    size_t n = 0, between = 0;

    for (size_t i = 0; i < l->n_waiting; i++)
        if (l->waiting[i].plug < 0) {
            n++;
            between += inside(w, &l->waiting[i]);
        }
    if (n == 0)
        return;
    if (w->said.n_bytes > 0)
        text_addf(&w->said, "; of %zu the times do not say it", n);
    else if (between == 0 && w->why[0] != '\0')
        text_add(&w->said, w->why);
    else
        text_addf(&w->said, "%zu %s taken between those of other plugs, and the times do not say which plug %s.", n, n == 1 ? "photo was" : "photos were", n == 1 ? "it shows" : "they show");
}

static bool same_times(const struct work *w, char *sentence, size_t n_room)
{
    const struct later *l = w->l;

    if (l->n_waiting > 1 && l->waiting[0].s >= l->waiting[l->n_waiting - 1].s) {
        text_format(sentence, n_room, "All %zu photos carry the same time.", l->n_waiting);
        return true;
    }
    for (size_t k = 1; k < w->n; k++)
        if (w->ends[k].s <= w->ends[k - 1].s) {
            text_copy(sentence, n_room, "Photos whose plugs are known carry the same time, so it does not say which plugs these show.");
            return true;
        }
    return false;
}

void placing_later(struct later *l, char *sentence, size_t n_room)
{
    struct work w = {.l = l};
    size_t n = l->n_waiting, first = 0, last = n, n_follow;
    double since_s, until_s;
    bool unclear = false;

    for (size_t i = 0; i < n; i++)
        l->waiting[i].plug = l->waiting[i].zone = -1;
    look(&w);
    if (!same_times(&w, sentence, n_room)) {
        farthest(&w, &since_s, &until_s);
        while (first < n && slot_of(&w, l->waiting[first].s) == 0 && w.ends[0].s - l->waiting[first].s > NEAR_RATIO * until_s)
            first++;
        while (last > first && slot_of(&w, l->waiting[last - 1].s) == w.n && l->waiting[last - 1].s - w.ends[w.n - 1].s > NEAR_RATIO * since_s)
            last--;
        if (!w.all)
            fill(&w);
        if (w.all && at_every_plug(&w, first, last, true, 0, true)) {
            say_count(&w, last - first, "follows the photo of its plug", "follow the photos of their plugs");
        } else if (w.all && at_every_plug(&w, first, last, false, 0, true)) {
            say_count(&w, last - first, "comes right before the photo of its plug", "come right before the photos of their plugs");
        } else {
            n_follow = follow(&w);
            say_count(&w, n_follow, "follows the photo of its plug closely", "follow the photos of their plugs closely");
        }
        for (size_t i = 0; i < n; i++)
            unclear = unclear || (l->waiting[i].plug < 0 && inside(&w, &l->waiting[i]));
        for (size_t i = 0; i < n && !unclear; i++) { /* what is near without having found its plug makes no pass either */
            if (slot_of(&w, l->waiting[i].s) == 0)
                first = i + 1;
            if (slot_of(&w, l->waiting[n - 1 - i].s) == w.n && l->waiting[n - 1 - i].plug < 0)
                last = n - 1 - i;
        }
        outside(&w, 0, first, false);
        outside(&w, last, n, true);
        say_unclear(&w);
        text_copy(sentence, n_room, text_get(&w.said));
    }
    text_release(&w.said);
    free(w.ends);
}
