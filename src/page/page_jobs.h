/**
 * @file page_jobs.h
 * Long work (an analysis, a file to be read) on one thread beside the server's, in turn,
 * so that a running minute and the streams never wait for it.
 */
#ifndef PAGE_PAGE_JOBS_H
#define PAGE_PAGE_JOBS_H

#include <stdbool.h>

/** Opaque; see page_jobs_destroy. */
typedef struct page_jobs page_jobs;

/** One thread, idle. NULL: no memory or no thread. */
page_jobs *page_jobs_create(void);

/** What is begun is ended, what waits is left; NULL is allowed. */
void page_jobs_destroy(page_jobs *j);

/**
 * Have work done.
 *
 * @param run      called on the other thread
 * @param context  handed to it; must live until then
 * @return false: too much waits already
 */
bool page_jobs_add(page_jobs *j, void (*run)(void *context), void *context);

#endif
