#include "record/refit_book.h"

#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "engine/engine.h"

static double number(const struct csv *c, size_t row, const char *name)
{
    double v = 0;

    text_to_double(csv_named(c, row, name), &v);
    return v;
}

/* "M14x1,25", "m14 × 1.25", "M10x1" as the charts write them: small letters, x, a point, no blanks, no zeros at the end. */
static void plain_thread(const char *typed, char to[32])
{
    size_t n = 0;

    for (const char *s = typed; *s != '\0' && n < 31; s++) {
        if (strncmp(s, "\xC3\x97", 2) == 0) { /* × */
            to[n++] = 'x';
            s++;
        } else if (*s != ' ') {
            to[n++] = *s == ',' ? '.' : *s == '*' ? 'x' : (char)tolower((unsigned char)*s);
        }
    }
    to[n] = '\0';
    if (strchr(to, '.') != NULL) {
        while (to[n - 1] == '0')
            to[--n] = '\0';
        if (to[n - 1] == '.')
            to[n - 1] = '\0';
    }
}

static bool same_thread(const char *a, const char *b)
{
    char x[32], y[32];

    plain_thread(a, x);
    plain_thread(b, y);
    return strcmp(x, y) == 0;
}

/* The name a chart is known by; its id where the table has none. */
static void name_chart(const struct csv *names, struct refit_chart *r)
{
    text_copy(r->name, sizeof r->name, r->chart);
    for (size_t i = 1; i < names->n_rows; i++)
        if (strcmp(csv_named(names, i, "chart_id"), r->chart) == 0)
            text_copy(r->name, sizeof r->name, csv_named(names, i, "name"));
}

/* Rows that say "all taper" or no head hold for any of them. */
static bool chart_fits(const struct csv *c, size_t row, const char *thread, const char *seat, const char *head)
{
    const char *t = csv_named(c, row, "thread"), *h = csv_named(c, row, "head");

    if (strcmp(csv_named(c, row, "seat"), seat) != 0)
        return false;
    if (!same_thread(t, thread) && !(strcmp(t, "all taper") == 0 && strcmp(seat, "taper") == 0))
        return false;
    return head[0] == '\0' || strcmp(h, head) == 0 || strcmp(h, "not stated") == 0;
}

/* Most sources give one angle for every thread; some name those they mean. */
static bool angle_fits(const char *row, const char *thread)
{
    bool m10 = text_starts(thread, "M10x"), m12 = text_starts(thread, "M12x"), m14 = text_starts(thread, "M14x");

    if (text_starts(row, "M10x1.0 (motorcycle)"))
        return m10;
    if (text_starts(row, "M10x1.0.."))
        return m10 || m12 || m14;
    if (text_starts(row, "14 and 18 mm"))
        return m14 || text_starts(thread, "M18x");
    return true;
}

/* Two charts for the same head whose bands have no figure in common. */
static void find_apart(struct refit *out)
{
    for (int i = 0; i < out->n_charts; i++)
        for (int k = i + 1; k < out->n_charts && out->n_apart < REFIT_MAX_APART; k++) {
            const struct refit_chart *a = &out->charts[i], *b = &out->charts[k];

            if (strcmp(a->head, b->head) != 0 || (a->nm_max >= b->nm_min && b->nm_max >= a->nm_min))
                continue;
            text_format(out->apart[out->n_apart++], sizeof out->apart[0], "%s (%.1f to %.1f N·m) and %s (%.1f to %.1f N·m) do not overlap, head %s",
                        a->name, a->nm_min, a->nm_max, b->name, b->nm_min, b->nm_max, a->head);
        }
}

