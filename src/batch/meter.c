#include "src/batch/meter.h"

#include "src/port/steady.h"

#include <inttypes.h>
#include <stdio.h>
#include <unistd.h>

static const double TERMINAL_EVERY_S = 0.5;
static const double PLAIN_EVERY_S = 10.0;

/* Before that the rate says nothing yet. */
static const double RATE_FROM_S = 1.0;

enum {
    LINE_BYTES = 160
};

meter meter_start(bool quiet, int64_t files, int64_t bytes)
{
    const double now = steady_now_s();
    return (meter){.quiet = quiet,
                   .terminal = isatty(STDERR_FILENO) != 0,
                   .started_s = now,
                   .shown_s = now,
                   .files = files,
                   .bytes = bytes};
}

void meter_add(meter *m, int64_t bytes, bool error)
{
    m->done_files++;
    m->done_bytes += bytes;
    m->errors += error;
}

static void add_left(const meter *m, double seconds, char *out, size_t bytes)
{
    /* Long files take longer: bytes tell better than files, where they are known. */
    const bool by_bytes = m->bytes > 0 && m->done_bytes > 0;
    const double done = by_bytes ? (double)m->done_bytes : (double)m->done_files;
    const double all = by_bytes ? (double)m->bytes : (double)m->files;
    if (!(done > 0.0) || done > all) {
        return;
    }
    const double left_s = seconds * (all - done) / done;
    if (left_s < 90.0) {
        (void)snprintf(out, bytes, ", about %.0f s left", left_s);
    } else if (left_s < 5400.0) {
        (void)snprintf(out, bytes, ", about %.0f min left", left_s / 60.0);
    } else {
        (void)snprintf(out, bytes, ", about %.1f h left", left_s / 3600.0);
    }
}

void meter_format(const meter *m, double seconds, char *out, int bytes)
{
    char rate[40] = "";
    char left[40] = "";
    if (seconds >= RATE_FROM_S) {
        (void)snprintf(rate, sizeof rate, ", %.3g a second",
                       (double)m->done_files / seconds);
        add_left(m, seconds, left, sizeof left);
    }
    (void)snprintf(
        out, (size_t)bytes, "%" PRId64 " of %" PRId64 " files%s, %" PRId64 " error%s%s",
        m->done_files, m->files, rate, m->errors, m->errors == 1 ? "" : "s", left);
}

void meter_show(meter *m)
{
    const double now = steady_now_s();
    if (m->quiet ||
        now - m->shown_s < (m->terminal ? TERMINAL_EVERY_S : PLAIN_EVERY_S)) {
        return;
    }
    char line[LINE_BYTES];
    meter_format(m, now - m->started_s, line, LINE_BYTES);
    (void)fprintf(stderr, m->terminal ? "\r\033[K%s" : "%s\n", line);
    (void)fflush(stderr);
    m->shown = m->terminal;
    m->shown_s = now;
}

void meter_end(meter *m)
{
    if (m->shown) {
        (void)fputs("\r\033[K", stderr);
        (void)fflush(stderr);
        m->shown = false;
    }
}
