#include "reading/refit.h"

#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "record/seated.h"
#include "record/stops.h"

double refit_worn_from_mm(const struct engine_plug_spec *spec)
{
    return spec->gap_limit_mm;
}

bool refit_is_worn(const struct engine_plug_spec *spec, double gap_mm)
{
    return gap_against(spec, gap_mm) == GAP_PAST_LIMIT;
}

static bool done_to(const struct record *r, const struct reading *q, const char *verb, const char *part)
{
    return (visit_worked_at(record_current(r), verb, part) >> q->cylinder & 1u) != 0;
}

bool refit_is_new(const struct record *r, const struct reading *q)
{
    return seated_other(record_current(r), q);
}

bool refit_is_cleaned(const struct record *r, const struct reading *q)
{
    const struct reading *plug = seated_plug(record_current(r), q);

    return plug != NULL && done_to(r, plug, "cleaned", "plug");
}

const char *refit_scrap(const struct record *r, const struct reading *q)
{
    const struct reading *plug = seated_plug(record_current(r), q);

    return plug != NULL ? stop_scrap(plug) : "";
}

struct maybe refit_gap_left(const struct record *r, const struct reading *q)
{
    return seated_gap_left(record_current(r), record_plug_count(&r->engine), q);
}

struct maybe refit_gap(const struct record *r, const struct reading *q)
{
    const struct reading *plug = seated_plug(record_current(r), q);
    struct maybe left = refit_gap_left(r, q);

    return left.given || plug == NULL ? left : plug->gap_mm;
}

static void ask(struct text *t, const char *question)
{
    text_addf(t, "%s%s", t->n_bytes > 0 ? " · " : "", question);
}

void refit_ask(const struct record *r, const struct reading *q, bool inches, char *to, size_t n_room)
{
    static const struct {
        enum sign sign;
        const char *part, *question; /* part: cleaning it answers */
    } came_out[] = {
        {SIGN_OIL_WET, "plug", "came out wet with oil: cleaned and dry?"},
        {SIGN_FUEL_WET, "plug", "came out wet with fuel: dried?"},
        {SIGN_BRIDGED, "plug", "its gap is bridged: cleaned, or a new plug?"},
        {SIGN_COOLANT, "plug", "coolant on it: not before that is found"},
        {SIGN_WELL_OIL, "well", "oil stood in its well: dry?"},
        {SIGN_WELL_WATER, "well", "water stood in its well: dry?"},
        {SIGN_WELL_FUEL, "well", "fuel stood in its well: dry?"},
    };
    const struct engine_plug_spec *spec = &r->engine.plug;
    const struct unit_choice units = {.inches = inches};
    const struct reading *plug = seated_plug(record_current(r), q);
    const char *broken = refit_scrap(r, q);
    struct maybe gap = refit_gap(r, q);
    struct text t = {0};
    char is[24], may[24];

    for (size_t i = 0; i < sizeof came_out / sizeof came_out[0]; i++) { /* what stood in the well stays with it, what is on the plug goes along */
        const bool well = strcmp(came_out[i].part, "well") == 0;
        const struct reading *of = well ? q : plug;

        if (of != NULL && of->present && of->amount[came_out[i].sign] >= 2 && !done_to(r, of, "cleaned", came_out[i].part) && !(record_current(r)->state.dried && well))
            ask(&t, came_out[i].question);
    }
    if (gap.given)
        unit_tell_length(&units, gap.value, false, is, sizeof is);
    if (broken[0] != '\0') { /* its gap is nobody's matter */
        text_addf(&t, "%s%s: a new plug", t.n_bytes > 0 ? " · " : "", broken);
    } else if (gap.given && refit_is_worn(spec, gap.value)) {
        unit_tell_length(&units, refit_worn_from_mm(spec), true, may, sizeof may);
        text_addf(&t, "%sgap %s, limit %s: a new plug?", t.n_bytes > 0 ? " · " : "", is, may);
    } else if (gap.given && spec->gap_limit_mm <= 0 && gap_against(spec, gap.value) == GAP_OVER) {
        unit_tell_length(&units, spec->gap_max_mm, true, may, sizeof may);
        text_addf(&t, "%sgap %s, over %s: set it", t.n_bytes > 0 ? " · " : "", is, may);
    }
    if (plug != NULL && plug != q && t.n_bytes > 0) {
        char label[64];

        engine_plug_label(&r->engine, plug->cylinder, plug->position, label, sizeof label);
        text_format(to, n_room, "the plug from %s is in it: %s", label, text_get(&t));
    } else {
        text_copy(to, n_room, text_get(&t));
    }
    text_release(&t);
}
