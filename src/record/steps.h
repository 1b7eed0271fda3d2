/* steps.h - what becomes of a step that is still open when the next visit begins: the columns carry and
 * carry_words of assets/job-steps.csv. Steps of no row of it (repairs, checks, a person's own) stay open. */
#ifndef RECORD_STEPS_H
#define RECORD_STEPS_H

#include <stdbool.h>

enum step_carry {
    STEP_STAYS,     /* open until it is done */
    STEP_UNTIL_RUN, /* open until the engine has run: a safety step before the next start */
    STEP_OVER,      /* over with its visit */
    STEP_CARRY_COUNT
};
const char *step_carry_id(enum step_carry c); /* "until-run" */

/* source: the name of the row a step was taken from, "turn" or "compression@cylinder 3"; "" a step of one's own. */
enum step_carry step_carry(const char *source);
/* Why it is over, or until when it stays: "each visit begins with it"; "" for what simply stays open. */
const char *step_carry_words(const char *source);
/* Its tick says that the engine ran, and so that the plugs were in: the warm idle, the use that follows it. */
bool step_runs(const char *source);

#endif
