/* casefile.h - the case format (docs/case-format.md): one engine with its visits as JSON. */
#ifndef CASEFILE_CASEFILE_H
#define CASEFILE_CASEFILE_H

#include <stdbool.h>
#include <stddef.h>
#include "record/record.h"

struct err;
struct findings;

#define CASEFILE_MAX_BYTES (16u << 20)

/* Parses a case. Unknown keys and words, wrong types, values out of range and references to
 * cylinders that do not exist fail with the path of the place ("readings[3].well[0].sign: …").
 * On failure *out is released and zeroed. */
bool casefile_parse(const char *json, size_t n_bytes, struct record *out, struct err *e);

/* The record as a case; malloc'd text. A parse of it gives an equal record. */
char *casefile_format(const struct record *r);

/* What a case of this engine does not carry, for a sentence: "steps, parts, repairs, how the fuel comes in"; a backup does.
 * True: something of the engine's card is among it. */
bool casefile_left_out(const struct engine *en, char *to, size_t n_room);

/* Findings as the JSON of the case format's "Out"; malloc'd text, ends in a newline. */
char *casefile_format_findings(const struct record *r, const struct findings *f);

/* True when two records are equal in everything the format holds. `where` (at least 128 bytes, may
 * be NULL) names the first difference. */
bool casefile_equal(const struct record *a, const struct record *b, char *where, size_t n_room);

#endif
