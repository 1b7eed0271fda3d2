/* firing_ribbon.c - the firing order as a ribbon over the crank's degrees. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"

int firing_ribbon(struct ui *ui, const struct engine *en, const enum level *levels, int chosen_cylinder, bool live, struct rect r)
{
    struct ui_style bold = {.weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT}, soft = {.colour = UI_DESK_QUIET};
    struct ui_style degrees = {.size_px = 11, .colour = UI_DESK_TEXT, .align = UI_CENTRE, .tabular = true};
    double cycle = engine_cycle_deg(en);
    char line[160], number[24];
    float w = ui_text_width(ui, "Firing order", &bold), x0 = r.x + 46, x1 = r.x + r.w - 46, y = r.y + 62;
    float radius = fminf(19, (x1 - x0) / (float)en->n_cylinders * 0.42f);
    bool pairs = engine_kin(en, 0, ENGINE_KIN_COMPANION) != 0;
    int pressed = -1;

    if (en->n_cylinders == 1)
        return -1;
    ui_text(ui, (struct rect){r.x + 26, r.y, w + 4, 24}, "Firing order", &bold);
    if (engine_is_odd_fire(en)) {
        text_copy(line, sizeof line, "odd fire: the degrees below are as they come");
    } else {
        text_from_double(number, sizeof number, cycle / en->n_cylinders, 1);
        if (text_ends(number, ".0"))
            number[strlen(number) - 2] = '\0';
        text_format(line, sizeof line, "one every %s° of crank%s", number, pairs ? " · paired cylinders stand 360° apart" : "");
    }
    ui_text(ui, (struct rect){r.x + 26 + w + 14, r.y, r.w - w - 60, 24}, line, &soft);
    ui_line(ui, x0, y, x1 + 24, y, 2, UI_DESK_DARK);
    for (int i = 0; i < en->n_cylinders; i++) {
        int c = en->firing[i];
        double angle = engine_firing_angle_deg(en, c);
        float x = x0 + (x1 - x0) * (float)(angle / cycle) * (float)en->n_cylinders / ((float)en->n_cylinders - 1 > 0 ? (float)en->n_cylinders - 0.5f : 1);
        bool dark = en->cylinders[c].bank % 2 == 1, chosen = chosen_cylinder == c;
        struct ui_style label = {.weight = UI_BOLD, .size_px = radius > 15 ? 14 : 11, .align = UI_CENTRE};
        char id[40];
        struct ui_hit hit = {0};
        struct rect box = {x - radius, y - radius, 2 * radius, 2 * radius};

        text_format(id, sizeof id, "ribbon.%s", en->cylinders[c].label);
        if (live)
            hit = ui_region(ui, id, box, UI_ROLE_AREA, "firing order", en->cylinders[c].label, radius);
        if (hit.clicked)
            pressed = c;
        if (chosen)
            ui_select_ring(ui, x, y, radius + 3, 4);
        else if (hit.hover)
            ui_disc(ui, x, y, radius + 2, ui_rgba(UI_DESK_DARK));
        ui_disc(ui, x, y, radius, ui_rgba(dark ? UI_DARK : UI_PANEL));
        label.colour = dark ? UI_DARK_TEXT : UI_TEXT;
        ui_text(ui, box, en->cylinders[c].label, &label);
        if (levels != NULL && levels[c] >= LEVEL_WATCH)
            level_mark(ui, x, y - radius - 9, 13, levels[c]);
        text_from_double(number, sizeof number, angle, angle > floor(angle) ? 1 : 0);
        text_format(line, sizeof line, "%s°", number);
        ui_text(ui, (struct rect){x - 30, y + radius + 4, 60, 20}, line, &degrees);
    }
    return pressed;
}
