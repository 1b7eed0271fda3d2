/* carry.c - oil that says nothing of its own cylinder: brought by the socket from a plug drawn before, or
 * run down from a wet well when the plug was drawn. It is told, and left out of patterns and causes. */
#include <string.h>

#include "reading/reading_work.h"

#define BIT(i) ((engine_set)1 << (i))

static int outside_oil(const struct reading *r)
{
    int threads = r->amount[SIGN_THREADS_OIL], body = r->amount[SIGN_BODY_OIL];

    return threads > body ? threads : body; /* AMOUNT_UNSEEN when nobody looked at either */
}

/* Oil that is this plug's own: in its well, on its boot, on its firing end. */
static bool has_own(const struct reading *r)
{
    return r->amount[SIGN_WELL_OIL] > 0 || r->amount[SIGN_BOOT_OIL_SOAKED] > 0 || r->amount[SIGN_OIL_WET] > 0;
}

static void explain(struct work *w, int plug)
{
    for (int k = 0; k < w->n_measures; k++) {
        struct measure *m = &w->measures[k];

        for (int i = 0; i < m->n && (m->sign == SIGN_THREADS_OIL || m->sign == SIGN_BODY_OIL); i++)
            if (m->plug[i] == plug)
                m->explained[i] = true;
    }
}

static void name_measure(struct stand_out *s, const struct reading *r)
{
    s->sign = r->amount[SIGN_THREADS_OIL] > 0 ? SIGN_THREADS_OIL : SIGN_BODY_OIL;
    sign_measure((enum sign)s->sign, s->measure, sizeof s->measure);
}

/* ---- run down ---- */

static void run_down(struct work *w)
{
    engine_set set = 0;
    int n = 0, n_unseen = 0, most = 0, most_well = 0, position = -1;
    bool threads = false, body = false;
    const struct reading *shown = NULL;
    struct stand_out *s;
    char words[160];

    for (int i = 0; i < record_plug_count(w->en); i++) {
        const struct reading *r = &w->v->readings[i];
        int oil = outside_oil(r);

        if (r->amount[SIGN_WELL_OIL] <= 0 || oil <= 0 || r->amount[SIGN_OIL_WET] > 0)
            continue;
        set |= BIT(r->cylinder);
        position = r->position;
        n++;
        n_unseen += r->amount[SIGN_OIL_WET] == AMOUNT_UNSEEN;
        threads = threads || r->amount[SIGN_THREADS_OIL] > 0;
        body = body || r->amount[SIGN_BODY_OIL] > 0;
        most = oil > most ? oil : most;
        most_well = r->amount[SIGN_WELL_OIL] > most_well ? r->amount[SIGN_WELL_OIL] : most_well;
        shown = shown == NULL || r->amount[SIGN_THREADS_OIL] > 0 ? r : shown;
        explain(w, i);
    }
    if (set == 0)
        return;
    s = work_add_stand_out(w);
    s->kind = STAND_CONDITION;
    s->cylinders = set;
    s->position = n == 1 ? position : -1;
    work_where(w, set, s->position, s->where, sizeof s->where);
    name_measure(s, shown);
    s->level = LEVEL_NOTE;
    s->value = MAYBE(most);
    s->reference = MAYBE(most_well);
    engine_set_words(w->en, set, words, sizeof words);
    text_format(s->headline, sizeof s->headline, "Oil on %s ran down from the well", words);
    text_format(s->text, sizeof s->text, "On the %s, %s at most, under a well with oil (%s at most); %s. It is run-down oil: it says nothing of the inside.",
                !body ? "threads" : threads ? "threads and bodies" : "body", amount_words(most), amount_words(most_well),
                n_unseen == 0 ? (n == 1 ? "the firing end is not oily" : "the firing ends are not oily")
                : n_unseen == n ? "the firing end was not looked at" : "not every firing end was looked at");
    text_copy(s->how, sizeof s->how,
              "Oil stood in the well before the plug was drawn, and none is seen on the firing end: what is on the outside came from "
              "above. Such oil is left out of patterns and causes; the oil in the well counts.");
    if (n_unseen > 0)
        work_add_line(w, &s->missing, "whether the firing end is oily: only a clean one clears the inside");
}

/* ---- carried over ---- */

