/* backlog.h - the findings of visits nobody has looked at yet, for the search: visits that were taken over, merged or
 * written by commands. Each is read once, as the window would show it, and its words are kept beside the log. */
#ifndef REPORT_BACKLOG_H
#define REPORT_BACKLOG_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include "base/text.h"
#include "reading/findings.h"

struct err;
struct logbook;

/* What the search finds of a reading: what stands out, and causes that are likely. Added to *to. */
void backlog_words(const struct engine *en, const struct findings *f, struct text *to);
/* Reads them all, engine by engine; each visit is kept as soon as it is read, so that a cancelled pass goes on where
 * it was left. n_read: how many. Fails when the logbook cannot be read; cancelled: true. Any thread with a logbook of
 * its own. */
bool backlog_read(struct logbook *lb, const struct reading_options *options, const atomic_bool *cancel, size_t *n_read, struct err *e);

#endif