bool refit_find(const char *thread, const char *seat, const char *head, struct refit *out, struct err *e)
{
    struct csv c, names;
    struct text threads = {0};
    char as_charted[24];
    bool known = false;

    memset(out, 0, sizeof *out);
    if (strcmp(seat, "gasket") != 0 && strcmp(seat, "taper") != 0)
        return err_set(e, ERR_BADARG, "The seat is “%s”; it must be gasket or taper.", TEXT_SHORT(seat, 30));
    if (head[0] != '\0' && strcmp(head, "aluminium") != 0 && strcmp(head, "cast-iron") != 0)
        return err_set(e, ERR_BADARG, "The head is “%s”; it must be aluminium or cast-iron.", TEXT_SHORT(head, 30));
    asset_table_must("torque-charts.csv", SIZE_MAX, &names);
    asset_table_must("torque.csv", SIZE_MAX, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *t = csv_named(&c, i, "thread");

        if (same_thread(t, thread)) {
            known = true;
            thread = text_copy(as_charted, sizeof as_charted, t) ? as_charted : thread;
        }
        if (strcmp(t, "all taper") != 0 && strstr(text_get(&threads), t) == NULL)
            text_addf(&threads, "%s%s", threads.n_bytes ? ", " : "", t);
        if (chart_fits(&c, i, thread, seat, head) && out->n_charts < REFIT_MAX) {
            struct refit_chart *r = &out->charts[out->n_charts++];

            text_copy(r->chart, sizeof r->chart, csv_named(&c, i, "chart_id"));
            name_chart(&names, r);
            text_copy(r->head, sizeof r->head, csv_named(&c, i, "head"));
            text_copy(r->threads, sizeof r->threads, csv_named(&c, i, "threads"));
            if (strcmp(csv_named(&c, i, "orig_min"), csv_named(&c, i, "orig_max")) == 0)
                text_format(r->printed, sizeof r->printed, "%s %s", csv_named(&c, i, "orig_min"), csv_named(&c, i, "orig_unit"));
            else
                text_format(r->printed, sizeof r->printed, "%s–%s %s", csv_named(&c, i, "orig_min"), csv_named(&c, i, "orig_max"), csv_named(&c, i, "orig_unit"));
            r->nm_min = number(&c, i, "nm_min");
            r->nm_max = number(&c, i, "nm_max");
            text_copy(r->note, sizeof r->note, csv_named(&c, i, "note"));
            text_copy(r->source, sizeof r->source, csv_named(&c, i, "source"));
        }
    }
    csv_release(&c);
    csv_release(&names);
    if (!known) {
        err_set(e, ERR_NOTFOUND, "No chart knows the thread “%s”. There are %s.", TEXT_SHORT(thread, 30), text_get(&threads));
        text_release(&threads);
        return false;
    }
    text_release(&threads);
    asset_table_must("turn-angle.csv", SIZE_MAX, &c);
    for (size_t i = 1; i < c.n_rows && out->n_turns < REFIT_MAX; i++) {
        const char *s = csv_named(&c, i, "seat"), *t = csv_named(&c, i, "thread");
        struct refit_turn *r = &out->turns[out->n_turns];

        if (strncmp(s, seat, strlen(seat)) != 0 || strcmp(t, "listed part numbers") == 0)
            continue;
        if (!angle_fits(t, thread))
            continue;
        text_copy(r->seat, sizeof r->seat, s);
        text_copy(r->washer, sizeof r->washer, csv_named(&c, i, "gasket_state"));
        r->deg_min = number(&c, i, "deg_min");
        r->deg_max = number(&c, i, "deg_max");
        r->doubtful = strncmp(csv_named(&c, i, "note"), "CONFLICT", 8) == 0;
        text_copy(r->source, sizeof r->source, csv_named(&c, i, "source"));
        out->n_turns++;
    }
    csv_release(&c);
    find_apart(out);
    return true;
}

/* How far the two seats are apart on the first chart that has both, for the thread that is named, else for the commonest. */
static void tell_both_seats(const struct engine *en, char *to, size_t n_room)
{
    struct refit *gasket = mem_alloc(2, sizeof *gasket), *taper = gasket + 1;
    const char *thread = en->plug.thread[0] != '\0' ? en->plug.thread : "M14x1.25", *head = en->head != ENGINE_HEAD_UNKNOWN ? engine_head_id(en->head) : "aluminium";
    bool both = refit_find(thread, "gasket", head, gasket, NULL) && refit_find(thread, "taper", head, taper, NULL);

    text_copy(to, n_room, "a taper seat takes far less than a gasket.");
    for (int i = 0; both && i < gasket->n_charts; i++)
        for (int k = 0; both && k < taper->n_charts; k++)
            if (strcmp(gasket->charts[i].chart, taper->charts[k].chart) == 0 && strcmp(gasket->charts[i].head, taper->charts[k].head) == 0) {
                const struct unit_choice both_units = {0}; /* each torque is told with the other unit beside it */
                char little[48], much[48];

                unit_tell_torque(&both_units, taper->charts[k].nm_min, taper->charts[k].nm_max, little, sizeof little);
                unit_tell_torque(&both_units, gasket->charts[i].nm_min, gasket->charts[i].nm_max, much, sizeof much);
                text_format(to, n_room, "a taper seat takes far less than a gasket (%s in %s, %s: %s against %s).", thread, head, taper->charts[k].name, little, much);
                both = false;
            }
    free(gasket);
}

