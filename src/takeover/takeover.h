/* takeover.h - what was written down elsewhere becomes part of a logbook. For the window and the command
 * alike. */
#ifndef TAKEOVER_TAKEOVER_H
#define TAKEOVER_TAKEOVER_H

#include <stdbool.h>
#include <stddef.h>
#include "base/clock.h"

struct err;
struct logbook;

/* Whether a file's name says that it is a case (docs/case-format.md). */
bool takeover_is_case(const char *path);
/* A case as a new engine with its visits, one undo step; a case without a name is called as its file. Gives the
 * engine's id, its name (n_room bytes) and how many visits it has. Nothing is written when it fails: not there,
 * too large, no case (the place and the reason are named), or the logbook cannot be written. lb NULL: only looked at. */
bool takeover_case(struct logbook *lb, const char *path, char engine_id[UUID_BYTES], char *name, size_t n_room, int *n_visits, struct err *e);

#endif
