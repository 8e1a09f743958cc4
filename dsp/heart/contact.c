#include "dsp/heart/contact.h"

#include "dsp/heart/unusable.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    SMOOTH_BEFORE = 3, /* frames: 150 ms in all, under a systole */
    SMOOTH_AFTER = 2,
    WINDOW = FM_CONTACT_WINDOW,
    WINDOWS_MAX = FM_CONTACT_WINDOWS_MAX,
    FAINT_MIN = 10, /* frames: 0.25 s */
    LOST_MIN = 40,  /* frames: 1 s */
    THUMP_MIN = 10, /* frames: 0.25 s */
    THUMP_REACH = 10,
    FULL_SHARE = 3 /* a frame under a third of which is left is no frame */
};

/* The usual quiet is the middle one of what is quietest in each window; faint is what lies so
 * far under it. Steady noise strays by a decibel over 150 ms (closed form); tuned on open
 * recordings and composed pauses: see contact.h. */
static const float FAINT_DB = 2.0f;
/* How far the usual quiet strays is from the middle down to the lower quarter of the windows that the
 * stretch is not in; so many times that is no usual quiet. Tuned on composed breathing. */
static const float STRAY_TIMES = 3.0f;
/* In a stretch without contact nothing stands out: its louder frames (85 of 100)
 * lie no further over its lower quarter. A quiet moment of a noisy recording has the heart in it. */
static const float FLAT_DB = 5.0f;
/* Far under, and contact comes back with a thump: within so many frames, so far over the loud
 * frames. A pause between words, between breaths or of a noise gate ends without one. */
static const float FAR_DB = 12.0f;
static const float THUMP_DB = 14.0f;
/* Ours, as the ones above; see contact.h. */
static const double MARGIN_S = 0.1;
static const double PEAK_REACH_S = 0.1;
static const double KNOWN_MIN_S = 3.0;
static const float UNDER_DB = 1.0f;
static const float UNDER_TIMES = 1.5f;
static const double FRAME_S = FM_CONTACT_FRAME / FM_WORK_RATE_HZ;
/* Nothing softer is a level: half of the last of 24 bits. */
static const double SILENCE = 1e-15;

static void measure_frames(const fm_segment *s, fm_contact *c)
{
    for (size_t k = 0; k < c->n; k++) {
        const float *x = s->x + k * FM_CONTACT_FRAME;
        double all = 0.0;
        double lifted = 0.0;
        for (size_t i = 1; i < FM_CONTACT_FRAME; i++) {
            const double step = (double)x[i] - (double)x[i - 1];
            all += (double)x[i] * (double)x[i];
            lifted += step * step;
        }
        const double at_s = c->start_s + (double)k * FRAME_S;
        const bool lost = fm_spans_touch(s->gaps, s->n_gaps, at_s, at_s + FRAME_S);
        const double n = FM_CONTACT_FRAME - 1;
        c->level_db[0][k] = lost ? NAN : (float)(10.0 * log10(all / n + SILENCE));
        c->level_db[1][k] = lost ? NAN : (float)(10.0 * log10(lifted / n + SILENCE));
    }
}

/* Mean of the decibels: one click moves it little. */
static void smooth(const float *level_db, size_t n, float *smooth_db)
{
    for (size_t k = 0; k < n; k++) {
        const size_t from = k > SMOOTH_BEFORE ? k - SMOOTH_BEFORE : 0;
        const size_t to = k + SMOOTH_AFTER < n ? k + SMOOTH_AFTER : n - 1;
        float sum = 0.0f;
        float m = 0.0f;
        for (size_t i = from; i <= to; i++) {
            if (!isnan(level_db[i])) {
                sum += level_db[i];
                m += 1.0f;
            }
        }
        smooth_db[k] = isnan(level_db[k]) ? NAN : sum / m;
    }
}

/* What is quietest in each window; NaN where there is little sound. */
static size_t quietest(const float *smooth_db, size_t n, float *least_db)
{
    size_t windows = 0;
    for (size_t from = 0; from + WINDOW <= n && windows < WINDOWS_MAX;
         from += WINDOW / 2) {
        float least = INFINITY;
        size_t sound = 0;
        for (size_t k = from; k < from + WINDOW; k++) {
            if (!isnan(smooth_db[k])) {
                least = fminf(least, smooth_db[k]);
                sound++;
            }
        }
        least_db[windows++] = FULL_SHARE * sound >= WINDOW ? least : NAN;
    }
    return windows;
}

/* Quantile of the windows' quiet, of those that frames first..end-1 are not in; NaN: none. */
static float quiet_quantile(
    const fm_contact *c, size_t colour, size_t first, size_t end, double q)
{
    float db[WINDOWS_MAX];
    size_t n = 0;
    for (size_t w = 0; w < c->n_windows; w++) {
        const size_t from = w * (WINDOW / 2);
        const bool apart = from >= end || from + WINDOW <= first;
        if (apart && !isnan(c->least_db[colour][w])) {
            db[n++] = c->least_db[colour][w];
        }
    }
    return n > 0 ? fm_quantile(db, n, q) : NAN;
}

