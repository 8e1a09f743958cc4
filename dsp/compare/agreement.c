#include "dsp/compare/agreement.h"

#include "dsp/constants.h"

#include <math.h>
#include <stdlib.h>

/* Two-sided 95 % of a normal deviate. */
static const double NORMAL_95 = 1.959963984540054;

/* ln of n over k. */
static double log_choose(long k, long n)
{
    double sum = 0.0;
    for (long i = 0; i < k; i++) {
        sum += log((double)(n - i)) - log((double)(i + 1));
    }
    return sum;
}

/* P(X <= k) of a binomial with n trials of chance p, 0 < p < 1: from the term of k down,
 * each from the one above it, until the rest cannot be seen. */
static double binomial_at_most(long k, long n, double choose, double p)
{
    const double odds = (1.0 - p) / p;
    /* Terms beside the last one, so that none is too small to stand for itself. */
    double sum = 1.0;
    double term = 1.0;
    for (long i = k; i > 0; i--) {
        const double ratio = (double)i / (double)(n - i + 1) * odds;
        term *= ratio;
        if (!isfinite(term)) {
            return 1.0; /* k lies far above all that is likely */
        }
        sum += term;
        if (ratio < 1.0 && term < 1e-17 * sum) {
            break;
        }
    }
    return exp(choose + (double)k * log(p) + (double)(n - k) * log1p(-p) + log(sum));
}

/* The p for which P(X <= k) = target; the probability falls as p grows. */
static double solve_at_most(long k, long n, double target)
{
    const double choose = log_choose(k, n);
    double low = 0.0;
    double high = 1.0;
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (binomial_at_most(k, n, choose, mid) > target) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

fm_ends fm_share_exact_95(long k, long n)
{
    fm_ends s = {(double)NAN, (double)NAN};
    if (n > 0) {
        s.low = k <= 0 ? 0.0 : solve_at_most(k - 1, n, 0.975);
        s.high = k >= n ? 1.0 : solve_at_most(k, n, 0.025);
    }
    return s;
}

/*
 * P(|T| <= t) of Student's t with whole degrees of freedom, in closed form.
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4
 *         (from memory).
 */
static double student_inside(double t, size_t freedom)
{
    const double angle = atan(t / sqrt((double)freedom));
    const double cosine = cos(angle);
    const bool odd = freedom % 2 == 1;
    double term = odd ? cosine : 1.0;
    double sum = freedom > 1 ? term : 0.0;
    for (size_t k = odd ? 3 : 2; k + 1 < freedom; k += 2) {
        term *= cosine * cosine * (double)(k - 1) / (double)k;
        sum += term;
    }
    const double series = sin(angle) * sum;
    return odd ? 2.0 / FM_PI * (angle + series) : series;
}

double fm_student_95(size_t freedom)
{
    if (freedom == 0) {
        return (double)NAN;
    }
    double low = 0.0;
    double high = 13.0; /* 12.71 with one degree of freedom */
    if (freedom > 100000) {
        return NORMAL_95; /* they differ in the fifth decimal */
    }
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (student_inside(mid, freedom) < 0.95) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

static bool is_pair(const double *measured, const double *truth, size_t i)
{
    return isfinite(measured[i]) && isfinite(truth[i]);
}

fm_agreement fm_agreement_of(const double *measured, const double *truth, size_t n)
{
    fm_agreement a = {.bias = (double)NAN,
                      .sd = (double)NAN,
                      .bias_95 = {(double)NAN, (double)NAN},
                      .limits = {(double)NAN, (double)NAN},
                      .limit_margin = (double)NAN,
                      .mean_absolute = (double)NAN,
                      .worst_absolute = (double)NAN};
    double sum = 0.0;
    double absolute = 0.0;
    double worst = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (is_pair(measured, truth, i)) {
            const double d = measured[i] - truth[i];
            const double size = fabs(d);
            a.n++;
            sum += d;
            absolute += size;
            worst = size > worst ? size : worst;
            for (size_t k = 0; k < FM_AGREEMENT_WITHIN; k++) {
                a.within[k] += size <= (double)(k + 1);
            }
        }
    }
    if (a.n == 0) {
        return a;
    }
    const double count = (double)a.n;
    a.bias = sum / count;
    a.mean_absolute = absolute / count;
    a.worst_absolute = worst;
    if (a.n < 2) {
        return a;
    }
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (is_pair(measured, truth, i)) {
            const double off = measured[i] - truth[i] - a.bias;
            squares += off * off;
        }
    }
    a.sd = sqrt(squares / (count - 1.0));
    const double t = fm_student_95(a.n - 1);
    const double margin = t * a.sd / sqrt(count);
    a.bias_95 = (fm_ends){a.bias - margin, a.bias + margin};
    if (a.n >= FM_LIMITS_LEAST) {
        a.limits = (fm_ends){a.bias - NORMAL_95 * a.sd, a.bias + NORMAL_95 * a.sd};
        a.limit_margin = t * a.sd * sqrt(3.0 / count);
    }
    return a;
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

void fm_sort_ascending(double *v, size_t n)
{
    if (n > 1) {
        qsort(v, n, sizeof *v, compare_doubles);
    }
}

double fm_sorted_quantile(const double *v, size_t n, double q)
{
    if (n == 0) {
        return (double)NAN;
    }
    const double at = q * (double)(n - 1);
    const size_t i = (size_t)at;
    return i + 1 < n ? v[i] + (at - (double)i) * (v[i + 1] - v[i]) : v[n - 1];
}

double fm_mean(const double *v, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += v[i];
    }
    return n > 0 ? sum / (double)n : (double)NAN;
}

