/*
 * What one interval is beside its neighbours.
 */
#include "dsp/rhythm/rhythm_private.h"

#include "dsp/constants.h"

#include <math.h>

enum {
    NEIGHBOURS = 5,    /* each side: the HRT filter rule takes the last five */
    END_NEIGHBOURS = 3 /* at an end; ours */
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

/* Early by so much at least: a beat badly timed in noise lies up to 50 ms off (seen on
 * composed recordings with friction), which is 15 % of an interval at 180 a minute. */
static const double EARLY_LEAST_S = 0.060;
static const double EARLY_SOFT_LEAST_S = 0.080;

/* Softer: 0.85 to 0.90 is used for atrial early beats (from memory); only where the next
 * interval is drawn out by as much, so that a modulation or jitter does not pass for one. */
static const double EARLY_SOFT = 0.88;
static const double AFTER_SOFT = 1.08;
static const double SOFT_SPREAD = 0.03; /* widest base for it; ours */

/* A pause is FM_PAUSE_INTERVALS long, or 2 s and longer, as long-term recordings list it (from
 * memory), where that is late for this heart. */
static const double PAUSE_S = 2.0;

/* A gap that is no longer than a usual interval at 80 a minute is called late, no pause: at
 * a fast rate a beat that was not heard looks just so. Ours. */
static const double PAUSE_LEAST_S = 0.75;

/* Two halves of one interval, or two run into one: a beat the decoder added or missed. */
static const double WHOLE_NEAR = 0.12;  /* ours */
static const double AFTER_EARLY = 1.05; /* ours: the interval is drawn out at all */

/* May interval k tell what is expected at i? Only a sure one of the same level. */
static bool tells(const fm_rhythm_series *s, size_t k, size_t i, bool doubtful_too)
{
    return s->beat[k].level == s->beat[i].level &&
           (doubtful_too || !s->beat[k].doubtful);
}

/* The nearest intervals that tell what to expect at i, up to NEIGHBOURS each side; at an
 * end only the nearest three, so that a slow change does not look like an event. Returns
 * how many. */
static size_t take_near(const fm_rhythm_series *s,
                        size_t i,
                        bool doubtful_too,
                        double *x)
{
    double before_s[NEIGHBOURS] = {0};
    double after_s[NEIGHBOURS] = {0};
    size_t before = 0;
    size_t after = 0;
    for (size_t k = i; k > 0 && before < NEIGHBOURS; k--) {
        if (tells(s, k - 1, i, doubtful_too)) {
            before_s[before++] = s->beat[k - 1].length_s;
        }
    }
    for (size_t k = i + 1; k < s->n && after < NEIGHBOURS; k++) {
        if (tells(s, k, i, doubtful_too)) {
            after_s[after++] = s->beat[k].length_s;
        }
    }
    if (before < 2 && after == NEIGHBOURS) {
        before = 0;
        after = END_NEIGHBOURS;
    } else if (after < 2 && before == NEIGHBOURS) {
        after = 0;
        before = END_NEIGHBOURS;
    }
    for (size_t k = 0; k < before; k++) {
        x[k] = before_s[k];
    }
    for (size_t k = 0; k < after; k++) {
        x[before + k] = after_s[k];
    }
    return before + after;
}

void fm_rhythm_set_base(fm_rhythm_series *series)
{
    for (size_t i = 0; i < series->n; i++) {
        double x[2 * NEIGHBOURS];
        size_t n = take_near(series, i, false, x);
        n = n < END_NEIGHBOURS ? take_near(series, i, true, x) : n;
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
    return series->n == 0 ? 0.0 : FM_MAD_TO_SD * fm_rhythm_median(off, series->n);
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
    if ((ratio >= FM_PAUSE_INTERVALS && b->length_s >= PAUSE_LEAST_S) ||
        (ratio >= LATE && b->length_s >= PAUSE_S)) {
        return FM_INTERVAL_PAUSE;
    }
    if (ratio >= fmax(LATE, 1.0 + wide)) {
        return FM_INTERVAL_LATE;
    }
    const double early_s = b->base_s - b->length_s;
    if (ratio <= fmin(EARLY, 1.0 - wide) && early_s >= EARLY_LEAST_S) {
        return FM_INTERVAL_EARLY;
    }
    if (spread <= SOFT_SPREAD && ratio <= EARLY_SOFT && early_s >= EARLY_SOFT_LEAST_S &&
        next_follows(s, i) &&
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