/* Levels of frames from..to-1 that are known. */
static size_t take(const float *db, size_t from, size_t to, float *out)
{
    size_t n = 0;
    for (size_t k = from; k < to; k++) {
        if (!isnan(db[k])) {
            out[n++] = db[k];
        }
    }
    return n;
}

static bool faint_at(const fm_contact *c, size_t k)
{
    return c->smooth_db[0][k] < c->quiet_db[0] - FAINT_DB ||
           c->smooth_db[1][k] < c->quiet_db[1] - FAINT_DB;
}

/* Does the middle of frames first..end-1 lie further under the usual quiet than that strays? */
static bool under_all(const fm_contact *c, size_t first, size_t end)
{
    for (size_t i = 0; i < FM_CONTACT_COLOURS; i++) {
        float db[FM_CONTACT_FRAMES_MAX];
        const size_t n = take(c->smooth_db[i], first, end, db);
        const float strays_db = quiet_quantile(c, i, first, end, 0.5) -
                                quiet_quantile(c, i, first, end, 0.25);
        const float limit_db =
            fmaxf(FAINT_DB, STRAY_TIMES * strays_db); /* NaN: the other */
        if (n > 0 && fm_quantile(db, n, 0.5) < c->quiet_db[i] - limit_db) {
            return true;
        }
    }
    return false;
}

static void list_faint(fm_contact *c)
{
    size_t first = 0;
    for (size_t k = 0; k <= c->n; k++) {
        if (k < c->n && faint_at(c, k)) {
            continue;
        }
        if (k - first >= FAINT_MIN && c->n_faint < FM_SPANS_MAX &&
            under_all(c, first, k)) {
            fm_span *f = &c->faint[c->n_faint++];
            f->start_s = c->start_s + (double)first * FRAME_S;
            f->length_s = (double)(k - first) * FRAME_S;
            f->reason = FM_REASON_CONTACT_LOST;
        }
        first = k + 1;
    }
}

void fm_contact_measure(const fm_segment *s, fm_contact *out)
{
    memset(out, 0, sizeof(*out));
    out->n = s->n / FM_CONTACT_FRAME;
    out->n = out->n < FM_CONTACT_FRAMES_MAX ? out->n : FM_CONTACT_FRAMES_MAX;
    out->start_s = s->start_s;
    measure_frames(s, out);
    out->known = (double)out->n * FRAME_S >= KNOWN_MIN_S;
    for (size_t c = 0; c < FM_CONTACT_COLOURS; c++) {
        smooth(out->level_db[c], out->n, out->smooth_db[c]);
        out->n_windows = quietest(out->smooth_db[c], out->n, out->least_db[c]);
        out->quiet_db[c] = quiet_quantile(out, c, 0, 0, 0.5);
        out->known = out->known && !isnan(out->quiet_db[c]);
    }
    if (out->known) {
        list_faint(out);
    }
}

/* Frames of [from_s, to_s), inside the segment. */
static void frames_of(
    const fm_contact *c, double from_s, double to_s, size_t *from, size_t *to)
{
    const double first = fmax(0.0, ceil((from_s - c->start_s) / FRAME_S - 1e-6));
    const double end = floor((to_s - c->start_s) / FRAME_S + 1e-6);
    *from = first < (double)c->n ? (size_t)first : c->n;
    *to = end < (double)*from ? *from : (end < (double)c->n ? (size_t)end : c->n);
}

fm_contact_level fm_contact_level_of(const fm_contact *c, double from_s, double to_s)
{
    fm_contact_level out = {(double)NAN, 0.0, (double)NAN, (double)NAN};
    size_t from;
    size_t to;
    frames_of(c, from_s, to_s, &from, &to);
    for (size_t i = 0; c->known && i < FM_CONTACT_COLOURS; i++) {
        float db[FM_CONTACT_FRAMES_MAX];
        const size_t n = take(c->smooth_db[i], from, to, db);
        if (n == 0) {
            continue;
        }
        const float strays_db =
            quiet_quantile(c, i, from, to, 0.5) - quiet_quantile(c, i, from, to, 0.25);
        const float limit_db = fmaxf(UNDER_DB, UNDER_TIMES * strays_db);
        size_t under = 0;
        for (size_t k = 0; k < n; k++) {
            under += db[k] < c->quiet_db[i] - limit_db ? 1 : 0;
        }
        const float middle_db = fm_quantile(db, n, 0.5);
        const float over_db = middle_db - quiet_quantile(c, i, from, to, 0.9);
        const float under_db = quiet_quantile(c, i, from, to, 0.1) - middle_db;
        const double wavers_db =
            (double)(fm_quantile(db, n, 0.9) - fm_quantile(db, n, 0.1));
        /* fmin and fmax of NaN and a number are the number */
        out.off_db = fmin(out.off_db, (double)(middle_db - c->quiet_db[i]));
        out.changed_db =
            fmax(out.changed_db, (double)fmaxf(0.0f, fmaxf(over_db, under_db)));
        out.wavers_db = fmax(out.wavers_db, wavers_db);
        out.under_share = fmax(out.under_share, (double)under / (double)n);
    }
    return out;
}

