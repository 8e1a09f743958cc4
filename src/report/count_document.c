#include "src/report/count_document.h"

#include "src/report/breath_text.h"
#include "src/report/reason_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.count/1";

/* A double carries 15 significant decimal digits exactly there and back. */
enum {
    SIGNIFICANT_DIGITS = 15
};

/* ---- Values ---- */

json_t *count_document_number(double value, int decimals)
{
    if (!isfinite(value)) {
        return json_null();
    }
    const double scale = pow(10.0, decimals);
    /* Adding zero turns -0 into 0. */
    return json_real(round(value * scale) / scale + 0.0);
}

json_t *count_document_time(double seconds)
{
    return count_document_number(seconds, 3);
}

json_t *count_document_rate(double per_min)
{
    return count_document_number(per_min, 1);
}

json_t *count_document_text(const char *bytes)
{
    json_t *const plain = json_string(bytes);
    if (plain != NULL) {
        return plain;
    }
    /* Not UTF-8: percent-escape what is not ASCII, and the percent sign itself. */
    char *const escaped = malloc(3 * strlen(bytes) + 1);
    if (escaped == NULL) {
        return NULL;
    }
    size_t used = 0;
    for (const char *c = bytes; *c != '\0'; c++) {
        const unsigned byte = (unsigned char)*c;
        if (byte >= 0x80U || byte == '%') {
            (void)snprintf(escaped + used, 4, "%%%02X", byte);
            used += 3;
        } else {
            escaped[used++] = *c;
        }
    }
    escaped[used] = '\0';
    json_t *const text = json_string(escaped);
    free(escaped);
    return text;
}

/* ---- Building: an object that failed once stays failed ---- */

struct builder {
    json_t *object;
    bool failed;
};

static struct builder builder_start(void)
{
    json_t *const object = json_object();
    return (struct builder){object, object == NULL};
}

/* Takes the value over; NULL counts as out of memory. */
static void put(struct builder *b, const char *key, json_t *value)
{
    if (b->failed) {
        json_decref(value);
    } else if (json_object_set_new(b->object, key, value) != 0) {
        b->failed = true;
    }
}

static json_t *builder_end(struct builder *b)
{
    if (!b->failed) {
        return b->object;
    }
    json_decref(b->object);
    return NULL;
}

/* Takes item over and adds it to the array; an array that failed becomes NULL. */
static json_t *append(json_t *array, json_t *item)
{
    if (array != NULL && json_array_append_new(array, item) == 0) {
        return array;
    }
    if (array == NULL) {
        json_decref(item);
    }
    json_decref(array);
    return NULL;
}

static json_t *times(const double *times_s, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = append(array, count_document_time(times_s[i]));
    }
    return array;
}

/* ---- The convention ---- */

int count_source_beats(const count_source *source, const fm_count *count)
{
    const int beats = count->heart.beats;
    return source->convention == FM_CONVENTION_ZERO && beats > 0 ? beats - 1 : beats;
}

double count_source_rate(const count_source *source,
                         const fm_count *count,
                         double rate_bpm)
{
    const bool less =
        source->convention == FM_CONVENTION_ZERO && count->window.full_minute;
    return less ? rate_bpm - 1.0 : rate_bpm;
}

/* ---- Parts of the document ---- */

static json_t *source_part(const count_source *s)
{
    struct builder b = builder_start();
    put(&b, "name", count_document_text(s->name));
    put(&b, "duration_s", count_document_time(s->duration_s));
    put(&b, "sample_rate_hz", json_integer((json_int_t)llround(s->rate_hz)));
    put(&b, "channels", json_integer(s->channels));
    put(&b, "channel", json_integer(s->channel));
    put(&b, "channel_chosen", json_boolean(s->channel_chosen));
    put(&b, "truncated", json_boolean(s->truncated));
    put(&b, "not_numbers", json_integer(s->not_numbers));
    return builder_end(&b);
}

