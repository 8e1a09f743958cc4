#include "src/document/count_document.h"

#include "dsp/rhythm/rhythm.h"
#include "src/document/members.h"

#include <math.h>
#include <string.h>

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

/* ---- An uneven rhythm ---- */

bool count_is_irregular(fm_pattern pattern)
{
    return pattern == FM_PATTERN_OCCASIONALLY_IRREGULAR ||
           pattern == FM_PATTERN_REGULARLY_IRREGULAR ||
           pattern == FM_PATTERN_IRREGULARLY_IRREGULAR;
}

bool count_is_uneven(const fm_count *count)
{
    return count->heart.count.status != FM_REFUSED &&
           (count_is_irregular(count->rhythm.pattern) || count->rhythm.n_findings > 0);
}

bool count_is_with_breathing(const fm_count *count)
{
    const fm_rhythm *const r = &count->rhythm;
    return count->heart.count.status != FM_REFUSED &&
           r->pattern == FM_PATTERN_REGULARLY_IRREGULAR && r->n_findings == 0 &&
           strcmp(r->repeat, "breathing") == 0;
}

/* ---- The members ---- */

static const field_word OUTCOMES[] = {{"counted", FM_COUNTED},
                                      {"caution", FM_CAUTION},
                                      {"refused", FM_REFUSED},
                                      {NULL, 0}};
static const field_word REASONS[] = {FM_REASON_MAP(FIELD_WORD){NULL, 0}};
static const field_word BANDS[] = {
    {"low", FM_BAND_LOW}, {"high", FM_BAND_HIGH}, {NULL, 0}};
static const field_word INTERVALS[] = {FM_INTERVAL_MAP(FIELD_WORD){NULL, 0}};
static const field_word PATTERNS[] = {FM_PATTERN_MAP(FIELD_WORD){NULL, 0}};

#define PLAIN(name, type, member) MEMBER(name, FIELD(type, member), .how = MEMBER_BLANK)
#define REAL(name, type, member, places)                                               \
    MEMBER(name, FIELD(type, member), .decimals = (places))
#define WORD(name, type, member, words)                                                \
    MEMBER(name, FIELD_ONE_OF(type, member, words), .how = 0)

static const member SOURCE[] = {
    PLAIN("name", count_source, name),
    REAL("duration_s", count_source, duration_s, 3),
    MEMBER("sample_rate_hz", FIELD(count_source, rate_hz), .how = MEMBER_WHOLE),
    PLAIN("channels", count_source, channels),
    PLAIN("channel", count_source, channel),
    PLAIN("channel_chosen", count_source, channel_chosen),
    PLAIN("truncated", count_source, truncated),
    PLAIN("not_numbers", count_source, not_numbers),
    MEMBERS_END,
};
static const member WINDOW[] = {
    REAL("start_s", fm_window, start_s, 3),
    REAL("end_s", fm_window, end_s, 3),
    PLAIN("full_minute", fm_window, full_minute),
    MEMBERS_END,
};

static const member STATUS[] = {WORD("status", fm_event_count, status, OUTCOMES),
                                MEMBERS_END};
static const member REASON_SPAN[] = {REAL("reason_start_s", fm_span, start_s, 3),
                                     REAL("reason_length_s", fm_span, length_s, 3),
                                     MEMBERS_END};
static const member BAND[] = {WORD("band", fm_heart, band, BANDS), MEMBERS_END};
static const member INTERVAL[] = {
    REAL("start_s", fm_interval, start_s, 3),
    REAL("length_s", fm_interval, length_s, 3),
    WORD("kind", fm_interval, kind, INTERVALS),
    MEMBERS_END,
};

static void put_findings(document_part *to, const void *from)
{
    const fm_rhythm *const r = from;
    document_put(to, "findings", document_findings(r->findings, r->n_findings));
}

static void put_intervals(document_part *to, const void *from)
{
    const fm_rhythm *const r = from;
    document_put(
        to, "intervals",
        members_list(INTERVAL, r->intervals, r->n_intervals, sizeof *r->intervals));
}

static const member RHYTHM[] = {
    MEMBER_OWN(put_findings, NULL),
    WORD("pattern", fm_rhythm, pattern, PATTERNS),
    MEMBER("repeat", FIELD(fm_rhythm, repeat), .how = 0),
    PLAIN("varies_with_breathing", fm_rhythm, varies_with_breathing),
    REAL("mean_interval_s", fm_rhythm, mean_interval_s, 3),
    REAL("sdnn_ms", fm_rhythm, sdnn_ms, 1),
    REAL("rmssd_ms", fm_rhythm, rmssd_ms, 1),
    REAL("pnn50", fm_rhythm, pnn50, 3),
    REAL("cv", fm_rhythm, cv, 4),
    REAL("sd1_ms", fm_rhythm, sd1_ms, 1),
    REAL("sd2_ms", fm_rhythm, sd2_ms, 1),
    MEMBER_OWN(put_intervals, NULL),
    MEMBERS_END,
};

/* The member that holds a reason's code has two names. */
#define SPAN(reason_name)                                                              \
    {                                                                                  \
        REAL("start_s", fm_span, start_s, 3), REAL("length_s", fm_span, length_s, 3),  \
            WORD(reason_name, fm_span, reason, REASONS), MEMBERS_END                   \
    }
static const member GAP[] = SPAN("reason_code");
static const member UNUSABLE[] = SPAN("reason");

static void put_spans(document_part *to, const void *from)
{
    const fm_quality *const q = from;
    document_put(to, "gaps", members_list(GAP, q->gaps, q->n_gaps, sizeof *q->gaps));
    document_put(
        to, "unusable",
        members_list(UNUSABLE, q->unusable, q->n_unusable, sizeof *q->unusable));
}

