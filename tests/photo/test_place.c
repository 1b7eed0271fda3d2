/* Photos laid along the order the plugs were drawn: invented scenarios whose answer is plain to a
 * person (common practice, no source). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "photo/place.h"

enum { WELL, COIL, PLUG };
static const struct place_seat order[] = {{1, 0}, {3, 0}, {0, 0}, {2, 0}};

/* times in seconds; expected "P1 P1 P3 …" by pass letter and cylinder, "-" nothing. */
static const struct {
    const char *name;
    double times[16];
    int n;
    int passes; /* bit 0 wells, 1 coils, 2 plugs */
    const char *expected;
} rows[] = {
    {"one photo each", {0, 60, 120, 190}, 4, 4, "P1 P3 P0 P2"},
    {"two of each plug", {0, 4, 60, 65, 130, 133, 200, 206}, 8, 4, "P1 P1 P3 P3 P0 P0 P2 P2"},
    {"a burst at one", {0, 60, 61, 62, 130, 200}, 6, 4, "P1 P3 P3 P3 P0 P2"},
    {"wells, then plugs", {0, 10, 20, 30, 400, 460, 520, 590}, 8, 5, "W1 W3 W0 W2 P1 P3 P0 P2"},
    {"wells, coils, plugs", {0, 10, 20, 30, 200, 210, 220, 230, 600, 660, 720, 790}, 12, 7, "W1 W3 W0 W2 C1 C3 C0 C2 P1 P3 P0 P2"},
    {"one missing", {0, 60, 120}, 3, 4, "- - -"},
    {"evenly spaced eight for four", {0, 60, 120, 180, 240, 300, 360, 420}, 8, 4, "- - - - - - - -"},
    {"evenly spaced eight, two passes possible", {0, 60, 120, 180, 240, 300, 360, 420}, 8, 5, "- - - - - - - -"},
    {"out of order in the list", {190, 0, 120, 60}, 4, 4, "P2 P1 P0 P3"},
    {"wells slow at one, plugs with a stuck one", {0, 5, 85, 90, 300, 360, 1260, 1330}, 8, 5, "W1 W3 W0 W2 P1 P3 P0 P2"},
    {"wells quick, first plug at the plugs' own pace", {0, 5, 10, 15, 75, 135, 195, 255}, 8, 5, "W1 W3 W0 W2 P1 P3 P0 P2"},
    {"pairs, though wells could have been photographed", {0, 4, 60, 65, 130, 133, 200, 206}, 8, 7, "P1 P1 P3 P3 P0 P0 P2 P2"},
    {"wells once, plugs twice", {0, 8, 16, 24, 200, 204, 260, 263, 330, 335, 400, 404}, 12, 5,
     "W1 W3 W0 W2 P1 P1 P3 P3 P0 P0 P2 P2"},
    {"wells twice, plugs once", {0, 2, 15, 17, 30, 32, 45, 47, 400, 460, 520, 580}, 12, 5,
     "W1 W1 W3 W3 W0 W0 W2 W2 P1 P3 P0 P2"},
    {"a missing plug after whole wells", {0, 10, 20, 30, 400, 460, 520}, 7, 5, "- - - - - - -"},
    {"a burst hides a missing plug", {0, 60, 60.2, 120}, 4, 4, "- - - -"},
    {"all at one time", {5, 5, 5, 5}, 4, 4, "- - - -"},
    {"burst in one second, no fractions", {0, 60, 60, 60, 120, 180}, 6, 4, "P1 P3 P3 P3 P0 P2"},
    {"a day between two plugs", {0, 60, 86400, 86460}, 4, 4, "P1 P3 P0 P2"},
    {"one photo", {0}, 1, 4, "-"},
    {"three clear rounds of one kind each", {0, 9, 18, 27, 600, 609, 618, 627}, 8, 4, "- - - - - - - -"},
    {"order not known", {0, 60, 120, 190}, 4, 0, "- - - -"},
};

static void scenarios(void **state)
{
    (void)state;
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++) {
        struct place_photo photos[16];
        struct place_choice choices[16];
        struct place_pass passes[3] = {{WELL, "well", "wells", order, 0}, {COIL, "coil", "coils", order, 0}, {PLUG, "plug", "plugs", order, 0}};
        char sentence[200], got[200] = "";

        for (int i = 0; i < 3; i++)
            passes[i].n_seats = (rows[r].passes >> i & 1) ? 4 : 0;
        for (int i = 0; i < rows[r].n; i++)
            photos[i] = (struct place_photo){true, rows[r].times[i], NULL};
        place_propose(photos, (size_t)rows[r].n, passes, 3, choices, sentence, sizeof sentence);
        for (int i = 0; i < rows[r].n; i++) {
            size_t n = strlen(got);

            if (choices[i].pass < 0)
                snprintf(got + n, sizeof got - n, "%s-", n ? " " : "");
            else
                snprintf(got + n, sizeof got - n, "%s%c%d", n ? " " : "", "WCP"[choices[i].pass], order[choices[i].seat].cylinder);
        }
        if (strcmp(got, rows[r].expected) != 0)
            fail_msg("%s: got %s, want %s (%s)", rows[r].name, got, rows[r].expected, sentence);
        assert_true(sentence[0] != '\0');
    }
}

