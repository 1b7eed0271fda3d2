/* cuts.h - plugs cut out of their photos for the Line-up: a thread that finds and cuts, and what is known of
 * each cut. Pixels come from the picture helpers, by way of intake.h; pictures go where its go. Main thread. */
#ifndef APP_CUTS_H
#define APP_CUTS_H

#include "lineup/lineup_crop.h"
#include "photo/pool.h"
#include "screen/model.h"

struct cuts;

/* wake is called from the thread when a cut is ready. NULL when the thread cannot be started. */
struct cuts *cuts_create(void (*wake)(void *ctx), void *ctx);
void cuts_destroy(struct cuts *c); /* NULL is fine */

/* The photo of a plan is being decoded: remembered until its pixels come. False when enough are under way:
 * decoded photos are large. */
bool cuts_begin(struct cuts *c, uint64_t key, const struct lineup_plan *plan);
/* True when a result's key is one that was begun: it is taken over then, also when decoding failed. */
bool cuts_give(struct cuts *c, struct photo_result *r);
/* Takes a finished cut; its plan stays valid until the next call. !ok: *facts says why. */
struct cut_made {
    uint64_t key;
    const struct lineup_plan *plan;
    bool ok;
    struct lineup_cut cut; /* the taker's, as is: */
    uint8_t *packed;       /* lineup_cut_pack() of it, NULL without memory */
    size_t n_packed;
};
bool cuts_take(struct cuts *c, struct cut_made *out);

/* What is known of a cut by its key: .known false when nothing is. */
void cuts_note(struct cuts *c, uint64_t key, const struct lineup_cut *cut, const char *why);
struct cut_facts cuts_facts(const struct cuts *c, uint64_t key);

#endif
