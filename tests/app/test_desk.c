/* What the window tells, keeps and leads to, played in the built program. */
#include "journey.h"

static void a_second_visit_is_told_what_to_look_at(void **state)
{
    (void)state;
    plays("tests/journeys/second-visit.script");
    logbook_close(open_sound(NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_second_visit_is_told_what_to_look_at, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
