/*
 * Invented minutes for the tests of pictures, and the comparison with golden files.
 * All data here is made up by formula; no recording, no person.
 *
 * FM_WRITE_GOLDEN=1 writes the golden files again instead of comparing; look at every
 * one of them before committing it.
 */
#ifndef TESTS_SRC_CHART_SUPPORT_H
#define TESTS_SRC_CHART_SUPPORT_H

#include "tests/support.h"

#include "dsp/compare/compare.h"
#include "dsp/compare/taps.h"
#include "dsp/result.h"
#include "src/picture/svg.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A small repeatable unevenness, -1..1, without a random number. */
static inline double wobble(size_t i)
{
    return sin(1.7 * (double)i) * cos(0.6 * (double)i);
}

static inline fm_count *minute_create(double start_s, double end_s)
{
    fm_count *c = calloc(1, sizeof *c);
    assert_non_null(c);
    c->heart.count.window = (fm_window){start_s, end_s, end_s - start_s >= 60.0};
    c->heart.count.status = FM_COUNTED;
    c->heart.count.confidence = 0.99;
    c->heart.count.usable_s = end_s - start_s;
    c->rhythm.pattern = FM_PATTERN_REGULAR;
    c->heart.count.quality.overall = 0.9;
    return c;
}

static inline void minute_add_beat(fm_count *c, double t_s, float sureness)
{
    assert_true(c->heart.count.n < FM_BEATS_MAX);
    c->heart.count.onsets_s[c->heart.count.n] = t_s;
    c->heart.s1_sureness[c->heart.count.n] = sureness;
    c->heart.count.n++;
}

/* Intervals between the beats there are, except across a gap; count and rate. */
static inline void minute_finish(fm_count *c)
{
    fm_heart *h = &c->heart;
    fm_rhythm *r = &c->rhythm;
    for (size_t i = 0; i + 1 < h->count.n; i++) {
        bool across = false;
        for (size_t g = 0; g < c->heart.count.quality.n_gaps; g++) {
            const double middle_s = c->heart.count.quality.gaps[g].start_s +
                                    c->heart.count.quality.gaps[g].length_s / 2.0;
            across = across || (h->count.onsets_s[i] < middle_s &&
                                h->count.onsets_s[i + 1] > middle_s);
        }
        if (!across) {
            r->intervals[r->n_intervals++] = (fm_interval){
                h->count.onsets_s[i], h->count.onsets_s[i + 1] - h->count.onsets_s[i],
                FM_INTERVAL_EXPECTED};
        }
    }
    h->count.rate_per_min =
        h->count.n < 2 ? (double)NAN
                       : 60.0 * (double)(h->count.n - 1) /
                             (h->count.onsets_s[h->count.n - 1] - h->count.onsets_s[0]);
    if (c->heart.count.window.full_minute) {
        h->count.rate_per_min = (double)h->count.n;
    }
    h->count.rate_low_per_min = h->count.rate_per_min - 1.0;
    h->count.rate_high_per_min = h->count.rate_per_min + 1.0;
}

/* 72 a minute, even but for a little wobble. */
static inline fm_count *minute_steady(void)
{
    fm_count *c = minute_create(0.0, 60.0);
    for (size_t i = 0; i < 72; i++) {
        const double t_s = 0.31 + (double)i * 60.0 / 72.0 + 0.012 * wobble(i);
        minute_add_beat(c, t_s, 0.9F);
    }
    minute_finish(c);
    return c;
}

/* Steady at 71, with three early beats, a pause, and some S1 that are less sure. */
static inline fm_count *minute_irregular(void)
{
    static const struct {
        size_t beat;
        double factor;
        fm_interval_kind kind;
    } uneven[] = {
        {17, 0.58, FM_INTERVAL_EARLY},       {18, 1.40, FM_INTERVAL_AFTER_EARLY},
        {30, 2.10, FM_INTERVAL_PAUSE},       {42, 0.56, FM_INTERVAL_EARLY},
        {43, 1.42, FM_INTERVAL_AFTER_EARLY}, {53, 0.60, FM_INTERVAL_EARLY},
        {54, 1.38, FM_INTERVAL_AFTER_EARLY}, {61, 1.25, FM_INTERVAL_LATE},
    };
    fm_count *c = minute_create(0.0, 60.0);
    double t_s = 0.42;
    size_t next = 0;
    for (size_t i = 0; t_s < 60.0; i++) {
        minute_add_beat(c, t_s, i % 13 == 7 ? 0.3F : 0.85F);
        double length_s = 0.835 + 0.02 * wobble(i);
        if (next < sizeof uneven / sizeof uneven[0] && uneven[next].beat == i) {
            length_s *= uneven[next++].factor;
        }
        t_s += length_s;
    }
    minute_finish(c);
    for (size_t k = 0; k < sizeof uneven / sizeof uneven[0]; k++) {
        c->rhythm.intervals[uneven[k].beat].kind = uneven[k].kind;
    }
    c->rhythm.pattern = FM_PATTERN_OCCASIONALLY_IRREGULAR;
    c->rhythm.n_findings = 2;
    c->rhythm.findings[0] = (fm_finding){.kind = FM_FINDING_EARLY_BEATS, .count = 3};
    c->rhythm.findings[1] = (fm_finding){.kind = FM_FINDING_PAUSES, .count = 1};
    return c;
}

