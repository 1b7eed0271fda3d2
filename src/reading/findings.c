#include "reading/findings.h"

#include <string.h>

#include "base/mem.h"
#include "base/text.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

const char *stand_out_kind_id(enum stand_out_kind k)
{
    static const char *const ids[] = {"condition", "unlike-neighbours", "gap", "wear", "carry-over", "compression"};

    _Static_assert(COUNT(ids) == STAND_KIND_COUNT, "an id for each kind");
    return ids[k];
}

const char *pattern_shape_id(enum pattern_shape s)
{
    static const char *const ids[] = {"one-cylinder", "one-bank", "adjacent-pair", "companion-pair",
                                      "coil-group", "mixture-group", "front-rear", "removal-order",
                                      "firing-neighbours", "all", "scattered"};

    _Static_assert(COUNT(ids) == SHAPE_COUNT, "an id for each shape");
    return ids[s];
}

const char *pattern_shape_words(enum pattern_shape s)
{
    static const char *const words[] = {"is on one cylinder",
                                        "keeps to one bank",
                                        "is on two neighbours",
                                        "is on a 360° pair",
                                        "follows a shared coil",
                                        "follows a mixture group",
                                        "changes from front to rear",
                                        "fades along the order the plugs were drawn",
                                        "is on two that fire one after the other",
                                        "is on all alike",
                                        "follows no pattern"};

    _Static_assert(COUNT(words) == SHAPE_COUNT, "words for each shape");
    return words[s];
}

const char *cause_likelihood_words(double probability)
{
    return probability >= 0.85 ? "very likely" : probability >= CAUSE_LIKELY ? "likely" : probability >= CAUSE_POSSIBLE ? "possible" : "unlikely";
}

enum level findings_level(const struct findings *f, int cylinder)
{
    enum level worst = LEVEL_NONE;

    for (int i = 0; i < f->n_stand_outs; i++)
        if ((f->stand_outs[i].cylinders >> cylinder & 1u) != 0 && f->stand_outs[i].level > worst)
            worst = f->stand_outs[i].level;
    return worst;
}

void findings_release(struct findings *f)
{
    arena_destroy(f->memory);
    *f = (struct findings){0};
}

int findings_n_shown(const struct findings *f)
{
    int n = 0;

    while (n < f->n_causes && (f->causes[n].probability >= CAUSE_LEAST_SHOWN || f->causes[n].leads))
        n++;
    return n;
}

bool findings_to_settle(const struct cause *c)
{
    return !c->ordinary && (c->probability >= CAUSE_LIKELY || c->asks);
}

int findings_n_on_screen(const struct findings *f)
{
    int n_shown = findings_n_shown(f), n = n_shown < 6 ? n_shown : 6;

    for (int i = n; i < n_shown; i++)
        if (findings_to_settle(&f->causes[i]) || f->causes[i].leads)
            n = i + 1;
    return n;
}

void findings_more_words(const struct findings *f, char *to, size_t n_room)
{
    int from = findings_n_on_screen(f), n = findings_n_shown(f);
    struct text t = {0};

    for (int i = from; i < n; i++) {
        bool said = false;

        for (int k = from; k < i; k++)
            said = said || strcmp(f->causes[k].label, f->causes[i].label) == 0;
        if (!said)
            text_addf(&t, "%s%s", t.n_bytes > 0 ? "; " : "", f->causes[i].label);
    }
    to[0] = '\0';
    if (n > from) /* the same cause elsewhere may be as likely as the last that has a row */
        text_format(to, n_room, "%d more%s: %s", n - from, from > 0 && f->causes[from].probability > 0.99 * f->causes[from - 1].probability ? "" : ", less likely", text_get(&t));
    text_release(&t);
}