static json_t *window_part(const count_source *s, const fm_window *w)
{
    struct builder b = builder_start();
    put(&b, "start_s", count_document_time(w->start_s));
    put(&b, "end_s", count_document_time(w->end_s));
    put(&b, "full_minute", json_boolean(w->full_minute));
    put(&b, "first_beat",
        s->convention == FM_CONVENTION_CLOCK
            ? json_null()
            : json_string(fm_convention_word(s->convention)));
    return builder_end(&b);
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

static void put_reason(struct builder *b, const fm_heart *h)
{
    char sentence[REASON_TEXT_BYTES];
    const bool none = h->reason == FM_REASON_NONE;
    const bool placed = !none && h->reason_span.length_s > 0.0;
    (void)reason_text_format(h->reason, &h->reason_span, sentence);
    put(b, "reason", none ? json_null() : json_string(sentence));
    put(b, "reason_code", none ? json_null() : json_string(fm_reason_code(h->reason)));
    put(b, "reason_start_s",
        placed ? count_document_time(h->reason_span.start_s) : json_null());
    put(b, "reason_length_s",
        placed ? count_document_time(h->reason_span.length_s) : json_null());
}

static json_t *heart_part(const count_source *s, const fm_count *count)
{
    const fm_heart *const h = &count->heart;
    const bool shown = h->status != FM_REFUSED;
    const double hidden = (double)NAN;
    struct builder b = builder_start();
    put(&b, "status", json_string(outcome_word(h->status)));
    put(&b, "beats", shown ? json_integer(count_source_beats(s, count)) : json_null());
    put(&b, "rate_bpm",
        count_document_rate(shown ? count_source_rate(s, count, h->rate_bpm) : hidden));
    put(&b, "rate_low_bpm",
        count_document_rate(shown ? count_source_rate(s, count, h->rate_low_bpm)
                                  : hidden));
    put(&b, "rate_high_bpm",
        count_document_rate(shown ? count_source_rate(s, count, h->rate_high_bpm)
                                  : hidden));
    put(&b, "confidence", count_document_number(shown ? h->confidence : hidden, 3));
    put_reason(&b, h);
    put(&b, "band", json_string(h->band == FM_BAND_HIGH ? "high" : "low"));
    put(&b, "usable_s", count_document_time(h->usable_s));
    put(&b, "s1_s", times(h->s1_s, shown ? h->n_s1 : 0));
    put(&b, "s2_s", times(h->s2_s, shown ? h->n_s2 : 0));
    return builder_end(&b);
}

static json_t *findings(const fm_rhythm *r)
{
    json_t *array = json_array();
    for (size_t i = 0; i < r->n_findings; i++) {
        const fm_finding *const f = &r->findings[i];
        const size_t kept = f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES;
        struct builder b = builder_start();
        put(&b, "kind", json_string(fm_finding_word(f->kind)));
        put(&b, "count", json_integer((json_int_t)f->count));
        put(&b, "times_s", times(f->times_s, kept));
        array = append(array, builder_end(&b));
    }
    return array;
}

static json_t *intervals(const fm_rhythm *r)
{
    json_t *array = json_array();
    for (size_t i = 0; i < r->n_intervals; i++) {
        const fm_interval *const v = &r->intervals[i];
        struct builder b = builder_start();
        put(&b, "start_s", count_document_time(v->start_s));
        put(&b, "length_s", count_document_time(v->length_s));
        put(&b, "kind", json_string(fm_interval_word(v->kind)));
        array = append(array, builder_end(&b));
    }
    return array;
}

static json_t *rhythm_part(const fm_rhythm *r)
{
    struct builder b = builder_start();
    put(&b, "findings", findings(r));
    put(&b, "pattern", json_string(fm_pattern_word(r->pattern)));
    put(&b, "repeat", r->repeat[0] != '\0' ? json_string(r->repeat) : json_null());
    put(&b, "varies_with_breathing", json_boolean(r->varies_with_breathing));
    put(&b, "mean_interval_s", count_document_time(r->mean_interval_s));
    put(&b, "sdnn_ms", count_document_number(r->sdnn_ms, 1));
    put(&b, "rmssd_ms", count_document_number(r->rmssd_ms, 1));
    put(&b, "pnn50", count_document_number(r->pnn50, 3));
    put(&b, "cv", count_document_number(r->cv, 4));
    put(&b, "sd1_ms", count_document_number(r->sd1_ms, 1));
    put(&b, "sd2_ms", count_document_number(r->sd2_ms, 1));
    put(&b, "intervals", intervals(r));
    return builder_end(&b);
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
        struct builder b = builder_start();
        put(&b, "cue", json_string(fm_cue_word((fm_cue)k)));
        put(&b, "quality", count_document_number(v->cue_quality[k], 3));
        put(&b, "rate_per_min", count_document_rate(v->cue_rate_per_min[k]));
        array = append(array, builder_end(&b));
    }
    return array;
}