/* Fast and irregular throughout: most intervals flagged, letters crowd. */
static inline fm_count *minute_crowded(void)
{
    fm_count *c = minute_create(0.0, 60.0);
    double t_s = 0.2;
    for (size_t i = 0; t_s < 60.0; i++) {
        minute_add_beat(c, t_s, 0.8F);
        t_s += 0.47 * (1.0 + 0.35 * wobble(i + 3));
    }
    minute_finish(c);
    for (size_t i = 0; i < c->rhythm.n_intervals; i++) {
        fm_interval *v = &c->rhythm.intervals[i];
        if (v->length_s < 0.40) {
            v->kind = FM_INTERVAL_EARLY;
        } else if (v->length_s > 0.54) {
            v->kind = FM_INTERVAL_LATE;
        }
    }
    c->rhythm.pattern = FM_PATTERN_OCCASIONALLY_IRREGULAR;
    return c;
}

/* Seconds 120 to 165 of a longer recording, audio lost and sound unusable in it. */
static inline fm_count *minute_with_gap(void)
{
    fm_count *c = minute_create(120.0, 165.0);
    c->heart.count.quality.n_gaps = 1;
    c->heart.count.quality.gaps[0] = (fm_span){131.2, 3.4, FM_REASON_GAP};
    c->heart.count.quality.n_unusable = 1;
    c->heart.count.quality.unusable[0] = (fm_span){150.5, 5.0, FM_REASON_FRICTION};
    for (size_t i = 0; i < 49; i++) {
        const double t_s = 120.5 + 0.91 * (double)i + 0.015 * wobble(i);
        const bool lost = t_s > 131.1 && t_s < 134.7;
        const bool noisy = t_s > 150.4 && t_s < 155.6;
        if (!lost && !noisy && t_s < 165.0) {
            minute_add_beat(c, t_s, 0.8F);
        }
    }
    minute_finish(c);
    for (size_t i = 0; i < c->rhythm.n_intervals; i++) {
        if (c->rhythm.intervals[i].length_s > 1.5) {
            c->rhythm.intervals[i].kind = FM_INTERVAL_UNSURE;
        }
    }
    c->heart.count.status = FM_CAUTION;
    c->heart.count.reason = FM_REASON_FRICTION;
    c->heart.count.reason_span = c->heart.count.quality.unusable[0];
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    return c;
}

static inline fm_count *minute_refused(void)
{
    fm_count *c = minute_steady();
    c->heart.count.status = FM_REFUSED;
    c->heart.count.reason = FM_REASON_FRICTION;
    c->heart.count.reason_span = (fm_span){12.0, 31.0, FM_REASON_FRICTION};
    c->heart.count.rate_per_min = (double)NAN;
    c->heart.count.rate_low_per_min = (double)NAN;
    c->heart.count.rate_high_per_min = (double)NAN;
    c->heart.count.window.full_minute = false;
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    c->heart.count.quality.n_unusable = 1;
    c->heart.count.quality.unusable[0] = c->heart.count.reason_span;
    return c;
}

/* A learner's taps on a minute: late by a fifth of a second, some missed, one extra. */
static inline fm_taps *taps_on(const fm_count *c)
{
    fm_taps *t = calloc(1, sizeof *t);
    assert_non_null(t);
    for (size_t i = 0; i < c->heart.count.n; i++) {
        const double beat_s = c->heart.count.onsets_s[i];
        if (i == 18 || i == 43 || i == 48 || i == 49) {
            t->not_tapped_s[t->n_not_tapped++] = beat_s;
        } else {
            t->matched[t->n_matched++] =
                (fm_tap_pair){beat_s, beat_s + 0.20 + 0.04 * wobble(i + 5)};
        }
    }
    t->extra_s[t->n_extra++] = 32.9;
    t->n_taps = t->n_matched + t->n_extra;
    t->lag_known = true;
    t->lag_s = 0.20;
    t->lag_sd_s = 0.03;
    t->lost_from_s = (double)NAN;
    t->lost_until_s = (double)NAN;
    return t;
}

static inline char *read_whole(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return NULL;
    }
    char *text = NULL;
    long size = -1;
    if (fseek(file, 0, SEEK_END) == 0) {
        size = ftell(file);
    }
    if (size >= 0 && fseek(file, 0, SEEK_SET) == 0) {
        text = calloc(1, (size_t)size + 1);
        if (text != NULL && fread(text, 1, (size_t)size, file) != (size_t)size) {
            free(text);
            text = NULL;
        }
    }
    (void)fclose(file);
    return text;
}

/* Fails, naming the first line that differs, unless text is the golden file. */
static inline void assert_golden(const char *name, const char *text)
{
    char path[512];
    assert_non_null(text);
    (void)snprintf(path, sizeof path, "%s/%s", TEST_DATA_DIR, name);
    const char *renew = getenv("FM_WRITE_GOLDEN");
    if (renew != NULL && strcmp(renew, "1") == 0) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
        assert_int_equal(fclose(file), 0);
        return;
    }
    char *golden = read_whole(path);
    if (golden == NULL) {
        fail_msg("%s cannot be read", path);
        return;
    }
    size_t at = 0;
    int line = 1;
    while (golden[at] != '\0' && golden[at] == text[at]) {
        line += golden[at] == '\n';
        at++;
    }
    if (golden[at] != text[at]) {
        fail_msg("%s differs in line %d: \"%.60s\", golden has \"%.60s\"", name, line,
                 text + at, golden + at);
    }
    free(golden);
}

/* How often part occurs in text. */
static inline size_t occurrences(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *p = strstr(text, part); p != NULL; p = strstr(p + 1, part)) {
        n++;
    }
    return n;
}

#endif
