#include "src/usecase/summarise.h"

#include "src/base/bytes.h"
#include "src/document/row.h"
#include "src/port/file.h"
#include "src/usecase/summary_truth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Wrong: more than this from the truth, per minute, as confidence means it. */
static const double WRONG_PER_MIN = 3.0;
static const double MINUTE_S = 60.0;

/* What is needed of a row, kept until the next one is read: only then is it known whether
 * the recording has one window or several. */
typedef struct kept {
    bool there;
    char *file; /* owned */
    row_status status;
    double start_s, length_s, duration_s;
    double rate_bpm, rate_low_bpm, rate_high_bpm, confidence;
    double breath_per_min;
    char pattern[48];
} kept;

typedef struct gatherer {
    const summarise_request *request;
    summary *to;
    summary_truth *truth;
    kept last;
    bool last_is_one_of_many;
} gatherer;

static const char *field(const row *r, row_column column)
{
    return r->field[column] != NULL ? r->field[column] : "";
}

/* What has no room is cut at a whole character. */
static void copy_text(char *to, size_t room, const char *from)
{
    size_t n = strlen(from);
    if (n >= room) {
        n = room - 1;
        while (n > 0 && ((unsigned char)from[n] & 0xC0U) == 0x80U) {
            n--;
        }
    }
    memcpy(to, from, n);
    to[n] = '\0';
}

static size_t reason_of(const row *r)
{
    const char *const code = field(r, ROW_REASON_CODE);
    for (int i = 1; i < FM_REASON_COUNT; i++) {
        if (strcmp(code, fm_reason_code((fm_reason)i)) == 0) {
            return (size_t)i;
        }
    }
    return code[0] == '\0' ? FM_REASON_NONE : SUMMARY_OTHER_REASON;
}

static void add_error(summary *s, const row *r)
{
    if (s->n_errors_named < SUMMARY_NAMED) {
        summary_named *const e = &s->errors[s->n_errors_named++];
        copy_text(e->file, sizeof e->file, field(r, ROW_FILE));
        copy_text(e->reason, sizeof e->reason,
                  field(r, ROW_REASON)[0] != '\0' ? field(r, ROW_REASON)
                                                  : field(r, ROW_REASON_CODE));
    }
}

static void add_breath_status(summary *s, const char *word)
{
    for (int i = ROW_COUNTED; i < ROW_STATUS_COUNT; i++) {
        if (strcmp(word, row_status_word((row_status)i)) == 0) {
            s->breath_by_status[i]++;
        }
    }
}

static void add_breathing(summary *s, const row *r)
{
    const char *const word = field(r, ROW_BREATH_PATTERN);
    for (int p = 0; p < FM_BREATH_PATTERN_COUNT; p++) {
        s->breath_patterns[p] +=
            strcmp(word, fm_breath_pattern_word((fm_breath_pattern)p)) == 0;
    }
    s->with_breath_pause += strstr(field(r, ROW_BREATH_FINDINGS), "pause ") != NULL;
}

static void add_rhythm(summary *s, const row *r)
{
    for (int p = 0; p < FM_PATTERN_COUNT; p++) {
        s->patterns[p] +=
            strcmp(field(r, ROW_PATTERN), fm_pattern_word((fm_pattern)p)) == 0;
    }
    s->with_early += row_number(r, ROW_EARLY) > 0.0;
    s->with_pauses += row_number(r, ROW_PAUSES) > 0.0;
}

/* Everything that needs no truth. */
static bool add_row(summary *s, const row *r)
{
    const row_status status = row_status_of(r);
    s->n_rows++;
    if (status >= ROW_STATUS_COUNT) {
        s->unknown_status++;
        return true;
    }
    s->by_status[status]++;
    if (status == ROW_ERROR) {
        add_error(s, r);
        return true;
    }
    const double window_s = row_number(r, ROW_WINDOW_S);
    s->counted_hours += window_s > 0.0 ? window_s / 3600.0 : 0.0;
    add_breath_status(s, field(r, ROW_BREATH_STATUS));
    add_breathing(s, r);
    bool ok =
        summary_series_add(&s->quality, row_number(r, ROW_QUALITY)) &&
        summary_series_add(&s->breath_per_min, row_number(r, ROW_BREATH_RATE_PER_MIN));
    if (status == ROW_REFUSED) {
        s->refused[reason_of(r)]++;
        return ok;
    }
    if (status == ROW_CAUTION) {
        s->doubted[reason_of(r)]++;
    }
    add_rhythm(s, r);
    ok = ok && summary_series_add(&s->rate_bpm, row_number(r, ROW_RATE_BPM)) &&
         summary_series_add(&s->confidence, row_number(r, ROW_CONFIDENCE));
    return ok;
}

