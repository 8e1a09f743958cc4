#include "src/report/count_document.h"

#include "src/document/document_parts.h"
#include "src/words/breath_text.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.count/1";

/* ---- The convention ---- */

int count_source_beats(const count_source *source, const fm_count *count)
{
    const int beats = (int)count->heart.count.n;
    return source->convention == FM_CONVENTION_ZERO && beats > 0 ? beats - 1 : beats;
}

double count_source_rate(const count_source *source,
                         const fm_count *count,
                         double rate_bpm)
{
    const bool less = source->convention == FM_CONVENTION_ZERO &&
                      count->heart.count.window.full_minute;
    return less ? rate_bpm - 1.0 : rate_bpm;
}

/* ---- Parts of the document ---- */

static json_t *source_part(const count_source *s)
{
    document_part b = document_start();
    document_put(&b, "name", document_text(s->name));
    document_put(&b, "duration_s", document_time(s->duration_s));
    document_put(&b, "sample_rate_hz", json_integer((json_int_t)llround(s->rate_hz)));
    document_put(&b, "channels", json_integer(s->channels));
    document_put(&b, "channel", json_integer(s->channel));
    document_put(&b, "channel_chosen", json_boolean(s->channel_chosen));
    document_put(&b, "truncated", json_boolean(s->truncated));
    document_put(&b, "not_numbers", json_integer(s->not_numbers));
    return document_end(&b);
}

static json_t *window_part(const count_source *s, const fm_window *w)
{
    document_part b = document_start();
    document_put(&b, "start_s", document_time(w->start_s));
    document_put(&b, "end_s", document_time(w->end_s));
    document_put(&b, "full_minute", json_boolean(w->full_minute));
    document_put(&b, "first_beat",
                 s->convention == FM_CONVENTION_CLOCK
                     ? json_null()
                     : json_string(fm_convention_word(s->convention)));
    return document_end(&b);
}

static const char *outcome_word(fm_outcome outcome)
{
    switch (outcome) {
    case FM_COUNTED:
        return "counted";
    case FM_CAUTION:
        return "caution";
    case FM_REFUSED:
    default:
        return "refused";
    }
}

static void put_reason(document_part *b, const fm_heart *h)
{
    char sentence[REASON_TEXT_BYTES];
    const bool none = h->count.reason == FM_REASON_NONE;
    const bool placed = !none && h->count.reason_span.length_s > 0.0;
    (void)reason_text_format(h->count.reason, &h->count.reason_span, sentence);
    document_put(b, "reason", none ? json_null() : json_string(sentence));
    document_put(b, "reason_code",
                 none ? json_null() : json_string(fm_reason_code(h->count.reason)));
    document_put(b, "reason_start_s",
                 placed ? document_time(h->count.reason_span.start_s) : json_null());
    document_put(b, "reason_length_s",
                 placed ? document_time(h->count.reason_span.length_s) : json_null());
}

static json_t *heart_part(const count_source *s, const fm_count *count)
{
    const fm_heart *const h = &count->heart;
    const bool shown = h->count.status != FM_REFUSED;
    const double hidden = (double)NAN;
    document_part b = document_start();
    document_put(&b, "status", json_string(outcome_word(h->count.status)));
    document_put(&b, "beats",
                 shown ? json_integer(count_source_beats(s, count)) : json_null());
    document_put(&b, "rate_bpm",
                 document_rate(shown
                                   ? count_source_rate(s, count, h->count.rate_per_min)
                                   : hidden));
    document_put(
        &b, "rate_low_bpm",
        document_rate(shown ? count_source_rate(s, count, h->count.rate_low_per_min)
                            : hidden));
    document_put(
        &b, "rate_high_bpm",
        document_rate(shown ? count_source_rate(s, count, h->count.rate_high_per_min)
                            : hidden));
    document_put(&b, "confidence",
                 document_number(shown ? h->count.confidence : hidden, 3));
    put_reason(&b, h);
    document_put(&b, "band", json_string(h->band == FM_BAND_HIGH ? "high" : "low"));
    document_put(&b, "usable_s", document_time(h->count.usable_s));
    document_put(&b, "s1_s", document_times(h->count.onsets_s, shown ? h->count.n : 0));
    document_put(&b, "s2_s", document_times(h->s2_s, shown ? h->n_s2 : 0));
    return document_end(&b);
}