/* Passes of different length: eight plugs, one coil for all; two plugs a cylinder; a single. */
static void passes_of_different_length(void **state)
{
    static const struct place_seat twin[] = {{0, 0}, {0, 1}, {1, 0}, {1, 1}};
    struct place_pass coil_and_plugs[] = {{COIL, "coil", "coils", order, 1}, {PLUG, "plug", "plugs", order, 4}};
    struct place_pass twins[] = {{WELL, "well", "wells", order, 2}, {PLUG, "plug", "plugs", twin, 4}};
    struct place_pass single[] = {{WELL, "well", "wells", order, 1}, {PLUG, "plug", "plugs", order, 1}};
    static const double after_coil[] = {0, 300, 360, 420, 480}, after_wells[] = {0, 10, 200, 260, 320, 380}, two[] = {0, 5};
    struct place_photo photos[8] = {{0}};
    struct place_choice c[8];
    char sentence[200];

    (void)state;
    for (int i = 0; i < 5; i++)
        photos[i] = (struct place_photo){true, after_coil[i], NULL};
    assert_int_equal(place_propose(photos, 5, coil_and_plugs, 2, c, sentence, sizeof sentence), PLACE_PROPOSED);
    assert_string_equal(sentence, "1 coil, then 4 plugs");
    assert_true(c[0].pass == 0 && c[1].pass == 1 && c[1].seat == 0 && c[4].seat == 3);
    for (int i = 0; i < 6; i++)
        photos[i] = (struct place_photo){true, after_wells[i], NULL};
    assert_int_equal(place_propose(photos, 6, twins, 2, c, sentence, sizeof sentence), PLACE_PROPOSED);
    assert_string_equal(sentence, "2 wells, then 4 plugs");
    assert_true(c[1].pass == 0 && c[1].seat == 1 && c[5].pass == 1 && c[5].seat == 3);
    for (int i = 0; i < 2; i++)
        photos[i] = (struct place_photo){true, two[i], NULL};
    assert_int_equal(place_propose(photos, 2, single, 2, c, sentence, sizeof sentence), PLACE_PROPOSED);
    assert_string_equal(sentence, "1 plug with 2 photos");
}

/* The most there can be, without a pattern: an answer, and soon. */
static void many_photos(void **state)
{
    static struct place_photo photos[PLACE_MAX_PHOTOS];
    static struct place_choice c[PLACE_MAX_PHOTOS];
    struct place_pass passes[PLACE_MAX_PASSES];
    char sentence[400];
    unsigned random = 1;
    double at = 0;

    (void)state;
    for (int i = 0; i < PLACE_MAX_PASSES; i++)
        passes[i] = (struct place_pass){i, "thing", "things", order, 4};
    for (int i = 0; i < PLACE_MAX_PHOTOS; i++) {
        random = random * 1103515245u + 12345u;
        at += 1 + (random >> 16) % 100;
        photos[i] = (struct place_photo){true, at, NULL};
    }
    assert_int_equal(place_propose(photos, PLACE_MAX_PHOTOS, passes, PLACE_MAX_PASSES, c, sentence, sizeof sentence), PLACE_NOTHING);
    for (int i = 0; i < PLACE_MAX_PHOTOS; i++) /* pauses that grow all the time: each could end a pass */
        photos[i].taken_s = i < 120 ? (double)(1ull << (i < 50 ? i : 50)) + i * 2.0 : 1e16 + i * 1e6;
    place_propose(photos, 100, passes, PLACE_MAX_PASSES, c, sentence, sizeof sentence);
}

static void times_are_read(void **state)
{
    double a, b;

    (void)state;
    assert_true(place_parse_time("2026-06-14T10:42:17.250", &a));
    assert_true(place_parse_time("2026-06-14T10:42:18", &b));
    assert_true(b - a > 0.7499 && b - a < 0.7501);
    assert_false(place_parse_time("", &a));
    assert_false(place_parse_time("2026-06-31T10:42:17", &a));
    assert_false(place_parse_time("2026-06-14T25:42:17", &a));
}

static void a_photo_without_a_time_is_named(void **state)
{
    struct place_photo photos[] = {{true, 0, "a.jpg"}, {false, 0, "b.jpg"}};
    struct place_pass plugs = {PLUG, "plug", "plugs", order, 2};
    struct place_choice choices[2];
    char sentence[200];

    (void)state;
    assert_int_equal(place_propose(photos, 2, &plugs, 1, choices, sentence, sizeof sentence), PLACE_NOTHING);
    assert_non_null(strstr(sentence, "b.jpg"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scenarios),
        cmocka_unit_test(passes_of_different_length),
        cmocka_unit_test(many_photos),
        cmocka_unit_test(times_are_read),
        cmocka_unit_test(a_photo_without_a_time_is_named),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