static int compare_forecasts(const void *a, const void *b)
{
    const double x = ((const fm_forecast *)a)->confidence;
    const double y = ((const fm_forecast *)b)->confidence;
    return (x > y) - (x < y);
}

fm_calibration_bin fm_calibration_bin_of(const fm_forecast *f, size_t n, size_t index)
{
    const size_t first = n * index / FM_CALIBRATION_BINS;
    const size_t last = n * (index + 1) / FM_CALIBRATION_BINS;
    fm_calibration_bin b = {.n = last - first};
    for (size_t i = first; i < last; i++) {
        b.confidence += f[i].confidence / (double)b.n;
        b.right += f[i].right ? 1.0 / (double)b.n : 0.0;
    }
    if (b.n > 0) {
        b.low = f[first].confidence;
        b.high = f[last - 1].confidence;
    }
    return b;
}

/* Mean rank of the right ones gives the area; equal confidences share a rank. */
static double area_of(const fm_forecast *f, size_t n, size_t n_right)
{
    const size_t n_wrong = n - n_right;
    if (n_right == 0 || n_wrong == 0) {
        return (double)NAN;
    }
    double ranks = 0.0;
    for (size_t i = 0; i < n;) {
        size_t j = i;
        size_t right = 0;
        while (j < n && !(f[j].confidence > f[i].confidence)) {
            right += f[j].right;
            j++;
        }
        ranks += (double)right * 0.5 * (double)(i + 1 + j);
        i = j;
    }
    const double r = (double)n_right;
    return (ranks - 0.5 * r * (r + 1.0)) / (r * (double)n_wrong);
}

fm_calibration fm_calibration_of(fm_forecast *f, size_t n)
{
    fm_calibration c = {(double)NAN, (double)NAN, (double)NAN, (double)NAN,
                        (double)NAN};
    if (n == 0) {
        return c;
    }
    qsort(f, n, sizeof *f, compare_forecasts);
    size_t n_right = 0;
    double brier = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double d = f[i].confidence - (f[i].right ? 1.0 : 0.0);
        n_right += f[i].right;
        brier += d * d;
    }
    c.share_right = (double)n_right / (double)n;
    c.brier = brier / (double)n;
    c.brier_constant = c.share_right * (1.0 - c.share_right);
    c.area = area_of(f, n, n_right);
    c.expected_error = 0.0;
    for (size_t i = 0; i < FM_CALIBRATION_BINS; i++) {
        const fm_calibration_bin b = fm_calibration_bin_of(f, n, i);
        c.expected_error += (double)b.n / (double)n * fabs(b.confidence - b.right);
    }
    return c;
}
