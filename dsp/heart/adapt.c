#include "dsp/heart/adapt.h"

#include "dsp/signal/peaks.h"

#include <math.h>
#include <stdint.h>

enum {
    NEITHER = 0,
    S1 = 1,
    S2 = 2,
    CLASSES = 3,
    LEARN_MIN = 6 /* sounds of a class before anything is learned from it */
};

/* The numbers overlap in what they say, so their sum counts for less than itself; and no
 * candidate is moved by more than this. Tuned on composed and open heart data, where a trust
 * of 0.1 to 0.2 did alike, none lost faint beats and 0.35 kept the errors of a first path. */
static const float TRUST = 0.15f;
static const float MOVE_LIMIT = 4.0f;
/* A spread is never taken for smaller than this (levels are about 1 at a loud sound). */
static const float SD_MIN = 0.12f;

/* Mean level of bands [low, high) over three frames. */
static float level_of(const fm_features *f, size_t low, size_t high, size_t frame)
{
    float sum = 0.0f;
    for (size_t b = low; b < high; b++) {
        for (int d = -1; d <= 1; d++) {
            const long k = (long)frame + d;
            const size_t at = k < 0 ? 0 : (size_t)k;
            sum += f->level[b][at < f->n_frames ? at : f->n_frames - 1];
        }
    }
    return sum / (3.0f * (float)(high - low));
}

static void describe(const fm_features *f, const fm_candidate *c, float *numbers)
{
    numbers[0] = c->height;
    numbers[1] = c->prominence;
    numbers[2] = level_of(f, 0, 1, c->frame);
    numbers[3] = level_of(f, 1, 3, c->frame);
    numbers[4] = level_of(f, 3, 5, c->frame);
    numbers[5] = level_of(f, 5, 6, c->frame);
}

static void label(const fm_path *path, size_t n, uint8_t *class_of)
{
    for (size_t i = 0; i < n; i++) {
        class_of[i] = NEITHER;
    }
    for (size_t i = 0; i < path->n; i++) {
        class_of[path->index[i]] = path->is_s2[i] ? S2 : S1;
    }
}

/* Median and scaled median deviation, so that a few wrong labels teach nothing. */
static void learn(const fm_features *f,
                  const fm_candidate *c,
                  size_t n,
                  const uint8_t *class_of,
                  uint8_t which,
                  fm_class_statistics *out)
{
    float values[FM_CANDIDATES_MAX];
    for (size_t k = 0; k < FM_CLASS_NUMBERS; k++) {
        size_t count = 0;
        for (size_t i = 0; i < n; i++) {
            if (class_of[i] == which) {
                float numbers[FM_CLASS_NUMBERS];
                describe(f, &c[i], numbers);
                values[count++] = numbers[k];
            }
        }
        out->n = count;
        if (count == 0) {
            return;
        }
        out->mean[k] = fm_quantile(values, count, 0.5);
        const float sd = (float)fm_spread_about(values, count, out->mean[k]);
        out->sd[k] = sd > SD_MIN ? sd : SD_MIN;
    }
}

/* Log density with tails no steeper than three deviations' worth. */
static float log_density(const fm_class_statistics *v, const float *numbers)
{
    float sum = 0.0f;
    for (size_t k = 0; k < FM_CLASS_NUMBERS; k++) {
        const float z = fabsf(numbers[k] - v->mean[k]) / v->sd[k];
        sum -= logf(v->sd[k]) + (z < 3.0f ? 0.5f * z * z : 4.5f + (z - 3.0f));
    }
    return sum;
}

static float moved(float score, float by)
{
    by *= TRUST;
    return score +
           (by > MOVE_LIMIT ? MOVE_LIMIT : (by < -MOVE_LIMIT ? -MOVE_LIMIT : by));
}

void fm_adapt_scores(const fm_features *f,
                     const fm_candidate *first,
                     size_t n,
                     const fm_path *path,
                     fm_candidate *second)
{
    uint8_t class_of[FM_CANDIDATES_MAX];
    fm_class_statistics of_class[CLASSES];
    label(path, n, class_of);
    for (unsigned k = 0; k < CLASSES; k++) {
        learn(f, first, n, class_of, (uint8_t)k, &of_class[k]);
    }
    for (size_t i = 0; i < n; i++) {
        second[i] = first[i];
        float numbers[FM_CLASS_NUMBERS];
        describe(f, &first[i], numbers);
        if (of_class[NEITHER].n < LEARN_MIN) {
            continue;
        }
        const float other = log_density(&of_class[NEITHER], numbers);
        if (of_class[S1].n >= LEARN_MIN) {
            second[i].score_s1 =
                moved(first[i].score_s1, log_density(&of_class[S1], numbers) - other);
        }
        if (of_class[S2].n >= LEARN_MIN) {
            second[i].score_s2 =
                moved(first[i].score_s2, log_density(&of_class[S2], numbers) - other);
        }
    }
}