static json_t *intervals(const fm_rhythm *r)
{
    json_t *array = json_array();
    for (size_t i = 0; i < r->n_intervals; i++) {
        const fm_interval *const v = &r->intervals[i];
        document_part b = document_start();
        document_put(&b, "start_s", document_time(v->start_s));
        document_put(&b, "length_s", document_time(v->length_s));
        document_put(&b, "kind", json_string(fm_interval_word(v->kind)));
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *rhythm_part(const fm_rhythm *r)
{
    document_part b = document_start();
    document_put(&b, "findings", document_findings(r->findings, r->n_findings));
    document_put(&b, "pattern", json_string(fm_pattern_word(r->pattern)));
    document_put(&b, "repeat",
                 r->repeat[0] != '\0' ? json_string(r->repeat) : json_null());
    document_put(&b, "varies_with_breathing", json_boolean(r->varies_with_breathing));
    document_put(&b, "mean_interval_s", document_time(r->mean_interval_s));
    document_put(&b, "sdnn_ms", document_number(r->sdnn_ms, 1));
    document_put(&b, "rmssd_ms", document_number(r->rmssd_ms, 1));
    document_put(&b, "pnn50", document_number(r->pnn50, 3));
    document_put(&b, "cv", document_number(r->cv, 4));
    document_put(&b, "sd1_ms", document_number(r->sd1_ms, 1));
    document_put(&b, "sd2_ms", document_number(r->sd2_ms, 1));
    document_put(&b, "intervals", intervals(r));
    return document_end(&b);
}

/* What stands in the rhythm's place when there is no count to take it from. */
static json_t *rhythm_unknown(void)
{
    const double unknown = (double)NAN;
    const fm_rhythm none = {.pattern = FM_PATTERN_UNDETERMINED,
                            .mean_interval_s = unknown,
                            .sdnn_ms = unknown,
                            .rmssd_ms = unknown,
                            .pnn50 = unknown,
                            .cv = unknown,
                            .sd1_ms = unknown,
                            .sd2_ms = unknown};
    return rhythm_part(&none);
}

/* What was followed, sign by sign; of a refused count nothing. */
static json_t *cues(const fm_breath *v, bool shown)
{
    json_t *array = json_array();
    for (int k = 0; shown && k < FM_CUE_COUNT; k++) {
        document_part b = document_start();
        document_put(&b, "cue", json_string(fm_cue_word((fm_cue)k)));
        document_put(&b, "quality", document_number(v->cue_quality[k], 3));
        document_put(&b, "rate_per_min", document_rate(v->cue_rate_per_min[k]));
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *breath_part(const fm_breath *v)
{
    const bool shown = v->count.status != FM_REFUSED;
    const bool none = v->count.reason == FM_REASON_NONE;
    const double hidden = (double)NAN;
    char sentence[BREATH_REASON_BYTES];
    breath_text_reason(v->count.reason, sentence);
    document_part w = document_start();
    document_put(&w, "start_s", document_time(v->count.window.start_s));
    document_put(&w, "end_s", document_time(v->count.window.end_s));
    document_put(&w, "full_minute", json_boolean(v->count.window.full_minute));
    document_part b = document_start();
    document_put(&b, "status", json_string(outcome_word(v->count.status)));
    document_put(&b, "window", document_end(&w));
    document_put(&b, "breaths",
                 shown ? json_integer((json_int_t)v->count.n) : json_null());
    document_put(&b, "rate_per_min",
                 document_rate(shown ? v->count.rate_per_min : hidden));
    document_put(&b, "rate_low_per_min",
                 document_rate(shown ? v->count.rate_low_per_min : hidden));
    document_put(&b, "rate_high_per_min",
                 document_rate(shown ? v->count.rate_high_per_min : hidden));
    document_put(&b, "confidence",
                 document_number(shown ? v->count.confidence : hidden, 3));
    document_put(&b, "reason", none ? json_null() : json_string(sentence));
    document_put(&b, "reason_code",
                 none ? json_null() : json_string(fm_reason_code(v->count.reason)));
    document_put(&b, "usable_s", document_time(v->count.usable_s));
    document_put(&b, "cues", cues(v, shown));
    document_put(&b, "pattern", json_string(fm_breath_pattern_word(v->pattern)));
    document_put(&b, "findings", document_pauses(v->pauses, v->n_pauses));
    document_put(&b, "starts_s",
                 document_times(v->count.onsets_s, shown ? v->count.n : 0));
    return document_end(&b);
}

/* `name`: the member that holds each reason's code. */
static json_t *spans(const fm_span *s, size_t n, const char *name)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        document_part b = document_start();
        document_put(&b, "start_s", document_time(s[i].start_s));
        document_put(&b, "length_s", document_time(s[i].length_s));
        document_put(&b, name, json_string(fm_reason_code(s[i].reason)));
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *quality_part(const fm_quality *q)
{
    document_part b = document_start();
    document_put(&b, "overall", document_number(q->overall, 3));
    document_put(&b, "level_dbfs", document_number(q->level_dbfs, 1));
    document_put(&b, "clipped_fraction", document_number(q->clipped_fraction, 6));
    document_put(&b, "low_band_missing", json_boolean(q->low_band_missing));
    document_put(&b, "gaps", spans(q->gaps, q->n_gaps, "reason_code"));
    document_put(&b, "unusable", spans(q->unusable, q->n_unusable, "reason"));
    return document_end(&b);
}

json_t *count_document_build(const count_source *source, const fm_count *count)
{
    document_part b = document_start();
    document_put(&b, "schema", json_string(SCHEMA));
    document_put(&b, "engine", json_string(FM_VERSION));
    document_put(&b, "source", source_part(source));
    document_put(&b, "window", window_part(source, &count->heart.count.window));
    document_put(&b, "heart", heart_part(source, count));
    document_put(&b, "rhythm",
                 count->heart.count.status == FM_REFUSED ? rhythm_unknown()
                                                         : rhythm_part(&count->rhythm));
    document_put(&b, "breath", breath_part(&count->breath));
    document_put(&b, "quality", quality_part(&count->heart.count.quality));
    return document_end(&b);
}
