/**
 * @file drain.h
 * The thread between the ring and the owner's sink: hands on blocks and gaps in order,
 * ties the clock to the samples, and says how it goes. Private to src/capture.
 */
#ifndef CAPTURE_DRAIN_H
#define CAPTURE_DRAIN_H

#include "src/capture/source.h"
#include "src/port/capture.h"

/** Opaque; see drain_close. */
typedef struct drain drain;

/**
 * @param s  the source, not yet started; borrowed until drain_stop
 * @return the drain, with s->r made, its thread not yet running; NULL with err APP_FAILED
 */
drain *drain_create(source *s, capture_sink sink, void *context, app_err *err);

bool drain_start(drain *w, app_err *err);

/** Hand on what has come, then end the thread. The source is not used any more. */
void drain_stop(drain *w);

/** Free; NULL is allowed. The source must write no more. */
void drain_destroy(drain *w);

/** Any thread. */
void drain_get_state(drain *w, capture_state *out);
double drain_time_at(drain *w, double monotonic_s);

#endif
