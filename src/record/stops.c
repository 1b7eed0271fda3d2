#include "record/stops.h"

#include <assert.h>
#include <string.h>

#include "base/text.h"

/* Which they are follows the levels: record/vocab.c, and the states that reading/conditions.c calls stop. */
static const struct stop_row rows[] = {
    {"metal-specks", SIGN_METAL_SPECKS, WORDS_REFIT, {NULL, NULL}, "metal specks", "piston", "piston"},
    {"coolant", SIGN_COOLANT, WORDS_REFIT, {NULL, NULL}, "coolant traces", "coolant", "head-gasket"},
    {"well-fuel", SIGN_WELL_FUEL, WORDS_REFIT, {NULL, NULL}, "fuel in the well", "", ""},
    {"melted", -1, WORDS_ELECTRODE, {"melted", NULL}, "a melted electrode", "piston", "piston"},
    {"bent", -1, WORDS_ELECTRODE, {"bent", NULL}, "a bent electrode", "piston", "piston"},
    {"broken-nose", -1, WORDS_INSULATOR, {"cracked", "chipped"}, "a broken insulator nose", "piston", "piston"},
    /* Causes whose repair says that it is not to be run before: assets/job-causes.csv. */
    {"taken-coolant", -1, WORDS_REFIT, {NULL, NULL}, "coolant getting in", "coolant", "head-gasket"},
    {"taken-piston", -1, WORDS_REFIT, {NULL, NULL}, "a piston melting or holed", "piston", "piston"},
    {"taken-oil-lean", -1, WORDS_REFIT, {NULL, NULL}, "too little oil in the mixture", "oil-lean", ""},
};
_Static_assert(sizeof rows / sizeof rows[0] == VISIT_STOPS, "a row for each");

const struct stop_row *stop_row(int k)
{
    assert(k >= 0 && k < VISIT_STOPS);
    return &rows[k];
}

bool stop_by_cause(int k)
{
    return stop_row(k)->sign < 0 && stop_row(k)->state[0] == NULL;
}

bool stop_shown(int k, const struct reading *q)
{
    const struct stop_row *r = stop_row(k);
    int is = r->list == WORDS_ELECTRODE ? q->electrode : q->insulator;

    if (!q->present)
        return false;
    if (r->sign >= 0)
        return q->amount[r->sign] >= 2;
    for (int i = 0; i < 2; i++)
        if (is != 0 && r->state[i] != NULL && is == words_find(r->list, r->state[i]))
            return true;
    return false;
}

bool stop_seen_gone(int k, const struct reading *q)
{
    const struct stop_row *r = stop_row(k);

    if (!q->present || stop_shown(k, q))
        return false;
    if (r->sign >= 0)
        return q->amount[r->sign] != AMOUNT_UNSEEN;
    return stop_by_cause(k) ? reading_zone_looked(q, ZONE_FIRING_END) : (r->list == WORDS_ELECTRODE ? q->electrode : q->insulator) != 0;
}

/* By deposits.csv: states of the plug, and what is seen on it outside. */
static const struct {
    enum words list;
    const char *state;
    int sign; /* -1: the state */
    const char *why;
    bool runs; /* the engine takes no harm from it */
} scrap[] = {
    {WORDS_INSULATOR, "cracked", -1, "insulator cracked", false},
    {WORDS_INSULATOR, "chipped", -1, "insulator chipped", false},
    {WORDS_ELECTRODE, "melted", -1, "electrode melted", false},
    {WORDS_ELECTRODE, "bent", -1, "electrode bent", false},
    {WORDS_INSULATOR, "", SIGN_BODY_CRACK, "upper insulator cracked", false},
    {WORDS_INSULATOR, "", SIGN_BODY_FLASHOVER, "flashover track on its insulator", true},
    {WORDS_ELECTRODE, "eroded", -1, "electrodes worn", true},
};

static const char *scrap_of(const struct reading *q, bool also_runs)
{
    for (size_t i = 0; q->present && i < sizeof scrap / sizeof scrap[0]; i++) {
        int is = scrap[i].list == WORDS_INSULATOR ? q->insulator : q->electrode;

        if (scrap[i].runs && !also_runs)
            continue;
        if (scrap[i].sign >= 0 ? q->amount[scrap[i].sign] > 0 : is != 0 && is == words_find(scrap[i].list, scrap[i].state))
            return scrap[i].why;
    }
    return "";
}

const char *stop_scrap(const struct reading *q)
{
    return scrap_of(q, true);
}

const char *stop_broken(const struct reading *q)
{
    return scrap_of(q, false);
}

bool stop_step_is(int k, const struct engine *en, const char *source, engine_set *of)
{
    const struct stop_row *row = stop_row(k);
    size_t n = strcspn(source, "@");
    bool own = text_starts(source, "stop-") && n - 5 == strlen(row->id) && strncmp(source + 5, row->id, n - 5) == 0;

    *of = 0;
    if (!own && !(stop_by_cause(k) && source[n] == '@' && n == strlen(row->cause) && strncmp(source, row->cause, n) == 0))
        return false;
    *of = source[n] == '@' ? record_place(en, source + n + 1) : 0;
    if (*of == 0) /* more cylinders than a step's name holds: all */
        *of = record_place(en, "engine");
    return true;
}

bool stop_cause_is(int k, const struct engine *en, const char *cause, const char *place, engine_set *of)
{
    *of = 0;
    if (stop_row(k)->cause[0] == '\0' || strcmp(cause, stop_row(k)->cause) != 0)
        return false;
    *of = record_place(en, place);
    return true;
}
