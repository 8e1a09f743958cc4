#include "export.h"

#include "dsp/heart/candidates.h"
#include "dsp/heart/condition.h"
#include "dsp/minute.h"
#include "dsp/segment.h"

#include <math.h>
#include <stdlib.h>

/* A patch file needs no more than a minute and its context. */
static const double PATCHES_S = 64.0;

struct exporter {
    FILE *out;
    fm_collector *collector;
    double collector_rate_hz;
    fm_spectrum *spectrum;
    fm_feature_maker *maker;
    fm_minute *minute;
    fm_candidate candidates[FM_CANDIDATES_MAX];
    fm_segment segment;
    fm_count count;
};

exporter *exporter_create(FILE *out)
{
    exporter *e = calloc(1, sizeof(*e));
    if (!e) {
        return NULL;
    }
    e->out = out;
    e->spectrum = fm_spectrum_create(FM_CONDITION_FFT);
    e->maker = fm_feature_maker_create();
    e->minute = fm_minute_create();
    if (!e->spectrum || !e->maker || !e->minute) {
        exporter_destroy(e);
        return NULL;
    }
    return e;
}

void exporter_destroy(exporter *e)
{
    if (!e) {
        return;
    }
    fm_collector_destroy(e->collector);
    fm_spectrum_destroy(e->spectrum);
    fm_feature_maker_destroy(e->maker);
    fm_minute_destroy(e->minute);
    free(e);
}

static int64_t samples(double seconds, double rate_hz, size_t n)
{
    const int64_t at = (int64_t)(seconds * rate_hz);
    return at < 0 ? 0 : (at < (int64_t)n ? at : (int64_t)n);
}

/* Gather [start, end) with its context into e->segment. */
static bool collect(exporter *e, const sound *s, double start_s, double end_s)
{
    if (!e->collector || fabs(e->collector_rate_hz - s->rate_hz) > 0.0) {
        fm_collector_destroy(e->collector);
        e->collector = fm_collector_create(s->rate_hz);
        e->collector_rate_hz = s->rate_hz;
        if (!e->collector) {
            return false;
        }
    }
    const int64_t first = samples(start_s - FM_CONTEXT_S, s->rate_hz, s->n);
    const int64_t last = samples(end_s + FM_CONTEXT_S, s->rate_hz, s->n);
    fm_collector_begin(e->collector, first, samples(start_s, s->rate_hz, s->n),
                       samples(end_s, s->rate_hz, s->n));
    fm_collector_push(e->collector, s->samples + first, (size_t)(last - first));
    fm_collector_finish(e->collector, last, &e->segment);
    return true;
}

static void write_times(FILE *out, const double *times_s, size_t n, const char *end)
{
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(out, i ? " %.4f" : "%.4f", times_s[i]);
    }
    (void)fputs(end, out);
}

static void write_spans(FILE *out, const fm_span *spans, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(out, "%.3f:%.3f ", spans[i].start_s,
                      spans[i].start_s + spans[i].length_s);
    }
}

void export_names(const exporter *e, bool evidence)
{
#define X(name) " " #name
    static const char EVIDENCE[] = "names FM_EVIDENCE" FM_EVIDENCE_MAP(X) "\n";
#undef X
#define X(name, frames) " " #name
    static const char PATCH[] = "names FM_PATCH" FM_PATCH_MAP(X) "\n";
#undef X
    (void)fputs(evidence ? EVIDENCE : PATCH, e->out);
}

bool export_patches(exporter *e, const sound *s, const export_truth *truth)
{
    if (!collect(e, s, 0.0, PATCHES_S - FM_CONTEXT_S)) {
        return false;
    }
    fm_conditioned conditioned;
    fm_features features;
    fm_condition(e->spectrum, e->segment.x, e->segment.n, &conditioned);
    if (fm_features_make(e->maker, e->segment.x, e->segment.n, &features) != FM_OK) {
        return false;
    }
    const size_t n = fm_candidates_find(&features, e->candidates, FM_CANDIDATES_MAX);
    float minute[FM_PATCH_MINUTE];
    fm_candidates_summary(&features, e->candidates, n, minute);
    (void)fprintf(e->out, "sound %s %s %.4f %.4f %zu %zu %zu\n", truth->name,
                  truth->group, truth->span_start_s, truth->span_end_s, n, truth->n_s1,
                  truth->n_s2);
    write_times(e->out, truth->s1_s, truth->n_s1, "\n");
    write_times(e->out, truth->s2_s, truth->n_s2, "\n");
    for (size_t i = 0; i < n; i++) {
        float patch[FM_PATCH_SIZE];
        fm_candidate_patch(&features, &e->candidates[i], minute, patch);
        (void)fwrite(&e->candidates[i].time_s, sizeof(double), 1, e->out);
        (void)fwrite(patch, sizeof(float), FM_PATCH_SIZE, e->out);
    }
    return !ferror(e->out);
}

bool export_evidence(exporter *e,
                     const sound *s,
                     const export_truth *truth,
                     double start_s,
                     double length_s)
{
    if (!collect(e, s, start_s, start_s + length_s)) {
        return false;
    }
    fm_minute_analyse(e->minute, &e->segment, &e->count);
    const fm_evidence *evidence = fm_minute_evidence(e->minute);
    (void)fprintf(e->out, "%s;%s;%.3f;%.3f;", truth->name, truth->group,
                  e->count.heart.count.window.start_s,
                  e->count.heart.count.window.end_s -
                      e->count.heart.count.window.start_s);
    for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
        (void)fprintf(e->out, i ? " %.5g" : "%.5g", (double)evidence->value[i]);
    }
    (void)fputc(';', e->out);
    write_times(e->out, e->count.heart.count.onsets_s, e->count.heart.count.n, ";");
    write_times(e->out, truth->s1_s, truth->n_s1, ";");
    write_spans(e->out, e->count.heart.count.quality.gaps,
                e->count.heart.count.quality.n_gaps);
    write_spans(e->out, e->count.heart.count.quality.unusable,
                e->count.heart.count.quality.n_unusable);
    (void)fputc('\n', e->out);
    return !ferror(e->out);
}
