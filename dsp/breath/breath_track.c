#include "dsp/breath/breath_track.h"

#include "dsp/constants.h"
#include "dsp/signal/lanes.h"

#include <math.h>

enum {
    FOUR = 4 /* phases side by side */
};

/* Cost (natural log) of standing still against going on. With that of skipping a phase a
 * cycle of twelve steps varies by about a sixth, as breathing does (median coefficient of
 * variation 6 %, upper quartile 13 % in the open respiratory cycles). */
static const float STAY_COST = 1.5f;
static const float SKIP_COST = 1.5f;
/* An observation farther off than three deviations tells no more than one that far: half of nine. This
 * and the next are ours. */
static const float FAR = 4.5f;
/* The same in the quietest phase: breath may be held there, and is between breaths. */
static const float REST_COST = 0.4f;
/* A model never explains more than this share of a channel's variance. */
static const double RESIDUE_MIN = 0.05;
/* Observations of the mean that each phase starts with, against chance. */
static const double SHRINK = 1.0;
/* One channel in steps of a phase. */
static void make_channel(const fm_breath_series *s, int c, fm_track_frames *f)
{
    const bool sound = c < FM_BREATH_SOUND_CHANNELS;
    const double share = 1.0 / (f->step_s * FM_FRAME_RATE_HZ);
    double total = 0.0;
    double sum = 0.0;
    double square = 0.0;
    size_t n_observed = 0;
    f->square[c] = 0.0;
    for (size_t i = 0; i < f->n; i++) {
        const size_t first = f->edge[i];
        const size_t last = f->edge[i + 1];
        const double w = s->weight[c][last] - s->weight[c][first];
        const double v = w > 0.0 ? (s->sum[c][last] - s->sum[c][first]) / w : 0.0;
        const double counts = sound ? w * share : w;
        f->value[c][i] = (float)v;
        f->weight[c][i] = (float)counts;
        f->square[c] +=
            (double)f->weight[c][i] * (double)f->value[c][i] * (double)f->value[c][i];
        if (!sound) {
            f->observed[c - FM_BREATH_SOUND_CHANNELS][n_observed] = (uint16_t)i;
            n_observed += counts > 0.0 ? 1 : 0;
        }
        total += counts;
        sum += counts * v;
        square += counts * v * v;
    }
    f->total[c] = total;
    const double mean = total > 0.0 ? sum / total : 0.0;
    const double variance = total > 0.0 ? square / total - mean * mean : 0.0;
    f->variance[c] = variance > 1e-8 ? variance : 1e-8;
    if (!sound) {
        f->n_observed[c - FM_BREATH_SOUND_CHANNELS] = n_observed;
    }
}

void fm_track_frames_make(const fm_breath_series *s, double step_s, fm_track_frames *f)
{
    f->step_s = step_s;
    const double per_step = step_s * FM_FRAME_RATE_HZ;
    const double wanted = floor((double)s->n / per_step);
    f->n = wanted < FM_TRACK_FRAMES ? (size_t)wanted : FM_TRACK_FRAMES;
    for (size_t i = 0; i <= f->n; i++) {
        f->edge[i] = (uint16_t)((double)i * per_step + 0.5);
    }
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        make_channel(s, c, f);
    }
}

void fm_track_model_start(const fm_track_frames *f, unsigned mask, fm_track_model *m)
{
    m->n_states = FM_TRACK_PHASES;
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        const double depth = (mask >> c & 1U) ? sqrt(f->variance[c]) : 0.0;
        for (size_t k = 0; k < FM_TRACK_PHASES; k++) {
            m->mean[c][k] =
                (float)(-depth * cos(2.0 * FM_PI * (double)k / FM_TRACK_PHASES));
        }
        m->variance[c] = (mask >> c & 1U) ? 0.5 * f->variance[c] : f->variance[c];
    }
}

/* A channel of the mask, as the sweep reads it. */
typedef struct track_channel {
    const float *value;
    const float *weight;
    const float *mean;
    float among; /* channels that err together, and count as one */
    float scale; /* half over the channel's variance */
} track_channel;

static size_t channels_of(const fm_track_frames *f,
                          const fm_track_model *m,
                          unsigned mask,
                          track_channel *channels)
{
    size_t n = 0;
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        if (mask >> c & 1U) {
            channels[n++] = (track_channel){
                .value = f->value[c],
                .weight = f->weight[c],
                .mean = m->mean[c],
                .among = c < FM_BREATH_SOUND_CHANNELS ? FM_BREATH_SOUND_CHANNELS : 1.0f,
                .scale = (float)(0.5 / m->variance[c]),
            };
        }
    }
    return n;
}

/* Least cost of being in each phase of each frame, four phases side by side; n_fours is a
 * constant where it is called. */