/* What the socket has on it while it goes from plug to plug. */
struct socket {
    int oil;       /* at most so much can be handed on */
    int from;      /* plug index it came from */
    int n_since;   /* plugs drawn since then */
    bool blind;    /* a plug in between was not looked at */
};

static void carried(struct work *w, const struct reading *r, const struct socket *socket)
{
    const struct visit *v = w->v;
    struct stand_out *s = work_add_stand_out(w);
    char name[48], from[48];
    size_t n;

    engine_plug_label(w->en, r->cylinder, r->position, name, sizeof name);
    engine_plug_label(w->en, work_cylinder(w, socket->from), work_position(w, socket->from), from, sizeof from);
    s->kind = STAND_CARRY_OVER;
    s->cylinders = BIT(r->cylinder);
    s->position = r->position;
    work_where(w, s->cylinders, r->position, s->where, sizeof s->where);
    name_measure(s, r);
    s->level = LEVEL_NOTE;
    s->value = MAYBE(outside_oil(r));
    s->reference = MAYBE(socket->oil);
    text_format(s->headline, sizeof s->headline, "Oil on plug %s may be carried over", name);
    text_format(s->text, sizeof s->text, "%s only, %s", r->amount[SIGN_THREADS_OIL] <= 0 ? "Body" : r->amount[SIGN_BODY_OIL] > 0 ? "Threads and body" : "Threads",
                r->amount[SIGN_WELL_OIL] == 0 ? "well dry" : engine_may_have_wells(w->en) ? "no oil seen in its well" : "none seen on its firing end");
    n = strlen(s->text);
    if (socket->n_since == 1)
        text_format(s->text + n, sizeof s->text - n, ", pulled straight after %s%s.", from,
                    v->socket == 0 ? "; whether the socket was wiped is not noted" : " with the same socket");
    else
        text_format(s->text + n, sizeof s->text - n, ", pulled %d after the oily %s%s; the oil fades along the order.", socket->n_since, from,
                    v->socket == 0 ? "; whether the socket was wiped is not noted" : " with the same socket");
    text_copy(s->odds, sizeof s->odds, "wipe, refit, look again next visit");
    text_format(s->how, sizeof s->how,
                "The plugs drawn since %s, whose oil is its own, show no more oil than the one before them; this one has %s where the socket "
                "could bring %s, its own %s and its firing end is not oily. Such oil is left out of patterns and causes.",
                from, amount_words(outside_oil(r)), amount_words(socket->oil), engine_may_have_wells(w->en) ? "well and boot show none" : "boot shows none");
    if (r->amount[SIGN_WELL_OIL] == AMOUNT_UNSEEN && engine_may_have_wells(w->en))
        work_add_line(w, &s->missing, "whether its well was dry before it was drawn");
    if (r->amount[SIGN_OIL_WET] == AMOUNT_UNSEEN)
        work_add_line(w, &s->missing, "whether the firing end is oily");
    if (socket->blind)
        work_add_line(w, &s->missing, "the outside of the plugs drawn in between");
    if (v->socket == 0)
        work_add_line(w, &s->missing, "whether the socket was wiped between plugs");
    explain(w, record_plug_index(w->en, r->cylinder, r->position));
}

void work_carry_over(struct work *w)
{
    const struct visit *v = w->v;
    struct socket socket = {0};

    run_down(w);
    if (words_find(WORDS_SOCKET, "wiped") == v->socket)
        return;
    for (int k = 0; k < v->n_removal; k++) {
        struct plug_place at = visit_drawn(v, k);
        int plug = record_plug_index(w->en, at.cylinder, at.position), oil;
        const struct reading *r = &v->readings[plug];

        oil = outside_oil(r);
        socket.n_since++;
        if (has_own(r)) {
            /* what it has on its outside wets the socket; where nobody looked, what stood in its well */
            int own = oil >= 0 ? oil : r->amount[SIGN_WELL_OIL];

            if (own > 0)
                socket = (struct socket){.oil = own, .from = plug};
        } else if (oil > 0 && oil <= socket.oil) {
            carried(w, r, &socket);
            socket.oil = oil;
        } else if (oil > 0) { /* more than the socket could bring, or the first: its own, from wherever */
            socket = (struct socket){.oil = oil, .from = plug};
        } else if (oil == 0) {
            socket.oil = 0; /* it left nothing here: none is on it any more */
        } else {
            socket.blind = true;
        }
    }
}
