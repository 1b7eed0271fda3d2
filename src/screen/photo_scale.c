/* photo_scale.c - beside the photo: the lengths in it that tell its scale, and whether they agree. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "gauge/gauge_length.h"
#include "screen/photo_bench.h"
#include "screen/refused.h"

#define N(a) (sizeof(a) / sizeof(a)[0])

struct choice {
    const char *id, *label; /* id: as kept in the mark */
};

const char *bench_hex(const struct model *m, const struct logbook_mark *mark)
{
    struct gauge_hex h;
    const char *thread = m->record->engine.plug.thread;
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, mark->photo, &n);

    for (size_t i = 0; i < n; i++)
        if (marks[i].kind == MARK_SCALE && marks[i].thread[0] != '\0')
            thread = marks[i].thread;
    if (gauge_hex_find(mark->hex, thread, &h) || gauge_hex_find("", "", &h))
        return h.id;
    return "?";
}

/* One of some, put into a mark's field; the one that is on is let go of by another press. */
static void choose(struct bench_column *c, struct actions *out, const struct logbook_mark *mark, const char *name, const char *label, size_t offset, size_t n_room, const struct choice *list, size_t n, const char *on)
{
    struct ui_flow flow = ui_flow_begin(c->r, ui_target_px(c->ui));

    for (size_t i = 0; i < n; i++) {
        bool chosen = strcmp(list[i].id, on) == 0;
        char id[48];

        text_format(id, sizeof id, "bench.%s.%s", name, list[i].id);
        if (ui_chip(c->ui, id, ui_flow_next(&flow, ui_chip_width(c->ui, list[i].label, NULL)), list[i].label, chosen, NULL)) {
            struct logbook_mark changed = *mark;

            text_copy((char *)&changed + offset, n_room, chosen ? "" : list[i].id);
            bench_put(c->ui, out, &changed, 1, label);
        }
    }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 8);
}

static void scale_words(struct bench_column *c, const char *id, const struct photo_scale *s)
{
    if (s == NULL || s->words[0] == '\0')
        return;
    ui_note(c->ui, id, (struct rect){c->r.x, c->r.y, c->r.w, 20}, "scale", s->words);
    bench_say(c, s->words, s->given ? UI_TEXT_SOFT : UI_TEXT);
}

/* "13.96 px/mm ± 2.1 %" */
static void figure(const struct photo_scale *s, char *to, size_t n_room)
{
    text_copy(to, n_room, "none yet");
    if (s != NULL && s->given)
        text_format(to, n_room, "%.2f px/mm ± %.1f %%", s->px_per_mm, 100 * s->pm / s->px_per_mm);
}

/* Several threads are as wide as what is seen: the answer is the engine's, for all its photos. */
void bench_ask_thread(struct bench_column *c, const struct model *m, struct actions *out, const struct photo_measured *got)
{
    const struct photo_scale *s = &got->scales[PHOTO_SCALE_THREAD];
    struct ui_flow flow;

    ui_note(c->ui, "bench.which", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "which thread", s->words);
    bench_say(c, s->words, UI_TEXT);
    if (!m->can_write)
        return;
    flow = ui_flow_begin(c->r, fmaxf(36, ui_target_px(c->ui)));
    for (int i = 0; i < got->n_which; i++) {
        struct ui_button o = {.look = UI_LOOK_DARK};
        char id[48];

        text_format(id, sizeof id, "bench.which.%s", got->which[i]);
        if (ui_button(c->ui, id, ui_flow_next(&flow, ui_button_width(c->ui, got->which[i], &o)), got->which[i], &o))
            text_copy(actions_add(out, ACT_SET_THREAD)->text, sizeof out->list[0].text, got->which[i]);
    }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 6);
    bench_say(c, "It is written on the engine's card, for all its photos.", UI_TEXT_SOFT);
}