static inline void sweep(const fm_track_frames *f,
                         const track_channel *channels,
                         size_t n_channels,
                         size_t n_fours,
                         const float *stay_cost,
                         fm_track_memory *memory)
{
    static const float NOTHING[FM_TRACK_STATES] = {0};
    const fm_four far = (fm_four){0} + FAR;
    const fm_four *before = (const fm_four *)NOTHING;
    const fm_four *stands = (const fm_four *)stay_cost;
    for (size_t i = 0; i < f->n; i++) {
        fm_four *row = (fm_four *)memory->value[i];
        fm_four cost[FM_TRACK_STATES / FOUR] = {{0}};
        for (size_t c = 0; c < n_channels; c++) {
            const track_channel *e = &channels[c];
            if (!(e->weight[i] > 0.0f)) {
                continue;
            }
            const float share = e->weight[i] / e->among;
            for (size_t v = 0; v < n_fours; v++) {
                const fm_four off = e->value[i] - ((const fm_four *)e->mean)[v];
                const fm_four z = off * off * e->scale;
                cost[v] += share * FM_LEAST(z, far);
            }
        }
        fm_four last = before[n_fours - 1]; /* the circle closes */
        for (size_t v = 0; v < n_fours; v++) {
            const fm_four now = before[v];
            const fm_four two = FM_TAKE_FOUR(last, now, 2, 3, 4, 5);
            const fm_four one = FM_TAKE_FOUR(two, now, 1, 2, 5, 6);
            const fm_four least = FM_LEAST(now + stands[v], one);
            row[v] = FM_LEAST(two + SKIP_COST, least) + cost[v];
            last = now;
        }
        before = row;
    }
}

/* What standing still costs in each phase: less in the quietest, where breath sounds are
 * followed. */
static void price_standing(const fm_track_model *m, bool by_sound, float *stay_cost)
{
    size_t quietest = 0;
    float least = INFINITY;
    for (size_t k = 0; k < m->n_states; k++) {
        float level = 0.0f;
        for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
            level += m->mean[c][k];
        }
        quietest = level < least ? k : quietest;
        least = fminf(least, level);
        stay_cost[k] = STAY_COST;
    }
    if (by_sound) {
        stay_cost[quietest] = REST_COST;
    }
}

/* From the best end back; returns whether a frame's phase is another than it was. */
static bool trace_back(size_t n,
                       size_t n_states,
                       const float *stay_cost,
                       const fm_track_memory *memory,
                       fm_track_path *path)
{
    size_t best = 0;
    unsigned changed = 0;
    for (size_t k = 1; k < n_states; k++) {
        best = memory->value[n - 1][k] < memory->value[n - 1][best] ? k : best;
    }
    for (size_t i = n; i-- > 0;) {
        changed |= path->phase[i] ^ (unsigned)best;
        path->phase[i] = (uint8_t)best;
        if (i == 0) {
            break;
        }
        const float *before = memory->value[i - 1];
        const size_t one = best > 0 ? best - 1 : n_states - 1;
        const size_t two = one > 0 ? one - 1 : n_states - 1;
        size_t from = one;
        float least = before[one];
        double cost = 0.0;
        if (before[best] + stay_cost[best] < least) {
            from = best;
            least = before[best] + stay_cost[best];
            cost = (double)stay_cost[best];
        }
        if (before[two] + SKIP_COST < least) {
            from = two;
            cost = (double)SKIP_COST;
        }
        path->transition_cost += cost;
        best = from;
    }
    return changed != 0;
}

bool fm_track_find(const fm_track_frames *f,
                   const fm_track_model *m,
                   unsigned mask,
                   fm_track_memory *memory,
                   fm_track_path *path)
{
    const size_t n_states = m->n_states;
    path->transition_cost = 0.0;
    if (f->n == 0) {
        return false;
    }
    float stay_cost[FM_TRACK_STATES] = {0};
    price_standing(m, (mask & 1U << FM_BREATH_MIDDLE) != 0, stay_cost);
    track_channel channels[FM_BREATH_CHANNELS];
    const size_t n_channels = channels_of(f, m, mask, channels);
    if (n_states == FM_TRACK_PHASES) {
        sweep(f, channels, n_channels, FM_TRACK_PHASES / FOUR, stay_cost, memory);
    } else {
        sweep(f, channels, n_channels, FM_TRACK_STATES / FOUR, stay_cost, memory);
    }
    return trace_back(f->n, n_states, stay_cost, memory, path);
}

