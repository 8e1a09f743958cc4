#include "dsp/breath_faint.h"

#include <string.h>

/* Height over the rest, of the usual size's; how much the sound varies about it, against
 * the usual size; and what it costs (natural log) that breathing becomes fainter. Tuned on
 * composed breathing, seeds 720000 and 7400000 (tests/accuracy/RESULTS.md). */
static const float HEIGHT[FM_FAINT_SIZES] = {1.0f, 0.45f};
static const float VARIANCE[FM_FAINT_SIZES] = {1.0f, 0.6f};
static const float FAINTER_COST = 4.0f;

/* The model in both sizes; at rest they are the same. */
static void make_sizes(const fm_track_model *m, size_t rest, fm_faint_memory *memory)
{
    for (size_t c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        const float low = m->mean[c][rest];
        for (size_t size = 0; size < FM_FAINT_SIZES; size++) {
            float *mean = memory->mean[c] + size * m->n_states;
            for (size_t k = 0; k < m->n_states; k++) {
                mean[k] = low + HEIGHT[size] * (m->mean[c][k] - low);
            }
            memory->scale[c][size] = 0.5f / (VARIANCE[size] * (float)m->variance[c]);
        }
    }
}

/* What a frame costs in a state of a size, as in the first search. */
static float cost_of(const fm_track_frames *f,
                     const fm_faint_memory *memory,
                     size_t i,
                     size_t state,
                     size_t size)
{
    float cost = 0.0f;
    for (size_t c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        const float off = f->value[c][i] - memory->mean[c][state];
        const float z = off * off * memory->scale[c][size];
        cost += f->weight[c][i] / (float)FM_BREATH_SOUND_CHANNELS *
                (z < FM_TRACK_FAR ? z : FM_TRACK_FAR);
    }
    return cost;
}

/* The cheapest way into a phase of a size, and what it costs. */
static float way_into(const fm_faint_memory *memory,
                      const float *before,
                      size_t n_states,
                      size_t rest,
                      size_t phase,
                      size_t size,
                      uint8_t *from)
{
    const size_t first = size * n_states;
    const size_t one = phase > 0 ? phase - 1 : n_states - 1;
    const size_t two = one > 0 ? one - 1 : n_states - 1;
    float least = before[first + one];
    size_t best = first + one;
    if (before[first + phase] + memory->stay_cost[phase] < least) {
        best = first + phase;
        least = before[best] + memory->stay_cost[phase];
    }
    if (before[first + two] + FM_TRACK_SKIP_COST < least) {
        best = first + two;
        least = before[best] + FM_TRACK_SKIP_COST;
    }
    if (one == rest) {
        const size_t other = (1 - size) * n_states + one;
        const float change = size > 0 ? FAINTER_COST : 0.0f;
        if (before[other] + change < least) {
            best = other;
            least = before[other] + change;
        }
    }
    *from = (uint8_t)best;
    return least;
}

void fm_faint_find(const fm_track_frames *f,
                   const fm_track_model *m,
                   fm_faint_memory *memory,
                   fm_track_path *path)
{
    const size_t n_states = m->n_states;
    const size_t n_all = FM_FAINT_SIZES * n_states;
    const size_t rest = fm_track_quietest(m);
    make_sizes(m, rest, memory);
    fm_track_price_standing(m, true, memory->stay_cost);
    memset(memory->cost, 0, sizeof(memory->cost));
    for (size_t i = 0; i < f->n; i++) {
        const float *before = memory->cost[(i + 1) % 2];
        float *now = memory->cost[i % 2];
        for (size_t s = 0; s < n_all; s++) {
            const size_t size = s / n_states;
            now[s] = way_into(memory, before, n_states, rest, s % n_states, size,
                              &memory->from[i][s]) +
                     cost_of(f, memory, i, s, size);
        }
    }
    const float *last = memory->cost[(f->n + 1) % 2];
    size_t at = 0;
    for (size_t s = 1; s < n_all; s++) {
        at = last[s] < last[at] ? s : at;
    }
    for (size_t i = f->n; i-- > 0;) {
        path->phase[i] = (uint8_t)(at % n_states);
        at = memory->from[i][at];
    }
}
