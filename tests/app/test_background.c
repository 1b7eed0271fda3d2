/* A thread that waits for work: begun, told to end, and not begun where no thread can be had. check-with: threads */
#define _GNU_SOURCE /* pthread_setattr_default_np */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "app/background.h"

struct counter {
    struct background back;
    int asked, done; /* guarded by its lock */
    pthread_cond_t answered;
};

static void *run(void *arg)
{
    struct counter *c = arg;

    pthread_mutex_lock(&c->back.lock);
    while (!c->back.quit) {
        if (c->done == c->asked) {
            pthread_cond_wait(&c->back.work, &c->back.lock);
            continue;
        }
        c->done++;
        pthread_cond_signal(&c->answered);
    }
    pthread_mutex_unlock(&c->back.lock);
    return NULL;
}

static void ask_once(struct counter *c)
{
    pthread_mutex_lock(&c->back.lock);
    c->asked++;
    pthread_cond_signal(&c->back.work);
    while (c->done < c->asked)
        pthread_cond_wait(&c->answered, &c->back.lock);
    background_end(&c->back);
}

static void it_answers_and_ends(void **state)
{
    struct counter c = {.answered = PTHREAD_COND_INITIALIZER};

    (void)state;
    assert_true(background_begin(&c.back, run, &c));
    ask_once(&c);
    assert_int_equal(c.done, 1);
}

/* A thread asks for more room than any machine has: there is none to be had, as when a user's limit is reached. */
static void without_a_thread_nothing_is_held_and_it_may_be_begun_again(void **state)
{
    struct counter c = {.answered = PTHREAD_COND_INITIALIZER};
    pthread_attr_t usual, vast;

    (void)state;
    assert_int_equal(pthread_getattr_default_np(&usual), 0);
    assert_int_equal(pthread_getattr_default_np(&vast), 0);
    assert_int_equal(pthread_attr_setstacksize(&vast, (size_t)1 << 52), 0);
    assert_int_equal(pthread_setattr_default_np(&vast), 0);
    assert_false(background_begin(&c.back, run, &c));
    assert_int_equal(pthread_setattr_default_np(&usual), 0);
    pthread_attr_destroy(&usual), pthread_attr_destroy(&vast);
    assert_true(background_begin(&c.back, run, &c));
    ask_once(&c);
    assert_int_equal(c.done, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_answers_and_ends),
        cmocka_unit_test(without_a_thread_nothing_is_held_and_it_may_be_begun_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