static const member QUALITY[] = {
    REAL("overall", fm_quality, overall, 3),
    REAL("level_dbfs", fm_quality, level_dbfs, 1),
    REAL("clipped_fraction", fm_quality, clipped_fraction, 6),
    PLAIN("low_band_missing", fm_quality, low_band_missing),
    MEMBER_OWN(put_spans, NULL),
    MEMBERS_END,
};

/* ---- Parts of the document ---- */

static json_t *window_part(const count_source *s, const fm_window *w)
{
    document_part b = document_start();
    members_put(&b, WINDOW, w);
    document_put(&b, "first_beat",
                 s->convention == FM_CONVENTION_CLOCK
                     ? json_null()
                     : json_string(fm_convention_word(s->convention)));
    return document_end(&b);
}

/* What is put alike of pulse and respirations; of a refused count no number. */
static void put_events(document_part *b,
                       const fm_event_count *c,
                       const char *const name[4],
                       int n,
                       const double rates[3],
                       const char *sentence)
{
    const bool shown = c->status != FM_REFUSED;
    const bool reason = c->reason != FM_REASON_NONE;
    const double hidden = (double)NAN;
    document_put(b, name[0], shown ? json_integer(n) : json_null());
    for (size_t i = 0; i < 3; i++) {
        document_put(b, name[1 + i], document_rate(shown ? rates[i] : hidden));
    }
    document_put(b, "confidence", document_number(shown ? c->confidence : hidden, 3));
    document_put(b, "reason", reason ? json_string(sentence) : json_null());
    document_put(b, "reason_code",
                 reason ? json_string(fm_reason_code(c->reason)) : json_null());
}

static json_t *onsets(const fm_event_count *c, const double *at_s, size_t n)
{
    return document_times(at_s, c->status != FM_REFUSED ? n : 0);
}

static json_t *heart_part(const count_source *source,
                          const fm_count *count,
                          const char *sentence)
{
    static const char *const NAMES[] = {"beats", "rate_bpm", "rate_low_bpm",
                                        "rate_high_bpm"};
    const fm_event_count *const c = &count->heart.count;
    const double rates[] = {count_source_rate(source, count, c->rate_per_min),
                            count_source_rate(source, count, c->rate_low_per_min),
                            count_source_rate(source, count, c->rate_high_per_min)};
    const bool placed = c->reason != FM_REASON_NONE && c->reason_span.length_s > 0.0;
    const fm_span none = {(double)NAN, (double)NAN, FM_REASON_NONE};
    document_part b = document_start();
    members_put(&b, STATUS, c);
    put_events(&b, c, NAMES, count_source_beats(source, count), rates, sentence);
    members_put(&b, REASON_SPAN, placed ? &c->reason_span : &none);
    members_put(&b, BAND, &count->heart);
    document_put(&b, "usable_s", document_time(c->usable_s));
    document_put(&b, "s1_s", onsets(c, c->onsets_s, c->n));
    document_put(&b, "s2_s", onsets(c, count->heart.s2_s, count->heart.n_s2));
    return document_end(&b);
}

/* What was followed, sign by sign; of a refused count nothing. */
static json_t *cues(const fm_breath *v)
{
    json_t *array = json_array();
    for (int k = 0; v->count.status != FM_REFUSED && k < FM_CUE_COUNT; k++) {
        document_part b = document_start();
        document_put(&b, "cue", json_string(fm_cue_word((fm_cue)k)));
        document_put(&b, "quality", document_number(v->cue_quality[k], 3));
        document_put(&b, "rate_per_min", document_rate(v->cue_rate_per_min[k]));
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *breath_part(const fm_breath *v, const char *sentence)
{
    static const char *const NAMES[] = {"breaths", "rate_per_min", "rate_low_per_min",
                                        "rate_high_per_min"};
    const fm_event_count *const c = &v->count;
    const double rates[] = {c->rate_per_min, c->rate_low_per_min, c->rate_high_per_min};
    document_part b = document_start();
    members_put(&b, STATUS, c);
    document_put(&b, "window", members_object(WINDOW, &c->window));
    put_events(&b, c, NAMES, (int)c->n, rates, sentence);
    document_put(&b, "usable_s", document_time(c->usable_s));
    document_put(&b, "cues", cues(v));
    document_put(&b, "pattern", json_string(fm_breath_pattern_word(v->pattern)));
    document_put(&b, "findings", document_pauses(v->pauses, v->n_pauses));
    document_put(&b, "starts_s", onsets(c, c->onsets_s, c->n));
    return document_end(&b);
}

/* What stands in the rhythm's place when there is no count to take it from. */
static json_t *rhythm_part(const fm_count *count)
{
    fm_rhythm none;
    fm_rhythm_describe(NULL, NULL, 0, NULL, 0, 0.0, 0.0, &none); /* of no beat */
    const bool refused = count->heart.count.status == FM_REFUSED;
    return members_object(RHYTHM, refused ? &none : &count->rhythm);
}

json_t *count_document_build(const count_source *source,
                             const fm_count *count,
                             const count_said *said)
{
    document_part b = document_start();
    document_put(&b, "schema", json_string("fullminute.count/1"));
    document_put(&b, "engine", json_string(FM_VERSION));
    document_put(&b, "source", members_object(SOURCE, source));
    document_put(&b, "window", window_part(source, &count->heart.count.window));
    document_put(&b, "heart", heart_part(source, count, said->heart_reason));
    document_put(&b, "rhythm", rhythm_part(count));
    document_put(&b, "breath", breath_part(&count->breath, said->breath_reason));
    document_put(&b, "quality", members_object(QUALITY, &count->heart.count.quality));
    return document_end(&b);
}
