/* codes.h - generic trouble codes (assets/codes.csv, SAE J2012): what each means and which cylinders
 * of an engine it speaks of. A cylinder's number is the maker's own, so the label decides, never the
 * place; coil A is commonly that of cylinder 1, and on shared coils the first coil group. */
#ifndef READING_CODES_H
#define READING_CODES_H

#include "engine/engine.h"

enum code_kind {
    CODE_UNKNOWN, CODE_MISFIRE, CODE_MISFIRE_ANY, CODE_COIL, CODE_COIL_ANY, CODE_INJECTOR, CODE_LEAN, CODE_RICH,
    CODE_IDLE_HIGH, CODE_KIND_COUNT
};
const char *code_kind_id(enum code_kind k); /* "misfire-any"; "" for the unknown one */
int code_kind_find(const char *id);         /* -1 when there is no such word */

struct code {
    enum code_kind kind;
    engine_set cylinders; /* those it speaks of, 0 where it names none or the engine has no such number */
    char meaning[96];     /* "Cylinder 6 misfire detected", "" unknown */
};
/* Reads a code against an engine. One without a known meaning gives CODE_UNKNOWN. */
struct code code_read(const struct engine *en, const char *code);

#endif
