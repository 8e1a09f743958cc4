/*
 * What one interval is beside its neighbours.
 */
#include "dsp/rhythm_private.h"

#include <math.h>

enum {
    NEIGHBOURS = 5 /* each side: the HRT filter rule takes the last five */
};

/* HRT filter rule (librasch.org/hrt): a beat is early when its interval is >= 20 % under
 * the mean of the last five, and its pause counts from 20 % over. We take the median of
 * five on either side, which an early beat among them does not move. */
static const double EARLY = 0.80;
static const double LATE = 1.20;

/* Where the base itself is wider (timing errors at a fast rate), so many robust SDs are
 * asked, to a limit: ours. */
static const double EVENT_SPREADS = 3.5;
static const double EVENT_WIDEST = 0.30;

/* Softer: 0.85 to 0.90 is used for atrial early beats (from memory); only where the next
 * interval is drawn out by as much, so that a swing or jitter does not pass for one. */
static const double EARLY_SOFT = 0.88;
static const double AFTER_SOFT = 1.08;
static const double SOFT_SPREAD = 0.03; /* widest base for it; ours */

static const double MAD_TO_SD = 1.4826; /* of a normal distribution */

/* A pause: a dropped beat leaves 1.85 to 2 basic intervals (EVIDENCE 3.5 trace 1920 after
 * 1040 ms); 1.4 is halfway on a ratio scale. Or 2 s and longer, as long-term recordings
 * list it (from memory), where that is late for this heart. */
static const double PAUSE = 1.40;
static const double PAUSE_S = 2.0;

/* Two halves of one interval, or two run into one: a beat the decoder added or missed. */
static const double WHOLE_NEAR = 0.12;  /* ours */
static const double AFTER_EARLY = 1.05; /* ours: the interval is drawn out at all */

/* Up to `most` nearest intervals of the same level before i; returns how many. */
static size_t take_before(const fm_rhythm_series *s, size_t i, size_t most, double *x)
{
    size_t n = 0;
    for (size_t k = i; k > 0 && n < most; k--) {
        if (s->beat[k - 1].level == s->beat[i].level) {
            x[n++] = s->beat[k - 1].length_s;
        }
    }
    return n;
}

static size_t take_after(const fm_rhythm_series *s, size_t i, size_t most, double *x)
{
    size_t n = 0;
    for (size_t k = i + 1; k < s->n && n < most; k++) {
        if (s->beat[k].level == s->beat[i].level) {
            x[n++] = s->beat[k].length_s;
        }
    }
    return n;
}

/* At an end only the nearest three, so that a slow change does not look like an event. */
void fm_rhythm_set_base(fm_rhythm_series *series)
{
    for (size_t i = 0; i < series->n; i++) {
        double near_s[2 * NEIGHBOURS];
        const size_t before = take_before(series, i, NEIGHBOURS, near_s);
        const size_t after = take_after(series, i, NEIGHBOURS, near_s + before);
        const double *from = near_s;
        size_t n = before + after;
        if (before < 2 && after >= NEIGHBOURS) {
            from = near_s + before;
            n = 3;
        } else if (after < 2 && before >= NEIGHBOURS) {
            n = 3;
        }
        double x[2 * NEIGHBOURS];
        for (size_t k = 0; k < n; k++) {
            x[k] = from[k];
        }
        series->beat[i].base_s =
            n == 0 ? series->beat[i].length_s : fm_rhythm_median(x, n);
    }
}

double fm_rhythm_spread(const fm_rhythm_series *series)
{
    double off[FM_BEATS_MAX];
    for (size_t i = 0; i < series->n; i++) {
        off[i] = fabs(series->beat[i].length_s / series->beat[i].base_s - 1.0);
    }
    return series->n == 0 ? 0.0 : MAD_TO_SD * fm_rhythm_median(off, series->n);
}

static bool next_follows(const fm_rhythm_series *s, size_t i)
{
    return i + 1 < s->n && s->beat[i + 1].follows;
}

/* The interval against what was expected, without its neighbours' kinds. `spread` is the
 * base's robust SD. */
static fm_interval_kind kind_alone(const fm_rhythm_series *s, size_t i, double spread)
{
    const fm_rhythm_beat *b = &s->beat[i];
    const double ratio = b->length_s / b->base_s;
    const double wide = fmin(EVENT_SPREADS * spread, EVENT_WIDEST);
    if (ratio >= PAUSE || (b->length_s >= PAUSE_S && ratio >= LATE)) {
        return FM_INTERVAL_PAUSE;
    }
    if (ratio >= fmax(LATE, 1.0 + wide)) {
        return FM_INTERVAL_LATE;
    }
    if (ratio <= fmin(EARLY, 1.0 - wide)) {
        return FM_INTERVAL_EARLY;
    }
    if (spread <= SOFT_SPREAD && ratio <= EARLY_SOFT && next_follows(s, i) &&
        s->beat[i + 1].length_s / s->beat[i + 1].base_s >= AFTER_SOFT) {
        return FM_INTERVAL_EARLY;
    }
    return FM_INTERVAL_EXPECTED;
}

/* Two short intervals that make one: an added beat, when that beat is not sure. */
static bool halves(const fm_rhythm_series *s, size_t i)
{
    if (!next_follows(s, i)) {
        return false;
    }
    const fm_rhythm_beat *a = &s->beat[i];
    const fm_rhythm_beat *b = &s->beat[i + 1];
    return a->doubtful && b->doubtful &&
           fabs((a->length_s + b->length_s) / a->base_s - 1.0) <= WHOLE_NEAR;
}

void fm_rhythm_name_kinds(fm_rhythm_series *series)
{
    const double spread = fm_rhythm_spread(series);
    for (size_t i = 0; i < series->n; i++) {
        series->beat[i].kind = kind_alone(series, i, spread);
    }
    for (size_t i = 0; i < series->n; i++) {
        fm_rhythm_beat *b = &series->beat[i];
        if (halves(series, i)) {
            b->kind = FM_INTERVAL_UNSURE;
            series->beat[i + 1].kind = FM_INTERVAL_UNSURE;
            i++;
        } else if (b->doubtful && b->kind != FM_INTERVAL_EXPECTED) {
            b->kind = FM_INTERVAL_UNSURE;
        } else if (i > 0 && b->follows &&
                   series->beat[i - 1].kind == FM_INTERVAL_EARLY &&
                   b->kind != FM_INTERVAL_EARLY &&
                   b->length_s >= AFTER_EARLY * b->base_s) {
            b->kind = FM_INTERVAL_AFTER_EARLY;
        }
    }
}
