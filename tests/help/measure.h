/* measure.h - letters for tests without fonts: 0.55 of their size wide, lines 1.4 of it high. */
#ifndef HELP_MEASURE_H
#define HELP_MEASURE_H

#include "ui/ui.h"

static inline float measure_letters(void *ctx, const char *s, size_t n, int size, int weight, bool tabular)
{
    (void)ctx, (void)s, (void)weight, (void)tabular;
    return (float)n * (float)size * 0.55f;
}

static inline float measure_line_px(void *ctx, int size)
{
    (void)ctx;
    return (float)size * 1.4f;
}

static inline struct ui *ui_create_without_fonts(void)
{
    return ui_create((struct ui_measure){measure_letters, measure_line_px, NULL});
}

#endif
