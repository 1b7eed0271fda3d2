/* cause_at.h - a cause with its place, as people say it. */
#ifndef READING_CAUSE_AT_H
#define READING_CAUSE_AT_H

#include <stddef.h>

struct cause;
struct engine;

#define CAUSE_AT_BYTES 240

/* "Weak coil or its driver, cylinder 3", "Failed shared coil, cylinders 1, 4" (its place is "group 1, 4"), "Plug-tube seal
 * leaking, all cylinders"; the place is left out where it goes without saying: of the engine, on its only bank, in its only
 * cylinder. cause: an id of the built-in table, else it stands as it is; place: as in findings and verdicts. */
void cause_at_words(const struct engine *en, const char *cause, const char *place, char to[CAUSE_AT_BYTES]);
/* The place alone; "" where it goes without saying. */
void cause_at_place(const struct engine *en, const char *cause, const char *place, char to[CAUSE_AT_BYTES]);
/* The same of a cause that was found, by a table of one's own too. */
void cause_at_found(const struct engine *en, const struct cause *c, char to[CAUSE_AT_BYTES]);

#endif