/* A channel in one phase: the smoothed mean of its observations there. */
static void learn_means(const double *sum,
                        const double *weight,
                        size_t n_states,
                        float *mean)
{
    for (size_t k = 0; k < n_states; k++) {
        const size_t before = k > 0 ? k - 1 : n_states - 1;
        const size_t after = k + 1 < n_states ? k + 1 : 0;
        const double s = sum[k] + 0.5 * (sum[before] + sum[after]);
        const double w = weight[k] + 0.5 * (weight[before] + weight[after]);
        mean[k] = (float)(s / (w + SHRINK));
    }
}

/* What is left of a channel's squares about the means, from its sums by phase. */
static void keep_variance(const fm_track_frames *f,
                          int c,
                          const double *sum,
                          const double *weight,
                          size_t n_states,
                          fm_track_model *m)
{
    double square = f->square[c];
    for (size_t k = 0; k < n_states; k++) {
        const double mean = (double)m->mean[c][k];
        square += mean * (mean * weight[k] - 2.0 * sum[k]);
    }
    const double mine = f->total[c] > 0.0 ? square / f->total[c] : 0.0;
    m->variance[c] = fmax(mine, RESIDUE_MIN * f->variance[c]);
}

/* The three channels of sound, which speak in nearly every frame, side by side. */
static void learn_sound(const fm_track_frames *f,
                        const fm_track_path *path,
                        size_t n_states,
                        fm_track_model *m)
{
    double sum[FM_BREATH_SOUND_CHANNELS][FM_TRACK_STATES] = {{0}};
    double weight[FM_BREATH_SOUND_CHANNELS][FM_TRACK_STATES] = {{0}};
    for (size_t i = 0; i < f->n; i++) {
        const size_t k = path->phase[i];
        for (size_t c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
            const double w = (double)f->weight[c][i];
            sum[c][k] += w * (double)f->value[c][i];
            weight[c][k] += w;
        }
    }
    for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        learn_means(sum[c], weight[c], n_states, m->mean[c]);
        keep_variance(f, c, sum[c], weight[c], n_states, m);
    }
}

/* A channel of the heart, which speaks once in a beat. */
static void learn_beats(const fm_track_frames *f,
                        const fm_track_path *path,
                        size_t n_states,
                        int c,
                        fm_track_model *m)
{
    const uint16_t *observed = f->observed[c - FM_BREATH_SOUND_CHANNELS];
    const size_t n = f->n_observed[c - FM_BREATH_SOUND_CHANNELS];
    double sum[FM_TRACK_STATES] = {0};
    double weight[FM_TRACK_STATES] = {0};
    for (size_t h = 0; h < n; h++) {
        const size_t i = observed[h];
        const double w = (double)f->weight[c][i];
        sum[path->phase[i]] += w * (double)f->value[c][i];
        weight[path->phase[i]] += w;
    }
    learn_means(sum, weight, n_states, m->mean[c]);
    keep_variance(f, c, sum, weight, n_states, m);
}

void fm_track_learn(const fm_track_frames *f,
                    const fm_track_path *path,
                    size_t n_states,
                    fm_track_model *m)
{
    m->n_states = n_states;
    learn_sound(f, path, n_states, m);
    for (int c = FM_BREATH_SOUND_CHANNELS; c < FM_BREATH_CHANNELS; c++) {
        learn_beats(f, path, n_states, c, m);
    }
}

void fm_track_pair(fm_track_path *path, size_t n)
{
    bool second = false;
    for (size_t i = 0; i < n; i++) {
        const uint8_t now = path->phase[i];
        if (i > 0) {
            const uint8_t before = path->phase[i - 1] % FM_TRACK_PHASES;
            second = now < before ? !second : second;
        }
        path->phase[i] = (uint8_t)(now + (second ? FM_TRACK_PHASES : 0));
    }
}

double fm_track_explained(const fm_track_frames *f,
                          const fm_track_model *m,
                          int channel)
{
    const double total = f->total[channel];
    if (!(total > 2.0 * (double)m->n_states)) {
        return 0.0;
    }
    /* what as many phases explain of chance (degrees of freedom, halved as neighbours are
     * smoothed together) */
    const double chance = 0.5 * (double)m->n_states / total;
    return log(f->variance[channel] / m->variance[channel]) - chance;
}

size_t fm_track_passings(const fm_track_frames *f,
                         const fm_track_path *path,
                         size_t n_states,
                         double phase,
                         double *time_s,
                         size_t max)
{
    size_t n = 0;
    for (size_t i = 1; i < f->n && n < max; i++) {
        const double before = (double)path->phase[i - 1];
        double now = (double)path->phase[i];
        now += now < before ? (double)n_states : 0.0;
        const double target = phase < before ? phase + (double)n_states : phase;
        /* (before, now] so that a phase stood on is passed once */
        const double aim = target > before ? target : target + (double)n_states;
        if (aim <= now) {
            time_s[n++] =
                ((double)i - 0.5 + (aim - before) / (now - before)) * f->step_s;
        }
    }
    return n;
}