/* Of two far from the truth the farther stands first. */
static void offer_worst(summary *s, const kept *k, double truth)
{
    const double size = fabs(k->rate_bpm - truth);
    size_t at = s->n_worst;
    while (at > 0 && fabs(s->worst[at - 1].measured_per_min -
                          s->worst[at - 1].truth_per_min) < size) {
        at--;
    }
    if (at >= SUMMARY_NAMED || !(size > 1.0)) {
        return;
    }
    s->n_worst += s->n_worst < SUMMARY_NAMED;
    memmove(&s->worst[at + 1], &s->worst[at],
            (s->n_worst - 1 - at) * sizeof s->worst[0]);
    s->worst[at] = (summary_named){.start_s = k->start_s,
                                   .measured_per_min = k->rate_bpm,
                                   .truth_per_min = truth,
                                   .status = (int)k->status};
    copy_text(s->worst[at].file, sizeof s->worst[at].file, k->file);
}

static bool add_forecast(summary *s, double confidence, bool right)
{
    const size_t n = s->rate.measured.n - 1; /* one a pair */
    fm_forecast *const forecasts =
        list_with_room(s->forecasts, n + 1, &s->forecast_room, sizeof *forecasts);
    if (forecasts == NULL) {
        return false;
    }
    s->forecasts = forecasts;
    s->forecasts[n] = (fm_forecast){isfinite(confidence) ? confidence : 0.0, right};
    return true;
}

static bool add_truth(summary *s, const kept *k, const truth_said *said)
{
    const bool said_nothing =
        isnan(said->rate_bpm) && isnan(said->breath_per_min) && !said->pattern_known;
    s->without_truth += said_nothing;
    s->truth_of_another += said->found == TRUTH_FOUND_ANOTHER;
    const bool has_number = k->status != ROW_REFUSED && isfinite(k->rate_bpm);
    if (has_number && said->pattern_known && k->pattern[0] != '\0') {
        s->pattern_known++;
        s->pattern_right += strcmp(k->pattern, fm_pattern_word(said->pattern)) == 0;
    }
    if (isfinite(said->breath_per_min) && isfinite(k->breath_per_min) &&
        !(summary_series_add(&s->breath.measured, k->breath_per_min) &&
          summary_series_add(&s->breath.truth, said->breath_per_min))) {
        return false;
    }
    if (!isfinite(said->rate_bpm)) {
        return true;
    }
    s->truth_by_status[k->status]++;
    s->truth_in_doubt += said->found == TRUTH_FOUND_FITS && k->status == ROW_COUNTED &&
                         k->length_s > MINUTE_S - 0.001 &&
                         truth_beside_is_doubtful(said->found, said->rate_bpm,
                                                  k->rate_low_bpm, k->rate_high_bpm);
    if (!has_number) {
        return true;
    }
    const bool right = fabs(k->rate_bpm - said->rate_bpm) <= WRONG_PER_MIN;
    s->counted_wrong += k->status == ROW_COUNTED && !right;
    offer_worst(s, k, said->rate_bpm);
    return summary_series_add(&s->rate.measured, k->rate_bpm) &&
           summary_series_add(&s->rate.truth, said->rate_bpm) &&
           add_forecast(s, k->confidence, right);
}

/* Where a batch counts respirations when not told: in the minute after the pulse's, where
 * that is a whole one and the recording holds another; in a row of windows, in each. */
static truth_window window_of(const gatherer *g, const kept *k)
{
    truth_window w = {k->start_s, k->length_s, k->start_s, k->length_s};
    const double end_s = k->start_s + k->length_s;
    if (!g->request->breath_same && !g->last_is_one_of_many &&
        k->length_s > MINUTE_S - 0.001 && k->duration_s >= end_s + MINUTE_S) {
        w.breath_start_s = end_s;
        w.breath_length_s = MINUTE_S;
    }
    return w;
}

