#include "screen/engine_form_text.h"

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "engine/engine.h"

#define FIRST_LINE "engine form 1\n"

/* Fields of one line of text. */
static const struct {
    const char *name;
    size_t at, n_room;
} lines[] = {
    {"editing", offsetof(struct engine_form, editing), sizeof((struct engine_form *)0)->editing},
    {"preset", offsetof(struct engine_form, preset), sizeof((struct engine_form *)0)->preset},
    {"name", offsetof(struct engine_form, name), sizeof((struct engine_form *)0)->name},
    {"subtitle", offsetof(struct engine_form, subtitle), sizeof((struct engine_form *)0)->subtitle},
    {"plug-type", offsetof(struct engine_form, plug_type), sizeof((struct engine_form *)0)->plug_type},
    {"thread", offsetof(struct engine_form, thread), sizeof((struct engine_form *)0)->thread},
};
#define N_LINES (sizeof lines / sizeof lines[0])

/* Choices, from 0 or from 1 up to and without `end`. */
static const struct {
    const char *name;
    size_t at;
    int first, end;
} choices[] = {
    {"layout", offsetof(struct engine_form, layout), 0, ENGINE_LAYOUT_COUNT},
    {"strokes", offsetof(struct engine_form, strokes), 2, 5},
    {"positions", offsetof(struct engine_form, n_positions), 1, ENGINE_MAX_POSITIONS + 1},
    {"ignition", offsetof(struct engine_form, ignition), 0, ENGINE_IGNITION_COUNT},
    {"fuel", offsetof(struct engine_form, fuel), 0, ENGINE_FUEL_COUNT},
    {"seat", offsetof(struct engine_form, seat), 0, ENGINE_SEAT_COUNT},
    {"electrode", offsetof(struct engine_form, electrode), 0, ENGINE_ELECTRODE_COUNT},
    {"access", offsetof(struct engine_form, access), 0, ENGINE_ACCESS_COUNT},
    {"head", offsetof(struct engine_form, head), 0, ENGINE_HEAD_COUNT},
};
#define N_CHOICES (sizeof choices / sizeof choices[0])

static const char *const_line(const struct engine_form *f, size_t i)
{
    return (const char *)f + lines[i].at;
}

static int const_choice(const struct engine_form *f, size_t i)
{
    int v;

    memcpy(&v, (const char *)f + choices[i].at, sizeof v);
    return v;
}

/* No field holds a tab or a line's end: fields of one line, and notes of the person's are none of them. */
static void add(struct text *to, const char *name, const char *value)
{
    if (value[0] != '\0')
        text_addf(to, "%s\t%.*s\n", name, (int)strcspn(value, "\n"), value);
}

void engine_form_format(const struct engine_form *f, struct text *to)
{
    text_add(to, FIRST_LINE);
    text_addf(to, "inches\t%d\n", f->inches);
    for (size_t i = 0; i < N_LINES; i++)
        add(to, lines[i].name, const_line(f, i));
    for (size_t i = 0; i < N_CHOICES; i++)
        text_addf(to, "%s\t%d\n", choices[i].name, const_choice(f, i));
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        add(to, engine_form_words_row((enum engine_form_words)i)->id, f->words[i]);
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++)
        add(to, engine_form_figure_row((enum engine_form_figure)i)->id, f->figures[i]);
}

static void put(struct engine_form *f, const char *name, const char *value)
{
    for (size_t i = 0; i < N_LINES; i++)
        if (strcmp(lines[i].name, name) == 0)
            text_copy((char *)f + lines[i].at, lines[i].n_room, value);
    for (size_t i = 0; i < N_CHOICES; i++)
        if (strcmp(choices[i].name, name) == 0) {
            int v = atoi(value);

            if (v >= choices[i].first && v < choices[i].end)
                memcpy((char *)f + choices[i].at, &v, sizeof v);
        }
    for (int i = 0; i < ENGINE_FORM_WORDS_COUNT; i++)
        if (strcmp(engine_form_words_row((enum engine_form_words)i)->id, name) == 0)
            text_copy(f->words[i], sizeof f->words[i], value);
    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++)
        if (strcmp(engine_form_figure_row((enum engine_form_figure)i)->id, name) == 0)
            text_copy(f->figures[i], sizeof f->figures[i], value);
    if (strcmp(name, "inches") == 0)
        f->inches = strcmp(value, "1") == 0;
}

bool engine_form_parse(const char *text, struct engine_form *f)
{
    if (!text_starts(text, FIRST_LINE))
        return false;
    for (size_t i = 0; i < N_LINES; i++)
        *((char *)f + lines[i].at) = '\0';
    memset(f->words, 0, sizeof f->words);
    memset(f->figures, 0, sizeof f->figures);
    for (const char *at = text + strlen(FIRST_LINE); *at != '\0';) {
        const size_t n = strcspn(at, "\n"), n_name = strcspn(at, "\t\n");
        char name[40], value[sizeof f->words[0]];

        if (n_name < n) {
            text_format(name, sizeof name, "%.*s", (int)n_name, at);
            text_format(value, sizeof value, "%.*s", (int)(n - n_name - 1), at + n_name + 1);
            text_sanitize(value, sizeof value);
            put(f, name, value);
        }
        at += n + (at[n] == '\n');
    }
    f->touched = true;
    return true;
}