bool refit_for_engine(const struct engine *en, struct refit *out, struct err *e)
{
    bool whole = en->plug.thread[0] != '\0' && en->plug.seat != ENGINE_SEAT_UNKNOWN;
    bool fine = whole && refit_find(en->plug.thread, engine_seat_id(en->plug.seat), engine_head_id(en->head), out, e);
    char both[240];

    if (!fine)
        memset(out, 0, sizeof *out);
    out->maker_nm = en->plug.maker_torque_nm;
    if (whole)
        return fine;
    tell_both_seats(en, both, sizeof both);
    return err_set(e, ERR_NOTFOUND, "The engine's card does not name the plug's %s. Measure the thread and look at the seat first, then enter them: %s",
                   en->plug.thread[0] != '\0' ? "seat" : en->plug.seat != ENGINE_SEAT_UNKNOWN ? "thread" : "thread and seat", both);
}

/* ---- a torque that was applied ---- */

enum side { UNDER, WITHIN, OVER, N_SIDES };

static enum side side_of(const struct refit_chart *c, double nm)
{
    return nm < c->nm_min - 0.5 ? UNDER : nm > c->nm_max + 0.5 ? OVER : WITHIN;
}

/* Whether a row of that name, of an earlier or of any row, lies to that side. */
static bool named(const struct refit *f, int n_rows, const char *name, enum side side, double nm)
{
    for (int i = 0; i < n_rows; i++)
        if (strcmp(f->charts[i].name, name) == 0 && side_of(&f->charts[i], nm) == side)
            return true;
    return false;
}

/* Each chart once by its name. Where its rows for several heads lie to different sides, with the head. */
static void tell_charts(const struct refit *f, double nm, enum side side, struct text *t)
{
    static const char *const words[N_SIDES] = {"under", "within", "over"};
    int n = 0;

    for (int i = 0; i < f->n_charts; i++) {
        const struct refit_chart *c = &f->charts[i];
        bool split = false;

        if (side_of(c, nm) != side)
            continue;
        for (int other = 0; other < N_SIDES; other++)
            split = split || (other != (int)side && named(f, f->n_charts, c->name, (enum side)other, nm));
        if (!split && named(f, i, c->name, side, nm))
            continue;
        text_addf(t, "%s%s", n > 0 ? " · " : t->n_bytes > 0 ? "; " : "", n > 0 ? "" : words[side]);
        text_addf(t, "%s%s", n > 0 ? "" : " ", c->name);
        if (split)
            text_addf(t, " for %s", strcmp(c->head, "not stated") == 0 ? "a head it does not state" : c->head);
        n++;
    }
}

