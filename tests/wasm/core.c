/*
 * The core behind a small door, for a host that is no operating system: samples go in, the
 * document of the count and the words of a comparison come out. Built by tests/wasm/core.sh
 * from the folders that know no operating system and from nothing else, so that it does not
 * link once one of them needs more.
 */
#include "dsp/compare/reference_range.h"
#include "dsp/fullminute.h"
#include "src/document/count_document.h"
#include "src/words/check_text.h"
#include "src/words/said.h"

#include <math.h>
#include <stdlib.h>

float *core_samples(int n);
char *core_count(const float *samples, int n, double rate_hz, const char *name);
char *core_check(
    const float *samples, int n, double rate_hz, const char *name, int entered);

static fm_count count;

/** Room for n samples, for free(); NULL without memory. */
float *core_samples(int n)
{
    return malloc((size_t)n * sizeof(float));
}

static count_source source_of(int n, double rate_hz, const char *name)
{
    return (count_source){.name = name,
                          .duration_s = n / rate_hz,
                          .rate_hz = rate_hz,
                          .channels = 1,
                          .channel = 1,
                          .channel_chosen = false,
                          .convention = FM_CONVENTION_CLOCK,
                          .age_months = (double)NAN};
}

/** The document of the first minute, JSON, for free(); NULL: not counted at all. */
char *core_count(const float *samples, int n, double rate_hz, const char *name)
{
    const count_source source = source_of(n, rate_hz, name);
    if (fm_count_samples(samples, (size_t)n, rate_hz, &count) != FM_OK) {
        return NULL;
    }
    json_t *const document = said_count(&source, &count);
    char *const text = json_dumps(document, 0);
    json_decref(document);
    return text;
}

/** A full minute's own count beside it, in words, for free(); NULL: no comparison. */
char *core_check(
    const float *samples, int n, double rate_hz, const char *name, int entered)
{
    const count_source source = source_of(n, rate_hz, name);
    const fm_compare_input in = {.manual = {.entered = entered, .seconds = 60},
                                 .count = &count.heart.count,
                                 .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN};
    fm_comparison comparison;
    fm_reference_range range;
    if (fm_count_samples(samples, (size_t)n, rate_hz, &count) != FM_OK ||
        fm_compare(&in, &comparison) != FM_OK ||
        fm_reference_range_find(FM_EVENT_BEAT, FM_AGE_ADULT_MONTHS, &range) != FM_OK) {
        return NULL;
    }
    const check_view view = {
        .source = &source, .count = &count, .comparison = &comparison, .range = &range};
    return check_text_format(&view);
}
