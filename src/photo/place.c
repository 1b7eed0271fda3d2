#include "photo/place.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"

/* A pause parts two things when it is at least so many times the longest one inside a group. Common
 * practice, no source: a person takes two pictures of one plug within seconds, and needs longer to
 * reach the next. */
#define CLEAR 2.0

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
    if (a->name != NULL && b->name != NULL && strcmp(a->name, b->name) != 0)
        return strcmp(a->name, b->name);
    return a->index < b->index ? -1 : 1;
}

static int descending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x < y) - (x > y);
}

/* Parts the n items into n_groups by their longest pauses; group[i] receives each item's number.
 * False when the pauses do not part them clearly. One photo for each group always parts. */
static bool part(const struct item *items, size_t n, size_t n_groups, int *group)
{
    double *pauses, least, most_inside = 0;
    size_t g = 0;

    if (n == n_groups) {
        for (size_t i = 0; i < n; i++)
            group[i] = (int)i;
        return true;
    }
    if (n < n_groups || n_groups < 2)
        return false;
    pauses = mem_alloc(n - 1, sizeof *pauses);
    for (size_t i = 0; i + 1 < n; i++)
        pauses[i] = items[i + 1].at - items[i].at;
    qsort(pauses, n - 1, sizeof *pauses, descending);
    least = pauses[n_groups - 2]; /* the shortest that still parts */
    most_inside = pauses[n_groups - 1];
    free(pauses);
    if (!(least >= CLEAR * fmax(most_inside, 0.5)))
        return false;
    group[0] = 0;
    for (size_t i = 1; i < n; i++) {
        if (items[i].at - items[i - 1].at >= least)
            g++;
        group[i] = (int)g;
    }
    return g + 1 == n_groups;
}

/* Between passes lies a pause that no step inside a pass reaches. */
static bool passes_parted(const struct item *items, size_t n, const int *group, size_t n_seats)
{
    double boundary = INFINITY, inside = 0;

    for (size_t i = 1; i < n; i++) {
        double pause = items[i].at - items[i - 1].at;

        if (group[i] == group[i - 1])
            continue;
        if ((size_t)group[i] % n_seats == 0)
            boundary = fmin(boundary, pause);
        else
            inside = fmax(inside, pause);
    }
    return boundary >= 1.5 * inside;
}

enum place_outcome place_propose(const struct place_photo *photos, size_t n_photos,
                                 const struct place_pass *passes, size_t n_passes,
                                 struct place_choice *choices, char *sentence, size_t n_room)
{
    const struct place_pass *known[PLACE_MAX_PASSES];
    size_t n_known = 0, n_seats, best_k = 0, n_readings = 0;
    struct item *items;
    int *group, *best;
    enum place_outcome outcome = PLACE_NOTHING;

    for (size_t i = 0; i < n_photos; i++)
        choices[i] = (struct place_choice){-1, 0};
    if (n_photos == 0) {
        text_copy(sentence, n_room, "No photo waits.");
        return PLACE_NOTHING;
    }
    for (size_t i = 0; i < n_passes && i < PLACE_MAX_PASSES; i++)
        if (passes[i].n_seats > 0)
            known[n_known++] = &passes[i];
    if (n_known == 0) {
        text_copy(sentence, n_room, "Write down the order the plugs come out, then photos can be laid along it. Or drag them.");
        return PLACE_NOTHING;
    }
    for (size_t i = 0; i < n_photos; i++)
        if (!photos[i].time_given) {
            text_format(sentence, n_room, "%s does not tell when it was taken: drag the photos, or press numbers.",
                        photos[i].name != NULL ? photos[i].name : "A photo");
            return PLACE_NOTHING;
        }
    n_seats = known[n_known - 1]->n_seats;
    items = mem_alloc(n_photos, sizeof *items);
    group = mem_alloc(n_photos, sizeof *group);
    best = mem_alloc(n_photos, sizeof *best);
    for (size_t i = 0; i < n_photos; i++)
        items[i] = (struct item){i, photos[i].taken_s, photos[i].name};
    qsort(items, n_photos, sizeof *items, by_time);
    /* One pass, two, three …: which of them do the pauses bear out? */
    for (size_t k = 1; k <= n_known; k++) {
        if (n_photos < k * n_seats || !part(items, n_photos, k * n_seats, group))
            continue;
        if (k > 1 && !passes_parted(items, n_photos, group, n_seats))
            continue;
        n_readings++;
        best_k = k;
        memcpy(best, group, n_photos * sizeof *best);
    }
    if (n_readings != 1) {
        if (n_photos < n_seats)
            text_format(sentence, n_room, "%zu photos for %zu %s: drag them, or press numbers.", n_photos, n_seats, known[n_known - 1]->many);
        else if (n_readings == 0)
            text_format(sentence, n_room, "%zu photos do not part clearly over %zu %s: drag them, or press numbers.", n_photos, n_seats, known[n_known - 1]->many);
        else
            text_format(sentence, n_room, "%zu photos can be read in more than one way: drag them, or press numbers.", n_photos);
    } else {
        struct text t = {0};

        for (size_t i = 0; i < n_photos; i++) {
            size_t pass = (size_t)best[i] / n_seats, which = best_k == 1 ? n_known - 1 : best_k == 2 && pass == 1 ? n_known - 1 : pass;

            choices[items[i].index] = (struct place_choice){(int)(known[which] - passes), (size_t)best[i] % n_seats};
        }
        for (size_t k = 0; k < best_k; k++) {
            size_t which = best_k == 1 || (best_k == 2 && k == 1) ? n_known - 1 : k;

            text_addf(&t, "%s%zu %s", k ? ", then " : "", n_seats, known[which]->many);
        }
        if (n_photos > best_k * n_seats)
            text_add(&t, ", some with several photos");
        text_copy(sentence, n_room, text_get(&t));
        text_release(&t);
        outcome = PLACE_PROPOSED;
    }
    free(items);
    free(group);
    free(best);
    return outcome;
}
