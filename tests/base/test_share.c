/* Rows shared by threads: each is done once, whatever their number, and ranges are no shorter than asked for.
 * check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/share.h"

enum { MOST = 1000, LEAST = 64 };

struct seen {
    int times[MOST], length[MOST];
};

static void see(void *ctx, int from, int to)
{
    struct seen *s = ctx;

    for (int y = from; y < to; y++) {
        s->times[y]++;
        s->length[y] = to - from;
    }
}

static void every_row_is_done_once(void **state)
{
    static const int rows[] = {0, 1, LEAST - 1, LEAST, 2 * LEAST, 2 * LEAST + 1, 777, MOST};

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        struct seen s;

        memset(&s, 0, sizeof s);
        share_rows(rows[k], LEAST, see, &s);
        for (int y = 0; y < MOST; y++) {
            assert_int_equal(s.times[y], y < rows[k]);
            if (y < rows[k])
                assert_true(s.length[y] >= (rows[k] < LEAST ? rows[k] : LEAST));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_row_is_done_once)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
