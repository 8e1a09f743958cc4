/**
 * @file worker.h
 * The thread between the ring and the owner's sink: hands on blocks and gaps in order,
 * ties the clock to the samples, and says how it goes. Private to src/capture.
 */
#ifndef CAPTURE_WORKER_H
#define CAPTURE_WORKER_H

#include "src/capture/capture.h"
#include "src/capture/source.h"

/** Opaque; see worker_close. */
typedef struct worker worker;

/**
 * @param s  the source, not yet started; borrowed until worker_stop
 * @return the worker, with s->r made, its thread not yet running; NULL with err APP_FAILED
 */
worker *worker_create(source *s, capture_sink sink, void *context, app_err *err);

bool worker_start(worker *w, app_err *err);

/** Hand on what has come, then end the thread. The source is not used any more. */
void worker_stop(worker *w);

/** Free; NULL is allowed. The source must write no more. */
void worker_destroy(worker *w);

/** Any thread. */
void worker_get_state(worker *w, capture_state *out);
double worker_time_at(worker *w, double monotonic_s);

#endif
