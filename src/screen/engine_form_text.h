/* engine_form_text.h - what stands in the engine's form as text and back: a form that is being filled in is kept as a
 * draft. */
#ifndef SCREEN_ENGINE_FORM_TEXT_H
#define SCREEN_ENGINE_FORM_TEXT_H

#include "screen/engine_form.h"

struct text;

#define ENGINE_FORM_TEXT_BYTES 8192 /* holds any */

/* A line for each field that holds something: its name, a tab, what stands in it. */
void engine_form_format(const struct engine_form *f, struct text *to);
/* Into *f, begun or filled before: fields the text does not name are emptied. False, with *f as it was, when it is no such
 * text; a line with a name it does not know is passed over, a choice that there is not is not said. */
bool engine_form_parse(const char *text, struct engine_form *f);

#endif
