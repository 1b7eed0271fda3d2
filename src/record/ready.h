/* ready.h - may the engine be started, as far as the visit's notes tell? Pure. */
#ifndef RECORD_READY_H
#define RECORD_READY_H

#include <stddef.h>
#include "record/record.h"

/* Why a plug counts as out. READY_DRAWN: nobody said so, but it was read or drawn and is not torqued. */
enum ready_why { READY_IN, READY_OUT, READY_HAND, READY_DRAWN, READY_WHY_COUNT };

/* When a plug counts as out: the first of these that holds decides, READY_IN where none does. */
struct ready_rule {
    const char *when;            /* in words */
    bool (*holds)(const struct record *r, const struct reading *q); /* q: of the record's last visit */
    enum ready_why is;
};
const struct ready_rule *ready_rules(int *n);
/* Whether the visit shows that this plug was out of its hole: what stands in its well, on its boot, coil, lead
 * or connector is seen with the plug in place and does not. */
bool ready_was_drawn(const struct record *r, const struct reading *q);

struct ready {
    int n_loose;                 /* plugs that are out or not torqued */
    int first_cylinder, first_position; /* of those: -1 none */
    enum ready_why why[ENGINE_MAX_PLUGS]; /* as in visit.readings */
    engine_set bare_connectors, bare_leads; /* insulation bare, and not replaced since */
    engine_set unplugged;        /* lead or connector still off */
    engine_set liquid;           /* oil, fuel, water or coolant may lie on the piston */
    engine_set turn_first;       /* of these, the engine is still to be turned by hand */
    bool turn_left;              /* the same, asked for by an earlier visit */
};
/* Of the record's last visit. */
void ready_of(const struct record *r, struct ready *out);
bool ready_to_start(const struct ready *x);
#define READY_WORDS_BYTES 640
/* "plugs 1, 3 are out; connector 6 is bare; turn by hand first: …", "" when nothing stands in the way. */
void ready_words(const struct engine *en, const struct ready *x, char *to, size_t n_room);
/* Where there is little room: "8 plugs not torqued, 1 connector bare, not turned by hand". */
void ready_brief(const struct ready *x, char *to, size_t n_room);

#endif