void refit_compare(const struct refit *f, const struct unit_choice *units, double nm, char *to, size_t n_room)
{
    struct text t = {0};
    char maker[48];

    unit_tell_torque(units, f->maker_nm, f->maker_nm, maker, sizeof maker);
    if (f->maker_nm > 0)
        text_addf(&t, "%s the maker's %s", nm < f->maker_nm * 0.95 ? "under" : nm > f->maker_nm * 1.05 ? "over" : "as", maker);
    for (int side = 0; side < N_SIDES; side++)
        tell_charts(f, nm, (enum side)side, &t);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* A wrench is good to some 5 %, a careful hand to 20; a fifth past the figure the shell and the threads of the head begin
 * to give, and under three quarters of it the seat carries too little heat. Common practice, no source. */
#define FAR_OVER 1.2
#define FAR_UNDER 0.75
#define LOOSE     0.5 /* no better than by hand */

/* On a greased thread so much of the dry figure pulls as hard: sources say a fifth to a third less (the bench's own words under a hole). */
#define GREASED_MOST  0.8
#define GREASED_LEAST (2.0 / 3)
#define WRENCH        1.05

/* The figure it is held against: the maker's, else the end of the charts that is nearest. 0: there is none. */
static double book_nm(const struct refit *f, bool most, const char **name)
{
    double nm = f->maker_nm;

    *name = NULL;
    for (int i = 0; f->maker_nm <= 0 && i < f->n_charts; i++) {
        double edge = most ? f->charts[i].nm_max : f->charts[i].nm_min;

        if (*name == NULL || (most ? edge > nm : edge < nm)) {
            nm = edge;
            *name = f->charts[i].name;
        }
    }
    return nm;
}

/* The most that a chart allows, of those for the softer head where several are shown; NULL: there is none. */
static const struct refit_chart *highest_chart(const struct refit *f)
{
    const struct refit_chart *most = NULL, *hard = NULL;

    for (int i = 0; i < f->n_charts; i++) {
        const struct refit_chart *c = &f->charts[i], **of = strcmp(c->head, "cast-iron") == 0 ? &hard : &most;

        if (*of == NULL || c->nm_max > (*of)->nm_max)
            *of = c;
    }
    return most != NULL ? most : hard;
}

/* What the maker has greased is tightened to a figure for greased threads. */
static bool book_is_for_greased(const struct refit *f)
{
    for (int i = 0; i < f->n_charts; i++)
        if (strcmp(f->charts[i].threads, "compound") == 0)
            return true;
    return false;
}

enum refit_off refit_judge(const struct refit *f, double nm, bool greased)
{
    const struct refit_chart *chart = highest_chart(f);
    const char *name;
    double least = book_nm(f, false, &name), most = book_nm(f, true, &name), as_dry;

    greased = greased && !book_is_for_greased(f);
    as_dry = greased ? nm / GREASED_MOST : nm; /* at the least */
    if (most > 0 && nm > most * FAR_OVER)
        return f->maker_nm > 0 && chart != NULL && side_of(chart, nm) != OVER ? REFIT_ABOVE : REFIT_OVER;
    if (nm < least * LOOSE)
        return REFIT_LOOSE;
    return as_dry < least * FAR_UNDER ? REFIT_UNDER : greased && most > 0 && as_dry > most * WRENCH ? REFIT_GREASED : REFIT_FINE;
}

bool refit_stops(enum refit_off off)
{
    return off == REFIT_LOOSE || off == REFIT_OVER;
}

const char *refit_off_words(enum refit_off off)
{
    static const char *const words[REFIT_OFF_COUNT] = {"", "far under", "over", "greased, too much for", "far under", "far over"};

    return words[off];
}

const char *refit_book_words(const struct engine *en)
{
    return en->plug.maker_torque_nm > 0 ? "the book" : "every chart";
}

enum refit_off refit_warn(const struct refit *f, const struct unit_choice *units, double nm, bool greased, char *to, size_t n_room)
{
    enum refit_off off = refit_judge(f, nm, greased);
    const bool over = off == REFIT_OVER || off == REFIT_ABOVE || off == REFIT_GREASED;
    const struct refit_chart *chart = highest_chart(f);
    const char *name;
    double book = book_nm(f, over, &name);
    char is[48], should[48], against[128], low[48], high[48];

    to[0] = '\0';
    if (off == REFIT_FINE)
        return off;
    unit_tell_torque(units, nm, nm, is, sizeof is);
    unit_tell_torque(units, book, book, should, sizeof should);
    if (name == NULL)
        text_format(against, sizeof against, "the maker's %s", should);
    else
        text_format(against, sizeof against, "the %s chart's %s (%s)", over ? "highest" : "lowest", should, name);
    if (off == REFIT_ABOVE) {
        unit_tell_torque(units, chart->nm_max, chart->nm_max, high, sizeof high);
        text_format(to, n_room, "%s is more than a fifth over %s, though a chart for this thread goes up to %s (%s). The maker's figure wins: slacken it and tighten it to that, engine cold.", is, against, high, chart->name);
    } else if (off == REFIT_GREASED) {
        unit_tell_torque(units, nm / GREASED_MOST, nm / GREASED_LEAST, high, sizeof high);
        unit_tell_torque(units, book * GREASED_LEAST, book * GREASED_MOST, low, sizeof low);
        text_format(to, n_room, "%s on a greased thread pulls as hard as some %s on a dry one, and %s is for dry threads unless the book says otherwise: about %s would do. The maker's word wins.", is, high, against, low);
    } else if (off == REFIT_OVER)
        text_format(to, n_room, "%s is far over %s: the head's thread or the plug's shell may be stretched. Do not run it: take the plug out, look at its thread, shell and insulator and at the thread in the head, then fit a new plug and washer.", is, against);
    else if (off == REFIT_LOOSE)
        text_format(to, n_room, "%s is less than half of %s, no better than by hand: the plug runs hot, and the engine may blow it out with its thread. Tighten it, engine cold, before it runs.", is, against);
    else
        text_format(to, n_room, "%s is far under %s: the plug runs hot and works loose. Tighten it, engine cold.", is, against);
    return off;
}

bool refit_turn_is_special(const struct refit_turn *t)
{
    return strchr(t->seat, '(') != NULL;
}

bool refit_turn_words(const struct refit *f, bool used, char *to, size_t n_room)
{
    double low = 0, high = 0;
    int n = 0;

    for (int i = 0; i < f->n_turns; i++) {
        const struct refit_turn *t = &f->turns[i];
        bool reused = strstr(t->washer, "reused") != NULL, fresh = strcmp(t->washer, "new") == 0 || strstr(t->washer, "new or") != NULL;

        if (t->doubtful || refit_turn_is_special(t) || (strcmp(t->washer, "n/a") != 0 && !(used ? reused : fresh)))
            continue;
        low = n == 0 || t->deg_min < low ? t->deg_min : low;
        high = n == 0 || t->deg_max > high ? t->deg_max : high;
        n++;
    }
    if (n == 0)
        return false;
    if (high - low < 0.5)
        text_format(to, n_room, "finger-tight, then %.3g°", low);
    else
        text_format(to, n_room, "finger-tight, then %.3g–%.3g° (%d sources)", low, high, n);
    return true;
}