double fm_contact_least_db(const fm_contact *c, double from_s, double to_s)
{
    size_t from;
    size_t to;
    frames_of(c, from_s, to_s, &from, &to);
    const float louder_db = quiet_quantile(c, 0, from, to, 0.9);
    double least_db = (double)NAN;
    for (size_t k = from; k < to; k++) {
        least_db = fmin(least_db, (double)(c->smooth_db[0][k] - louder_db));
    }
    return least_db;
}

double fm_contact_peak_db(const fm_contact *c, double time_s)
{
    size_t from;
    size_t to;
    frames_of(c, time_s - PEAK_REACH_S, time_s + PEAK_REACH_S, &from, &to);
    double peak_db = (double)NAN;
    for (size_t k = from; k < to; k++) {
        peak_db = fmax(peak_db, (double)c->level_db[0][k]); /* NaN gives the other */
    }
    return peak_db;
}

double fm_contact_faint_s(const fm_contact *c, double from_s, double to_s)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < c->n_faint; i++) {
        sum_s += fm_span_overlap_s(&c->faint[i], from_s, to_s);
    }
    return sum_s;
}

void fm_contact_add_gap(fm_quality *q, double from_s, double to_s, fm_reason reason)
{
    double longest_s = to_s - from_s;
    size_t kept = 0;
    for (size_t i = 0; i < q->n_gaps; i++) {
        const fm_span gap = q->gaps[i];
        const double end_s = gap.start_s + gap.length_s;
        if (gap.start_s <= to_s && end_s >= from_s) {
            from_s = fmin(from_s, gap.start_s);
            to_s = fmax(to_s, end_s);
            reason = gap.length_s > longest_s ? gap.reason : reason;
            longest_s = fmax(longest_s, gap.length_s);
        } else {
            q->gaps[kept++] = gap;
        }
    }
    if (kept == FM_SPANS_MAX) { /* no lost second is ever called sound */
        kept--;
        from_s = fmin(from_s, q->gaps[kept].start_s);
        to_s = fmax(to_s, q->gaps[kept].start_s + q->gaps[kept].length_s);
    }
    size_t at = kept;
    while (at > 0 && q->gaps[at - 1].start_s > from_s) {
        q->gaps[at] = q->gaps[at - 1];
        at--;
    }
    q->gaps[at].start_s = from_s;
    q->gaps[at].length_s = to_s - from_s;
    q->gaps[at].reason = reason;
    q->n_gaps = kept + 1;
}

/* Does the loudest of what comes right behind strike far over the segment's loud frames? */
static bool thump_at(const fm_contact *c, size_t k, float loud_db)
{
    for (size_t i = k; i < c->n && i < k + THUMP_REACH; i++) {
        if (c->level_db[0][i] >= loud_db + THUMP_DB) {
            return true;
        }
    }
    return false;
}

/* Is a faint stretch a loss by itself? */
static bool is_lost(const fm_contact *c, const fm_span *faint, float loud_db)
{
    size_t from;
    size_t to;
    float db[FM_CONTACT_FRAMES_MAX];
    frames_of(c, faint->start_s, faint->start_s + faint->length_s, &from, &to);
    const size_t n = take(c->smooth_db[0], from, to, db);
    if (n == 0) {
        return false;
    }
    const float middle_db = fm_quantile(db, n, 0.5);
    if (n >= THUMP_MIN && middle_db < c->quiet_db[0] - FAR_DB &&
        thump_at(c, to, loud_db)) {
        return true;
    }
    return n >= LOST_MIN &&
           fm_quantile(db, n, 0.85) - fm_quantile(db, n, 0.25) < FLAT_DB;
}

size_t fm_contact_find(const fm_contact *c, const fm_segment *s, fm_quality *q)
{
    float db[FM_CONTACT_FRAMES_MAX];
    const size_t n = take(c->level_db[0], 0, c->n, db);
    const float loud_db = n > 0 ? fm_quantile(db, n, 0.9) : 0.0f;
    size_t found = 0;
    for (size_t i = 0; i < c->n_faint; i++) {
        const fm_span *faint = &c->faint[i];
        const double from_s = fmax(s->window_start_s, faint->start_s);
        const double to_s = fmin(s->window_end_s, faint->start_s + faint->length_s);
        if (to_s > from_s && is_lost(c, faint, loud_db) &&
            !fm_spans_touch(s->gaps, s->n_gaps, from_s - MARGIN_S, to_s + MARGIN_S)) {
            fm_contact_add_gap(q, from_s, to_s, FM_REASON_CONTACT_LOST);
            found++;
        }
    }
    return found;
}
