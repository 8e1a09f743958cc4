/*
 * The page's queue of work: in turn on one other thread, its end on the caller's.
 *   Source:    what is promised in src/page/page_jobs.h.
 *   Input:     jobs that wait for one another; more than the queue holds; an end in between.
 *   Tolerance: none.
 */
#include "src/page/page_jobs.h"

#include "tests/support.h"

#include <poll.h>
#include <pthread.h>
#include <semaphore.h>

enum {
    JOBS = 200
};

static sem_t may_run;
static pthread_t caller;
static int ran[JOBS];
static int n_ran;
static int n_done;
static bool in_order;

static void run(void *context)
{
    (void)sem_wait(&may_run);
    assert_false(pthread_equal(pthread_self(), caller));
    ran[n_ran++] = *(const int *)context;
}

static void done(void *context)
{
    in_order = in_order && pthread_equal(pthread_self(), caller) &&
               *(const int *)context == n_done;
    n_done++;
}

static int begin(void **state)
{
    caller = pthread_self();
    n_ran = 0;
    n_done = 0;
    in_order = true;
    (void)sem_init(&may_run, 0, 0);
    *state = page_jobs_create();
    return *state != NULL ? 0 : -1;
}

static int numbers[JOBS];

/* As many as it takes. */
static int fill(page_jobs *j)
{
    int n = 0;
    for (; n < JOBS; n++) {
        numbers[n] = n;
        if (!page_jobs_add(j, (page_job){run, done, &numbers[n]})) {
            break;
        }
    }
    return n;
}

static void until_done(page_jobs *j, int n)
{
    while (n_done < n) {
        struct pollfd fd = {.fd = page_jobs_fd(j), .events = POLLIN};
        assert_true(poll(&fd, 1, 60000) == 1);
        page_jobs_finish(j);
    }
}

static void work_is_done_in_turn_and_ends_on_the_callers_thread(void **state)
{
    page_jobs *const j = *state;
    const int n = fill(j);
    assert_true(n >= 16 && n < JOBS); /* too much is refused, not kept */
    assert_int_equal(n_done, 0);
    for (int i = 0; i < n; i++) {
        (void)sem_post(&may_run);
    }
    until_done(j, n);
    assert_true(in_order && n_done == n && n_ran == n);
    for (int i = 0; i < n; i++) {
        assert_int_equal(ran[i], i);
    }
    assert_true(page_jobs_add(j, (page_job){run, NULL, &numbers[0]})); /* room again */
    (void)sem_post(&may_run);
    page_jobs_destroy(j);
}

/* Whether it was begun or not. */
static void at_the_end_all_are_told(void **state)
{
    page_jobs *const j = *state;
    const int n = fill(j);
    for (int i = 0; i < n; i++) {
        (void)sem_post(&may_run);
    }
    page_jobs_destroy(j);
    assert_true(in_order);
    assert_int_equal(n_done, n);
    page_jobs_destroy(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(work_is_done_in_turn_and_ends_on_the_callers_thread,
                               begin),
        cmocka_unit_test_setup(at_the_end_all_are_told, begin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
