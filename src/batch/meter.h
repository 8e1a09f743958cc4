/**
 * @file meter.h
 * How far a batch has come, on standard error: on a terminal one line that is rewritten in
 * place, elsewhere a plain line now and then.
 */
#ifndef BATCH_METER_H
#define BATCH_METER_H

#include <stdbool.h>
#include <stdint.h>

/** State. Plain value. */
typedef struct meter {
    bool quiet;
    bool terminal;
    bool shown; /* a line stands on the terminal */
    double started_s;
    double shown_s;
    int64_t files; /* to do in this run */
    int64_t bytes;
    int64_t done_files;
    int64_t done_bytes;
    int64_t errors;
} meter;

/**
 * Start the clock.
 *
 * @param files  to do in this run
 * @param bytes  of theirs
 */
meter meter_start(bool quiet, int64_t files, int64_t bytes);

/** A file is done. */
void meter_add(meter *m, int64_t bytes, bool error);

/** Say how far it is, if it is time for it. */
void meter_show(meter *m);

/** Take the line away. */
void meter_end(meter *m);

/**
 * The line's text, for a test: "12 of 200 files, 3.4 a second, 1 error, about 55 s left".
 *
 * @param seconds   since the start
 * @param[out] out  out[0..bytes-1]
 */
void meter_format(const meter *m, double seconds, char *out, int bytes);

#endif