static void thread_rows(struct bench_column *c, const struct model *m, struct actions *out, const struct logbook_mark *line, const struct photo_measured *got, const struct photo_scale *s)
{
    static const struct choice threads[] = {{"M8x1.0", "M8x1.0"}, {"M10x1.0", "M10x1.0"}, {"M12x1.25", "M12x1.25"}, {"M14x1.25", "M14x1.25"}, {"M18x1.5", "M18x1.5"}, {"7/8in-18", "7/8in-18"}};
    const char *thread = line->thread[0] != '\0' ? line->thread : m->record->engine.plug.thread[0] != '\0' ? m->record->engine.plug.thread : got != NULL ? got->thread : "";
    char words[160];

    if (s != NULL && s->given) {
        ui_value_row(c->ui, "bench.thread", ui_cut_top(&c->r, 32), got->on_outline ? "From the thread, outline" : "From the thread, middle", thread, true, NULL);
        text_format(words, sizeof words, "%.2f px over %.1f threads", got->pitch_px, got->n_periods);
        ui_value_row(c->ui, "bench.pitch", ui_cut_top(&c->r, 32), "Pitch found", words, false, NULL);
        figure(s, words, sizeof words);
        ui_value_row(c->ui, "bench.scale", ui_cut_top(&c->r, 32), "Scale", words, false, NULL);
        ui_cut_top(&c->r, 6);
    }
    if (got != NULL && got->n_which > 0)
        bench_say(c, "Which thread it is, is asked above. Of this photo only:", UI_TEXT_SOFT);
    else
        scale_words(c, "bench.scale-words", s);
    if (m->can_write) { /* another plug than the card's */
        struct logbook_mark shown = *line;

        choose(c, out, &shown, "thread", "Thread of the photo", offsetof(struct logbook_mark, thread), sizeof shown.thread, threads, N(threads), thread);
    }
}

/* By itself, and, where another scale counts, what that makes of it: "15.9 mm across flats". */
static void value_rows(struct bench_column *c, const char *id, const char *label, const char *of, const struct photo_measured *got, enum photo_scale_kind k)
{
    const struct photo_scale *s = got != NULL ? &got->scales[k] : NULL;
    char words[80], check[64];

    figure(s, words, sizeof words);
    ui_value_row(c->ui, id, ui_cut_top(&c->r, 32), label, words, s != NULL && s->given && got->counts == (int)k, NULL);
    if (s != NULL && s->given && got->counts != (int)k) {
        text_format(check, sizeof check, "%s-check", id);
        text_format(words, sizeof words, "%.1f mm%s", s->by_counted_mm, of);
        ui_value_row(c->ui, check, ui_cut_top(&c->r, 32), "By the scale that counts", words, false, NULL);
    }
    ui_cut_top(&c->r, 6);
}

static void hex_rows(struct bench_column *c, const struct model *m, struct actions *out, const struct logbook_mark *line, const struct photo_measured *got)
{
    static const struct choice turned[] = {{"corners", "a face in the middle"}, {"flats", "an edge in the middle"}};
    struct gauge_hex all[GAUGE_MAX_HEXES];
    struct choice sizes[GAUGE_MAX_HEXES];
    int n = gauge_hexes(all);
    char label[48];

    text_format(label, sizeof label, "Hex, %s mm", bench_hex(m, line));
    value_rows(c, "bench.hex", label, " across flats", got, PHOTO_SCALE_HEX);
    scale_words(c, "bench.hex-words", got != NULL ? &got->scales[PHOTO_SCALE_HEX] : NULL);
    if (!m->can_write)
        return;
    for (int i = 0; i < n; i++)
        sizes[i] = (struct choice){all[i].id, all[i].id};
    choose(c, out, line, "hex-turned", "How the hex is turned", offsetof(struct logbook_mark, lies), sizeof line->lies, turned, N(turned), line->lies);
    choose(c, out, line, "hex-size", "Size of the hex", offsetof(struct logbook_mark, hex), sizeof line->hex, sizes, (size_t)n, bench_hex(m, line));
}

