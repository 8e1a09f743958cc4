/**
 * @file page_jobs.h
 * Work that the server's thread does not wait for, on one thread beside it, in turn. The
 * page has two of them: one for whatever takes long (an analysis, a file to be read), one
 * that owns the live sitting, so that a minute never waits for an analysis. Between the
 * threads there is no other lock than the queue's.
 */
#ifndef PAGE_PAGE_JOBS_H
#define PAGE_PAGE_JOBS_H

#include <stdbool.h>

/** One piece of work. The context must live until done. */
typedef struct page_job {
    void (*run)(void *context);  /**< on the other thread */
    void (*done)(void *context); /**< then on the server's; NULL: nothing */
    void *context;
} page_job;

/** Opaque; see page_jobs_destroy. */
typedef struct page_jobs page_jobs;

/** One thread, idle. NULL: no memory or no thread. */
page_jobs *page_jobs_create(void);

/** What is begun is ended, what waits is left; of both, done is called. NULL is allowed. */
void page_jobs_destroy(page_jobs *j);

/** Have work done; any thread. @return false: too much waits already, or it ends */
bool page_jobs_add(page_jobs *j, page_job job);

/** Call done of what has run since; the server's thread. */
void page_jobs_finish(page_jobs *j);

/** Can be read when page_jobs_finish has something to do; -1: of NULL. */
int page_jobs_fd(const page_jobs *j);

#endif
