#include "reading/cause_at.h"

#include <string.h>

#include "base/text.h"
#include "reading/cause_table.h"
#include "reading/findings.h"
#include "reading/job.h"

static const struct cause_row *row_of(const char *cause)
{
    const struct cause_table *t = cause_table_builtin();
    int i = cause_table_find(t, cause);

    return i < 0 ? NULL : &t->causes[i];
}

static void place_words(const struct engine *en, const struct cause_row *row, const char *place, char to[CAUSE_AT_BYTES])
{
    const bool of_engine = row == NULL || row->scope == SCOPE_ENGINE, bank = text_starts(place, "bank ");

    if (en->n_cylinders == 1 || (bank && en->n_banks == 1) || (strcmp(place, "engine") == 0 && of_engine))
        to[0] = '\0';
    else if (strcmp(place, "engine") == 0) /* of single cylinders, and at each of them */
        text_copy(to, CAUSE_AT_BYTES, en->n_cylinders == 2 ? "both cylinders" : "all cylinders");
    else if (text_starts(place, "group ")) /* what is grouped says the cause */
        text_format(to, CAUSE_AT_BYTES, strchr(place, ',') != NULL ? "cylinders %s" : "cylinder %s", place + strlen("group "));
    else
        text_copy(to, CAUSE_AT_BYTES, place);
}

static void join(const struct engine *en, const char *label, const struct cause_row *row, const char *place, char to[CAUSE_AT_BYTES])
{
    char where[CAUSE_AT_BYTES], of_engine[CAUSE_AT_BYTES];

    text_copy(of_engine, sizeof of_engine, label);
    job_words_of_engine(en, of_engine, sizeof of_engine);
    place_words(en, row, place, where);
    text_format(to, CAUSE_AT_BYTES, "%s%s%s", of_engine, where[0] != '\0' ? ", " : "", where);
}

void cause_at_place(const struct engine *en, const char *cause, const char *place, char to[CAUSE_AT_BYTES])
{
    place_words(en, row_of(cause), place, to);
}

void cause_at_words(const struct engine *en, const char *cause, const char *place, char to[CAUSE_AT_BYTES])
{
    const struct cause_row *row = row_of(cause);

    join(en, row != NULL ? row->label : cause, row, place, to);
}

void cause_at_found(const struct engine *en, const struct cause *c, char to[CAUSE_AT_BYTES])
{
    join(en, c->label, row_of(c->id), c->at_plug[0] != '\0' ? c->at_plug : c->where, to);
}