static json_t *breath_part(const fm_breath *v)
{
    const bool shown = v->status != FM_REFUSED;
    const bool none = v->reason == FM_REASON_NONE;
    const double hidden = (double)NAN;
    char sentence[BREATH_REASON_BYTES];
    breath_text_reason(v->reason, sentence);
    struct builder w = builder_start();
    put(&w, "start_s", count_document_time(v->window.start_s));
    put(&w, "end_s", count_document_time(v->window.end_s));
    put(&w, "full_minute", json_boolean(v->window.full_minute));
    struct builder b = builder_start();
    put(&b, "status", json_string(outcome_word(v->status)));
    put(&b, "window", builder_end(&w));
    put(&b, "breaths", shown ? json_integer(v->breaths) : json_null());
    put(&b, "rate_per_min", count_document_rate(shown ? v->rate_per_min : hidden));
    put(&b, "rate_low_per_min",
        count_document_rate(shown ? v->rate_low_per_min : hidden));
    put(&b, "rate_high_per_min",
        count_document_rate(shown ? v->rate_high_per_min : hidden));
    put(&b, "confidence", count_document_number(shown ? v->confidence : hidden, 3));
    put(&b, "reason", none ? json_null() : json_string(sentence));
    put(&b, "reason_code", none ? json_null() : json_string(fm_reason_code(v->reason)));
    put(&b, "usable_s", count_document_time(v->usable_s));
    put(&b, "cues", cues(v, shown));
    put(&b, "starts_s", times(v->starts_s, shown ? v->n : 0));
    return builder_end(&b);
}

static json_t *spans(const fm_span *s, size_t n, bool with_reason)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        struct builder b = builder_start();
        put(&b, "start_s", count_document_time(s[i].start_s));
        put(&b, "length_s", count_document_time(s[i].length_s));
        if (with_reason) {
            put(&b, "reason", json_string(fm_reason_code(s[i].reason)));
        }
        array = append(array, builder_end(&b));
    }
    return array;
}

static json_t *quality_part(const fm_quality *q)
{
    struct builder b = builder_start();
    put(&b, "overall", count_document_number(q->overall, 3));
    put(&b, "level_dbfs", count_document_number(q->level_dbfs, 1));
    put(&b, "clipped_fraction", count_document_number(q->clipped_fraction, 6));
    put(&b, "low_band_missing", json_boolean(q->low_band_missing));
    put(&b, "gaps", spans(q->gaps, q->n_gaps, false));
    put(&b, "unusable", spans(q->unusable, q->n_unusable, true));
    return builder_end(&b);
}

json_t *count_document_build(const count_source *source, const fm_count *count)
{
    struct builder b = builder_start();
    put(&b, "schema", json_string(SCHEMA));
    put(&b, "engine", json_string(FM_VERSION));
    put(&b, "source", source_part(source));
    put(&b, "window", window_part(source, &count->window));
    put(&b, "heart", heart_part(source, count));
    put(&b, "rhythm",
        count->heart.status == FM_REFUSED ? rhythm_unknown()
                                          : rhythm_part(&count->rhythm));
    put(&b, "breath", breath_part(&count->breath));
    put(&b, "quality", quality_part(&count->quality));
    return builder_end(&b);
}

char *count_document_format(const json_t *document)
{
    return json_dumps(document, JSON_REAL_PRECISION(SIGNIFICANT_DIGITS));
}
