/* measure_offer.h - scale and gap lines found in a photo in which none are drawn, as an offer. What was found is kept for
 * photos looked at again. One thread's; nothing here is shared. */
#ifndef APP_MEASURE_OFFER_H
#define APP_MEASURE_OFFER_H

#include "gauge/gauge_band.h"
#include "screen/model.h"

#define MEASURE_OFFER_PX 1600 /* longest side of the picture that is searched: more tells nothing and takes longer */

enum { MEASURE_OFFER_KEPT = 32 };
struct measure_offers {
    struct {
        char photo[UUID_BYTES];
        double pitch_mm;
        struct photo_offer offer; /* not given: nothing is there */
    } kept[MEASURE_OFFER_KEPT];
    int n, next;
};
/* Found before. */
bool measure_offer_kept(const struct measure_offers *f, const char *photo, double pitch_mm, struct photo_offer *out);
void measure_offer_keep(struct measure_offers *f, const char *photo, double pitch_mm, const struct photo_offer *offer);
/* Searches. scale: px of the photo for one of the picture. False when stop asked for it; nothing found is an answer. */
bool measure_offer(const struct gauge_picture *picture, double scale, double pitch_mm, double focal_px, const struct gauge_stop *stop, struct photo_offer *out);

#endif
