#include "dsp/fullminute.h"

const char *fm_version(void)
{
    return FM_LIBRARY_VERSION;
}

/* One window from the first sample on, with what follows it as context. */
static bool take_first(
    fm_analyser *a, const float *samples, size_t n, size_t window, fm_count *out)
{
    return fm_analyser_open(a, 0, (int64_t)window) == FM_OK &&
           fm_analyser_push(a, samples, n) != FM_ERR_NOMEM &&
           fm_analyser_finish(a) == FM_OK && fm_analyser_take(a, out);
}

fm_status fm_count_samples(const float *samples,
                           size_t n,
                           double rate_hz,
                           fm_count *out)
{
    if (!samples || n == 0 || !out) {
        return FM_ERR_ARG;
    }
    fm_status status;
    fm_analyser *a = fm_analyser_create(rate_hz, &status);
    if (!a) {
        return status;
    }
    const double longest = FM_WINDOW_MAX_S * rate_hz;
    const size_t window = (double)n < longest ? n : (size_t)longest;
    /* With the arguments in order, memory is all that can be wanting. */
    status = take_first(a, samples, n, window, out) ? FM_OK : FM_ERR_NOMEM;
    fm_analyser_destroy(a);
    return status;
}
