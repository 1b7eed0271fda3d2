/* placing.h - photos that a helper has read become photos of a visit, and those that have no place yet
 * get one proposed along the visit's removal order. For the window and the command alike. */
#ifndef PLACING_PLACING_H
#define PLACING_PLACING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "record/record.h"

struct arena;
struct cache;
struct err;
struct logbook;
struct logbook_photo;
struct photo_result;

/* Notes an imported photo in the visit, inside a change; a damaged one with what is wrong with it. One
 * that is there already stays as it is. */
bool placing_record(struct logbook *lb, const char *visit_id, const struct photo_result *r, int64_t sort, struct err *e);
/* Keeps the small pictures that came with it. */
void placing_keep_pictures(struct cache *cache, const struct photo_result *r);

struct photo_proposal { /* where a photo would go; cylinder -1: nowhere */
    int cylinder, position, zone;
};
/* Where the photos without a place would go: out has n rows, those with a place or beyond
 * PLACE_MAX_PHOTOS get none. The sentence says what was understood, or why nothing is proposed; false,
 * without a sentence, when every photo has its place. */
bool placing_propose(const struct record *r, const struct logbook_photo *photos, size_t n, struct arena *a,
                     struct photo_proposal *out, char *sentence, size_t n_room);

#endif
