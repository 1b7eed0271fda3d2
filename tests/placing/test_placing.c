/* Photos of a visit laid along its removal order, for engines of several kinds; answers plain to a person
 * who counts (common practice, no source). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "placing/placing.h"

static void row(const char *name, const char *groups, const char *removal, const char *times, const char *sentence, const char *places)
{
    struct record r;
    struct arena *a = arena_create();
    struct logbook_photo photos[32];
    struct photo_proposal out[32];
    struct visit *v;
    struct err e = {0};
    char said[300] = "", got[300] = "";
    size_t n = 0;

    record_init(&r);
    r.engine.layout = ENGINE_INLINE;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    r.engine.access = ENGINE_ACCESS_OPEN; /* no wells to look into */
    if (strstr(removal, "top") != NULL) {
        r.engine.n_positions = 2;
        text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
        text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "low");
    }
    r.engine.coil_groups_given = *groups != '\0';
    if (!engine_parse_banks(&r.engine, "1 2 3 4", &e) || !engine_parse_firing(&r.engine, "1 3 4 2", &e) ||
        (*groups && !engine_parse_groups(&r.engine, groups, r.engine.coil_groups, &r.engine.n_coil_groups, &e)) ||
        !engine_finish(&r.engine, &e))
        fail_msg("%s: %s", name, e.text);
    v = record_add_visit(&r);
    if (!visit_parse_removal(&r.engine, v, removal, &e))
        fail_msg("%s: %s", name, e.text);
    memset(photos, 0, sizeof photos);
    for (const char *at = times; *at != '\0'; at += strcspn(at, " "), at += *at == ' ') {
        int minute = 0, second = 0;

        assert_int_equal(sscanf(at, "%d:%d", &minute, &second), 2);
        photos[n].cylinder = -1;
        text_format(photos[n].name, sizeof photos[n].name, "p%02zu.jpg", n);
        text_format(photos[n].taken, sizeof photos[n].taken, "2026-06-14T10:%02d:%02d", minute, second);
        n++;
    }
    assert_true(placing_propose(&r, photos, n, a, out, said, sizeof said));
    for (size_t i = 0; i < n; i++) {
        size_t k = strlen(got);

        if (out[i].cylinder < 0)
            snprintf(got + k, sizeof got - k, "%s-", i ? " " : "");
        else
            snprintf(got + k, sizeof got - k, "%s%s%s%s", i ? " " : "", out[i].zone == ZONE_COIL ? "c" : "",
                     r.engine.cylinders[out[i].cylinder].label,
                     out[i].zone == ZONE_COIL || r.engine.n_positions < 2 ? "" : out[i].position ? "low" : "top");
    }
    if (strcmp(said, sentence) != 0 || strcmp(got, places) != 0)
        fail_msg("%s: \"%s\", %s; want \"%s\", %s", name, said, got, sentence, places);
    arena_destroy(a);
    record_release(&r);
}

static void coils_are_counted(void **state)
{
    static const char twin[] = "1 top, 1 low, 2 top, 2 low, 3 top, 3 low, 4 top, 4 low";

    (void)state;
    row("a coil on each plug", "", "4 3 2 1", "00:00 00:10 00:20 00:30 10:00 11:00 12:00 13:00", "4 coils, then 4 plugs",
        "c4 c3 c2 c1 4 3 2 1");
    row("two plugs under each coil", "", twin,
        "00:00 00:10 00:20 00:30 10:00 11:00 12:00 13:00 14:00 15:00 16:00 17:00", "4 coils, then 8 plugs",
        "c1 c2 c3 c4 1top 1low 2top 2low 3top 3low 4top 4low");
    row("coils that serve two cylinders", "1 4 / 2 3", "1 2 3 4", "00:00 00:10 10:00 11:00 12:00 13:00", "2 coils, then 4 plugs",
        "c1 c2 1 2 3 4");
}

/* Four photos were laid over the two plugs that the order named, or nothing was said but that they do not part over two. */
static void a_part_of_the_order_is_not_the_whole(void **state)
{
    (void)state;
    row("as many as it has", "", "4 3", "00:00 01:00", "2 plugs", "4 3");
    row("twice as many", "", "4 3", "00:00 00:01 01:00 01:01", "The order holds only 2 of 4 plugs. Draw the rest of it, then photos can be laid along it.", "- - - -");
    row("as many as there are plugs", "", "1 2 3", "00:00 01:00 02:00 03:00", "The order holds only 3 of 4 plugs. Draw the rest of it, then photos can be laid along it.", "- - - -");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(coils_are_counted), cmocka_unit_test(a_part_of_the_order_is_not_the_whole)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
