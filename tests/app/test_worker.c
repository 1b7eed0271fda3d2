/* The reading thread: the newest question wins, older ones are cancelled, nothing is lost or leaked.
 * check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdatomic.h>
#include <time.h>

#include "app/worker.h"
#include "base/err.h"

static atomic_int woken;

static void wake(void *ctx)
{
    (void)ctx;
    atomic_fetch_add(&woken, 1);
}

static struct record v12(int n_wet)
{
    struct record r;
    struct err e = {0};

    record_init(&r);
    r.engine.layout = ENGINE_V;
    r.engine.n_positions = 2;
    assert_true(engine_parse_banks(&r.engine, "1 2 3 4 5 6 / 7 8 9 10 11 12", &e) &&
                engine_parse_firing(&r.engine, "1 7 5 11 3 9 6 12 2 8 4 10", &e) && engine_finish(&r.engine, &e));
    record_add_visit(&r);
    for (int i = 0; i < 24; i++) {
        reading_note(&r.visits[0].readings[i], SIGN_WELL_OIL, i < n_wet ? 1 + i % 3 : 0);
        r.visits[0].readings[i].gap_mm = MAYBE(1.0 + 0.01 * (i * 7 % 11));
    }
    return r;
}

/* What a window knows of the answers taken so far. */
struct heard {
    uint64_t number; /* of the last answer */
    bool final;      /* that it was whole */
    int n_stand_outs;
};

static void take_all(struct worker *w, struct heard *h)
{
    struct findings f;

    while (worker_take(w, &f, &h->number, &h->final)) {
        h->n_stand_outs = f.n_stand_outs;
        findings_release(&f);
    }
}

static void ask_twelve(struct worker *w, struct heard *h, long ns_between)
{
    for (uint64_t i = 1; i <= 12; i++) {
        struct record r = v12((int)i);

        worker_ask(w, &r, i);
        record_release(&r);
        nanosleep(&(struct timespec){0, ns_between}, NULL);
        take_all(w, h);
    }
    while (!(h->number == 12 && h->final)) { /* a busy machine takes as long as it takes */
        nanosleep(&(struct timespec){0, 5000000}, NULL);
        take_all(w, h);
    }
}

static void the_newest_question_is_answered(void **state)
{
    static const long ns_between[] = {3000000, 200000000}; /* faster than a person types; slower than the thread */

    (void)state;
    for (size_t i = 0; i < sizeof ns_between / sizeof *ns_between; i++) {
        struct worker *w = worker_create(wake, NULL);
        struct heard h = {0};

        assert_non_null(w);
        ask_twelve(w, &h, ns_between[i]);
        assert_int_equal(h.number, 12);
        assert_true(h.n_stand_outs > 0);
        assert_true(atomic_load(&woken) > 0);
        worker_destroy(w);
    }
}

static void leaving_in_the_middle_is_quick(void **state)
{
    struct worker *w = worker_create(wake, NULL);
    struct record r = v12(12);

    (void)state;
    worker_ask(w, &r, 1);
    record_release(&r);
    worker_destroy(w); /* cancels and joins */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_newest_question_is_answered),
        cmocka_unit_test(leaving_in_the_middle_is_quick),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
