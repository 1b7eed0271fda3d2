/* Numbering, firing order, intervals and groups of any bytes: refused with a sentence, or read, written
 * and read again alike. The input is a line each: banks (their ends marked by / or |), order,
 * intervals, coil groups, removal order, work done; the first byte picks layout, strokes and plugs. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "engine/engine.h"
#include "record/record.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

#define N_LINES 6
#define ROOM 4096

static void refused(const struct err *e)
{
    if (e->text[0] == '\0')
        abort();
}

static void check_whole(const struct engine *en)
{
    char text[ROOM];

    for (int c = 0; c < en->n_cylinders; c++) {
        struct engine_spot s = engine_spot(en, c), size = engine_extent(en);

        if (!(s.x >= 0 && s.y >= 0 && s.x <= size.x && s.y <= size.y))
            abort();
        if (!(engine_firing_angle_deg(en, c) >= 0))
            abort();
        engine_describe_cylinder(en, c, text, sizeof text);
        for (int k = 0; k < ENGINE_KIN_COUNT; k++) { /* nobody is its own kin, and kinship is mutual */
            engine_set kin = engine_kin(en, c, (enum engine_kin)k);

            if ((kin >> c & 1u) != 0)
                abort();
            for (int b = 0; b < en->n_cylinders; b++)
                if ((kin >> b & 1u) != 0 && (engine_kin(en, b, (enum engine_kin)k) >> c & 1u) == 0 &&
                    k != ENGINE_KIN_ACROSS) /* rows of unequal length need not face each other both ways */
                    abort();
        }
    }
}

static void check_visit(const struct engine *en, const char *removal, const char *done)
{
    static struct visit a, b;
    struct visit_done d, again;
    struct err e = {0};
    char text[ROOM], back[ROOM];

    visit_init(&a, en);
    visit_init(&b, en);
    if (visit_parse_removal(en, &a, removal, &e)) {
        visit_format_removal(en, &a, text, sizeof text);
        if (!visit_parse_removal(en, &b, text, &e) || a.n_removal != b.n_removal ||
            memcmp(a.removal, b.removal, sizeof a.removal) != 0)
            abort();
    } else {
        refused(&e);
    }
    e.text[0] = '\0';
    if (visit_parse_done(en, done, &d, &e)) {
        visit_format_done(en, &d, text, sizeof text);
        if (!visit_parse_done(en, text, &again, &e) || again.cylinders != d.cylinders || again.bank != d.bank)
            abort();
        visit_format_done(en, &again, back, sizeof back);
        if (strcmp(text, back) != 0)
            abort();
    } else {
        refused(&e);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    char *copy, *line[N_LINES], text[ROOM];
    struct engine a, b;
    struct err e = {0};
    engine_set groups[ENGINE_MAX_CYLINDERS];
    int n_groups;

    if (n_bytes < 1 || n_bytes > 2000)
        return 0;
    copy = malloc(n_bytes);
    if (copy == NULL)
        return 0;
    memcpy(copy, data + 1, n_bytes - 1);
    copy[n_bytes - 1] = '\0';
    line[0] = copy;
    for (int i = 1; i < N_LINES; i++) {
        line[i] = strchr(line[i - 1], '\n');
        if (line[i] != NULL)
            *line[i]++ = '\0';
        else
            line[i] = line[i - 1] + strlen(line[i - 1]);
    }
    engine_init(&a);
    a.layout = (enum engine_layout)(data[0] % ENGINE_LAYOUT_COUNT);
    a.strokes = data[0] & 8 ? 2 : 4;
    a.n_positions = 1 + (data[0] >> 4 & 3);
    a.ignition = data[0] & 64 ? ENGINE_SHARED_COIL : ENGINE_IGNITION_UNKNOWN;
    b = a;
    if (engine_parse_banks(&a, line[0], &e) && engine_parse_firing(&a, line[1], &e) &&
        engine_parse_intervals(&a, line[2], &e) && engine_finish(&a, &e)) {
        engine_format_banks(&a, text, sizeof text);
        if (!engine_parse_banks(&b, text, &e))
            abort();
        engine_format_firing(&a, text, sizeof text);
        if (!engine_parse_firing(&b, text, &e) || memcmp(a.firing, b.firing, sizeof a.firing) != 0)
            abort();
        for (int i = 0; i < a.n_banks; i++)
            if (strcmp(a.banks[i].name, b.banks[i].name) != 0 || a.banks[i].first != b.banks[i].first)
                abort();
        engine_format_intervals(&a, text, sizeof text);
        if (!engine_parse_intervals(&b, text, &e) || !engine_finish(&b, &e))
            abort();
        check_whole(&a);
        if (engine_parse_groups(&a, line[3], groups, &n_groups, &e)) {
            engine_set again[ENGINE_MAX_CYLINDERS];
            int n_again;

            engine_format_groups(&a, groups, n_groups, text, sizeof text);
            if (!engine_parse_groups(&a, text, again, &n_again, &e) || n_again != n_groups ||
                memcmp(groups, again, (size_t)n_groups * sizeof groups[0]) != 0)
                abort();
        } else {
            refused(&e);
        }
        check_visit(&a, line[4], line[5]);
    } else {
        refused(&e);
    }
    free(copy);
    return 0;
}
