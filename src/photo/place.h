/* place.h - which photo shows which plug: photos taken in one visit are laid along the removal order
 * by the time they were taken.
 *
 * Passes (all wells, all coils, all plugs) are told apart first, by the pauses between them and by
 * how many photos they hold; each is laid along its own order. Photos that follow one another quickly
 * show the same thing. Where the counts or pauses leave more than one reading, nothing is proposed,
 * and the sentence says why. Pure. */
#ifndef PHOTO_PLACE_H
#define PHOTO_PLACE_H

#include <stdbool.h>
#include <stddef.h>

/* Seconds since 1970 of "2026-06-14T10:42:17.250", taken as it stands. False when it is no time. */
bool place_parse_time(const char *taken, double *out_s);

struct place_photo {
    bool time_given;
    double taken_s;   /* any origin, the same for all */
    const char *name; /* file name: settles the order of photos with the same time; NULL unknown */
};
struct place_seat {
    int cylinder, position; /* the caller's numbers; handed through */
};
/* One pass somebody may have photographed, with its order. */
struct place_pass {
    int zone;                       /* the caller's; handed through */
    const char *one, *many;         /* "well", "wells": for the sentence */
    const struct place_seat *seats; /* in the order things were looked at or taken out */
    size_t n_seats;                 /* 0: not known, or the engine has none */
};
struct place_choice {
    int pass;    /* index into passes; -1: nothing proposed */
    size_t seat; /* index into its seats */
    bool other;  /* another pass has the same places: which of them is not told by the times */
};
enum place_outcome { PLACE_PROPOSED, PLACE_NOTHING };

#define PLACE_MAX_PHOTOS 600
#define PLACE_MAX_PASSES 6

/* photos in any order; passes in the order they are usually made (wells, coils, plugs), the most
 * photographed one (the plugs) last: it is the reading that is preferred when two passes have equally
 * many places. Writes choices[n_photos] and a sentence: what was understood ("8 wells, then 8 plugs
 * with 2 photos each"), or why nothing is proposed. */
enum place_outcome place_propose(const struct place_photo *photos, size_t n_photos,
                                 const struct place_pass *passes, size_t n_passes,
                                 struct place_choice *choices, char *sentence, size_t n_room);

#endif