/* Compare the row that was kept. */
static bool settle_last(gatherer *g, app_err *err)
{
    const kept *const k = &g->last;
    truth_said said;
    if (!k->there || g->truth == NULL || k->status >= ROW_ERROR) {
        return true;
    }
    const truth_window w = window_of(g, k);
    if (!summary_truth_find(g->truth, k->file, &w, &said, err)) {
        return false;
    }
    return add_truth(g->to, k, &said) || app_err_memory(err);
}

static bool keep(gatherer *g, const row *r, bool same_file, app_err *err)
{
    kept k = {.there = true,
              .file = strdup(field(r, ROW_FILE)),
              .status = row_status_of(r),
              .start_s = row_number(r, ROW_WINDOW_START_S),
              .length_s = row_number(r, ROW_WINDOW_S),
              .duration_s = row_number(r, ROW_DURATION_S),
              .rate_bpm = row_number(r, ROW_RATE_BPM),
              .rate_low_bpm = row_number(r, ROW_RATE_LOW_BPM),
              .rate_high_bpm = row_number(r, ROW_RATE_HIGH_BPM),
              .confidence = row_number(r, ROW_CONFIDENCE),
              .breath_per_min = row_number(r, ROW_BREATH_RATE_PER_MIN)};
    copy_text(k.pattern, sizeof k.pattern, field(r, ROW_PATTERN));
    free(g->last.file);
    g->last = k;
    g->last_is_one_of_many = same_file;
    return k.file != NULL || app_err_memory(err);
}

static bool take(gatherer *g, const row *r, app_err *err)
{
    const bool same_file =
        g->last.there && strcmp(g->last.file, field(r, ROW_FILE)) == 0;
    g->last_is_one_of_many |= same_file;
    if (!settle_last(g, err)) {
        return false;
    }
    if (!same_file) {
        const double duration_s = row_number(r, ROW_DURATION_S);
        g->to->n_files++;
        g->to->sound_hours += duration_s > 0.0 ? duration_s / 3600.0 : 0.0;
    }
    return keep(g, r, same_file, err) && (add_row(g->to, r) || app_err_memory(err));
}

static bool take_all(gatherer *g, const char *path, app_err *err)
{
    row r;
    row_reader *const reader = row_reader_open(file_open(path, err), path, err);
    if (reader == NULL) {
        return false;
    }
    int state = 0;
    bool ok = true;
    while (ok && (state = row_reader_next(reader, &r, err)) > 0) {
        ok = take(g, &r, err);
    }
    row_reader_close(reader);
    g->to->n_sources++;
    return ok && state == 0;
}

static void finish(summary *s)
{
    s->rate.agreement =
        fm_agreement_of(s->rate.measured.value, s->rate.truth.value, s->rate.truth.n);
    s->breath.agreement = fm_agreement_of(s->breath.measured.value,
                                          s->breath.truth.value, s->breath.truth.n);
    s->calibration = fm_calibration_of(s->forecasts, s->rate.truth.n);
    fm_sort_ascending(s->rate_bpm.value, s->rate_bpm.n);
    fm_sort_ascending(s->breath_per_min.value, s->breath_per_min.n);
    fm_sort_ascending(s->quality.value, s->quality.n);
    fm_sort_ascending(s->confidence.value, s->confidence.n);
}

bool summarise(const summarise_request *request, summary *out, app_err *err)
{
    gatherer g = {.request = request, .to = out};
    *out = (summary){.has_truth = request->truth != NULL};
    bool ok = true;
    if (request->truth != NULL) {
        g.truth = summary_truth_open(request->truth, err);
        ok = g.truth != NULL;
    }
    for (int i = 0; ok && i < request->n_paths; i++) {
        ok = take_all(&g, request->paths[i], err);
    }
    ok = ok && settle_last(&g, err);
    summary_truth_close(g.truth);
    free(g.last.file);
    if (!ok) {
        summary_free(out);
        return false;
    }
    finish(out);
    return true;
}
