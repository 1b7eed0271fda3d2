/* behind.h - a thread with a logbook of its own that reads the visits nobody has opened, so that the search finds
 * their findings too. The window neither waits for it nor is told: what it keeps is no edit. */
#ifndef APP_BEHIND_H
#define APP_BEHIND_H

#include "reading/findings.h"

struct behind;

/* NULL when the thread cannot be started: then what was looked at is found, as before. Begins a first pass. */
struct behind *behind_create(const char *folder, const char *compression_rule);
void behind_destroy(struct behind *b); /* cancels, joins; NULL is fine */
void behind_again(struct behind *b);   /* something came in: a further pass, when this one is through; NULL is fine */

#endif
