/* photo_scale.c - beside the photo: the lengths in it that tell its scale, and whether they agree. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

void bench_scale_part(struct bench_column *c, const struct model *m, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct logbook_mark *line = bench_find(m, p, MARK_SCALE);
    static const char *const threads[] = {"M8x1.0", "M10x1.0", "M12x1.25", "M14x1.25", "M18x1.5"};
    const char *card = m->record->engine.plug.thread[0] != '\0' ? m->record->engine.plug.thread : "M14x1.25", *thread;
    char words[160], typed[32], now[32] = "";
    struct logbook_mark changed;

    if (line == NULL)
        return;
    changed = *line;
    thread = line->thread[0] != '\0' ? line->thread : card;
    bench_heading(c, "Scale");
    if (got != NULL && got->scale_given) {
        if (got->n_periods > 0) {
            ui_value_row(c->ui, "bench.thread", ui_cut_top(&c->r, 32), got->on_outline ? "From the thread, outline" : "From the thread, middle", thread, true, NULL);
            text_format(words, sizeof words, "%.2f px over %.1f threads", got->pitch_px, got->n_periods);
            ui_value_row(c->ui, "bench.pitch", ui_cut_top(&c->r, 32), "Pitch found", words, false, NULL);
        }
        text_format(words, sizeof words, "%.2f px/mm ± %.1f %%", got->px_per_mm, 100 * got->px_per_mm_pm / got->px_per_mm);
        ui_value_row(c->ui, "bench.scale", ui_cut_top(&c->r, 32), "Scale", words, false, NULL);
        ui_cut_top(&c->r, 6);
    }
    if (got != NULL && got->scale_words[0] != '\0') {
        ui_note(c->ui, "bench.scale-words", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "scale", got->scale_words);
        bench_say(c, got->scale_words, got->scale_given ? UI_TEXT_SOFT : UI_TEXT);
    }
    if (!m->can_write)
        return;
    if (line->known <= 0) { /* another plug than the card's */
        struct ui_flow flow = ui_flow_begin(c->r, ui_target_px(c->ui));

        for (size_t i = 0; i < sizeof threads / sizeof threads[0]; i++) {
            char id[40];

            text_format(id, sizeof id, "bench.thread.%s", threads[i]);
            if (ui_chip(c->ui, id, ui_flow_next(&flow, ui_chip_width(c->ui, threads[i], NULL)), threads[i], strcmp(thread, threads[i]) == 0, NULL)) {
                text_copy(changed.thread, sizeof changed.thread, strcmp(threads[i], card) == 0 ? "" : threads[i]);
                bench_put(c->ui, out, &changed, 1, "Thread of the photo");
            }
        }
        ui_cut_top(&c->r, ui_flow_height(&flow) + 8);
    }
    {
        struct rect row = ui_cut_top(&c->r, ui_target_px(c->ui));
        double mm;
        unsigned did;

        ui_text(c->ui, ui_cut_left(&row, 152), "It is a known length, mm", &(struct ui_style){.colour = UI_TEXT_SOFT});
        if (line->known > 0)
            text_from_double(now, sizeof now, line->known, 2);
        did = ui_text_field(c->ui, "bench.known", row, &(struct ui_field){.name = "known length", .placeholder = "16", .select_all = true}, now, typed, sizeof typed);
        if ((did & UI_COMMIT) != 0 && (typed[0] == '\0' || (text_to_double(typed, &mm) && mm > 0 && mm < 1000))) {
            changed.known = typed[0] == '\0' ? 0 : mm;
            bench_put(c->ui, out, &changed, 1, "Known length");
        }
        ui_cut_top(&c->r, 6);
    }
}
