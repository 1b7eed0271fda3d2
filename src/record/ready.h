/* ready.h - may the engine be started, as far as the visit's notes tell? Pure. */
#ifndef RECORD_READY_H
#define RECORD_READY_H

#include <stddef.h>
#include "record/record.h"

struct ready {
    int n_loose;                 /* plugs that are out or not torqued */
    int first_cylinder, first_position; /* of those: -1 none */
    bool loose[ENGINE_MAX_PLUGS]; /* such a plug, as in visit.readings */
    engine_set bare_connectors, bare_leads; /* insulation bare, and not replaced since */
    engine_set turn_first;       /* oil, fuel or coolant may lie on the piston: turn by hand before cranking */
};
/* Of the record's last visit. Once the refitting of any plug is noted, a plug that was read and of which
 * nothing is said counts as out: plugs are ticked hole by hole. */
void ready_of(const struct record *r, struct ready *out);
bool ready_to_start(const struct ready *x);
/* "8 plugs not torqued; connector 6 bare", "" when nothing stands in the way. */
void ready_words(const struct engine *en, const struct ready *x, char *to, size_t n_room);

#endif