static void length_rows(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_mark *line, const struct photo_measured *got)
{
    static const struct choice marks[] = {{"mm", "count millimetres"}, {"inch16", "count 1/16 inches"}};
    static const struct choice where[] = {{"bench", "on the bench"}, {"level", "as high as the plug's middle"}};
    char now[32] = "", typed[32], name[64];
    struct rect row;
    double mm = 0;
    unsigned did;

    value_rows(c, "bench.length", line->marks[0] != '\0' ? "Ruler, marks counted" : "Known length", "", got, PHOTO_SCALE_LENGTH);
    scale_words(c, "bench.length-words", got != NULL ? &got->scales[PHOTO_SCALE_LENGTH] : NULL);
    if (!m->can_write)
        return;
    if (line->kind == MARK_LENGTH)
        choose(c, out, line, "marks", "Marks of the ruler", offsetof(struct logbook_mark, marks), sizeof line->marks, marks, N(marks), line->marks);
    if (line->marks[0] != '\0') {
        choose(c, out, line, "lies", "Where the length lies", offsetof(struct logbook_mark, lies), sizeof line->lies, where, N(where), line->lies);
        return;
    }
    row = ui_cut_top(&c->r, ui_target_px(c->ui));
    text_format(name, sizeof name, "bench.known %s", line->photo); /* what is refused stays with its photo */
    ui_text(c->ui, ui_cut_left(&row, 152), "It is long, mm", &(struct ui_style){.colour = UI_TEXT_SOFT});
    if (line->known > 0)
        text_from_double(now, sizeof now, line->known, 2);
    did = refused_text_field(c->ui, st, "bench.known", name, row, (struct ui_field){.name = "known length", .placeholder = "50", .select_all = true}, now, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0) {
        if (typed[0] == '\0' || (text_to_double(typed, &mm) && mm > 0 && mm < 1000)) {
            struct logbook_mark changed = *line;

            refused_drop(st, name);
            changed.known = mm;
            bench_put(c->ui, out, &changed, 1, "Known length");
        } else {
            refused_here(c->ui, st, name, typed, did, "Write its millimetres, more than 0 and less than 1000: 50 for five centimetres of a ruler.");
        }
    }
    ui_cut_top(&c->r, 6 + refused_words(c->ui, st, "bench.known", name, c->r, true));
    choose(c, out, line, "lies", "Where the length lies", offsetof(struct logbook_mark, lies), sizeof line->lies, where, N(where), line->lies);
}

/* Which two, how far apart, what to do. */
static void conflict(struct bench_column *c, const char *words)
{
    struct ui_style style = {.weight = UI_MEDIUM, .colour = UI_WATCH_TEXT, .top = true, .max_lines = 10};
    struct rect box = c->r;

    box.h = ui_text_height(c->ui, box.w - 48, words, &style) + 16;
    ui_cut_top(&c->r, box.h + 10);
    ui_round(c->ui, box, 6, UI_WATCH);
    level_mark(c->ui, box.x + 18, box.y + 18, 14, LEVEL_WATCH);
    ui_text(c->ui, (struct rect){box.x + 36, box.y + 8, box.w - 48, box.h - 16}, words, &style);
    ui_note(c->ui, "bench.conflict", box, "two scales", words);
}

void bench_scale_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct logbook_mark *line = bench_find(m, p, MARK_SCALE), *hex = bench_find(m, p, MARK_HEX), *length = bench_find(m, p, MARK_LENGTH);

    if (line == NULL && hex == NULL && length == NULL)
        return;
    bench_heading(c, "Scale");
    if (got != NULL && got->conflict[0] != '\0')
        conflict(c, got->conflict);
    if (line != NULL && !(line->known > 0))
        thread_rows(c, m, out, line, got, got != NULL ? &got->scales[PHOTO_SCALE_THREAD] : NULL);
    if (hex != NULL)
        hex_rows(c, m, out, hex, got);
    if (length != NULL || (line != NULL && line->known > 0))
        length_rows(c, m, st, out, length != NULL ? length : line, got);
}
