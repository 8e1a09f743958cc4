#include "src/host/in_time.h"
#include "src/port/steady.h"
#include "tests/support.h"

#include <semaphore.h>

static void post(void *context)
{
    (void)sem_post(context);
}

static void hang(void *context)
{
    (void)sem_wait(context);
}

static void what_returns_is_in_time(void **state)
{
    (void)state;
    sem_t called;
    assert_int_equal(sem_init(&called, 0, 0), 0);
    assert_true(in_time(post, &called, 60.0));
    assert_int_equal(sem_trywait(&called), 0);
    (void)sem_destroy(&called);
}

/* The semaphore outlives the call: what hangs may still hold it. */
static void what_hangs_is_left_behind(void **state)
{
    (void)state;
    static sem_t never;
    assert_int_equal(sem_init(&never, 0, 0), 0);
    const double before_s = steady_now_s();
    assert_false(in_time(hang, &never, 0.02));
    assert_true(steady_now_s() - before_s >= 0.019);
    (void)sem_post(&never);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_returns_is_in_time),
        cmocka_unit_test(what_hangs_is_left_behind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
