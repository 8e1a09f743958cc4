/*
 * Breathing: when the cycles are, how deep each is, how full the lungs are.
 *
 * Inspiration takes 40 % of the cycle unless the recipe says otherwise (in : out about
 * 2 : 3 at rest; from memory).
 * Irregular: lengths log-normal and independent, as the tidal breathing of children is
 * nearer to than to an even one (ours, no source); depth log-normal with the same spread.
 * Pause: apnoea is 10 s or more in adults, 20 s or more in infants (from memory); the
 * default lies between.
 * Waxing and waning: depth swells and fades as half a sine; one swell takes 30 to 100 s in
 * adults with a failing heart, 10 to 20 s in the periodic breathing of infants (from
 * memory); the shallowest breath is a seventh of the deepest (ours).
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>
#include <stdlib.h>

static const double EXPIRATION_MOVING_SHARE =
    0.8; /* the rest of it is a rest; from memory */
static const double BREATH_JITTER_LIMIT = 2.5; /* SDs: no breath of no length */
static const double SHORTEST_SHARE = 0.25;     /* of the usual length */
static const double PAUSE_USUAL_S = 15.0;
static const double PAUSE_FROM_S =
    20.0;                              /* seeded place of a single pause: inside the */
static const double PAUSE_TO_S = 35.0; /* first minute with room after it */
static const double FAINTEST = 1.0 / 7.0;
static const double SHALLOWEST = 0.2; /* irregular: least depth; ours */

/* What the next breath's rule needs to know. */
typedef struct breath_state {
    const fm_recipe *recipe;
    fm_random random; /* lengths; the draws of even breathing come first and alone */
    fm_random extra;  /* what other breathing draws besides */
    double usual_s;
    double pause_at_s;
    double swell_start_s;
    bool paused;
    size_t given;
} breath_state;

/* One breath: its length without the rest after it, that rest, and its depth. */
typedef struct one_breath {
    double length_s;
    double rest_s;
    double depth;
} one_breath;

static double clipped_normal(fm_random *random)
{
    const double off = fm_random_normal(random);
    return fmax(-BREATH_JITTER_LIMIT, fmin(BREATH_JITTER_LIMIT, off));
}

static double even_length_s(breath_state *s)
{
    const double off = clipped_normal(&s->random);
    return s->usual_s * (1.0 + s->recipe->breath_jitter * off);
}

/* Log-normal with mean 1 and the recipe's spread. */
static double spread_factor(breath_state *s)
{
    const double variance = log1p(s->recipe->breath_spread * s->recipe->breath_spread);
    return exp(sqrt(variance) * clipped_normal(&s->extra) - 0.5 * variance);
}

static one_breath irregular_breath(breath_state *s)
{
    const double length_s = s->usual_s * fmax(SHORTEST_SHARE, spread_factor(s));
    const double depth = fmax(SHALLOWEST, fmin(1.0, 0.7 * spread_factor(s)));
    return (one_breath){length_s, 0.0, depth};
}

static one_breath paused_breath(breath_state *s, double t)
{
    one_breath b = {even_length_s(s), 0.0, 1.0};
    if (!s->paused && t + b.length_s > s->pause_at_s) {
        s->paused = true;
        b.rest_s = isnan(s->recipe->breath_pause_s) ? PAUSE_USUAL_S
                                                    : s->recipe->breath_pause_s;
    }
    return b;
}

/* Breaths fill the swell less its pause; the one that reaches its end is followed by the
 * pause, and the next swell starts after that. */
static one_breath waxing_breath(breath_state *s, double t)
{
    const double pause_s =
        isnan(s->recipe->breath_pause_s) ? 0.0 : s->recipe->breath_pause_s;
    const double breathing_s = fmax(2.0 * s->usual_s, s->recipe->swell_s - pause_s);
    one_breath b = {even_length_s(s), 0.0, 1.0};
    const double middle_s = t + 0.5 * b.length_s - s->swell_start_s;
    const double share = fmax(0.0, fmin(1.0, middle_s / breathing_s));
    b.depth = FAINTEST + (1.0 - FAINTEST) * sin(FM_PI * share);
    if (t + 1.5 * b.length_s - s->swell_start_s > breathing_s) {
        b.rest_s = pause_s;
        s->swell_start_s = t + b.length_s + pause_s;
    }
    return b;
}

static one_breath next_breath(breath_state *s, double t)
{
    const fm_recipe *const r = s->recipe;
    if (r->n_breath_lengths > 0) {
        return (one_breath){r->breath_lengths_s[s->given++ % r->n_breath_lengths], 0.0,
                            1.0};
    }
    switch (r->breathing) {
    case FM_COMPOSE_IRREGULAR_BREATHING:
        return irregular_breath(s);
    case FM_COMPOSE_PAUSED_BREATHING:
        return paused_breath(s, t);
    case FM_COMPOSE_WAXING_BREATHING:
        return waxing_breath(s, t);
    case FM_COMPOSE_EVEN_BREATHING:
    case FM_COMPOSE_BREATHING_COUNT:
    default:
        return (one_breath){even_length_s(s), 0.0, 1.0};
    }
}

/* Where the first cycle starts, and what the rules draw once. */
static double state_start(breath_state *s, const fm_recipe *recipe)
{
    *s = (breath_state){
        .recipe = recipe,
        .random = fm_random_init(recipe->seed, FM_STREAM_BREATHING),
        .extra = fm_random_init(recipe->seed, FM_STREAM_BREATHING_EXTRA),
        .usual_s = 60.0 / recipe->breaths_per_min,
    };
    const double share = fm_random_uniform(&s->random);
    const double drawn_s = fm_random_between(&s->extra, PAUSE_FROM_S, PAUSE_TO_S);
    const double latest_s = 0.5 * recipe->seconds;
    s->pause_at_s = isnan(recipe->breath_pause_at_s) ? fmin(drawn_s, latest_s)
                                                     : recipe->breath_pause_at_s;
    s->swell_start_s = -fm_random_between(&s->extra, 0.0, recipe->swell_s);
    if (recipe->n_breath_lengths > 0) {
        return -recipe->breath_lengths_s[0] * share;
    }
    if (recipe->breathing == FM_COMPOSE_WAXING_BREATHING) {
        return s->swell_start_s; /* from the swell's first breath on */
    }
    return -s->usual_s * (1.0 + share);
}

static double shortest_s(const fm_recipe *r)
{
    double least_s = SHORTEST_SHARE * 60.0 / r->breaths_per_min;
    if (r->n_breath_lengths > 0) {
        least_s = r->breath_lengths_s[0];
        for (size_t i = 1; i < r->n_breath_lengths; i++) {
            least_s = fmin(least_s, r->breath_lengths_s[i]);
        }
    }
    return least_s;
}

static double mean_depth(const fm_breathing *b)
{
    double sum = 0.0;
    for (size_t k = 0; k < b->n; k++) {
        sum += b->depth[k];
    }
    return b->n > 0 ? sum / (double)b->n : 1.0;
}

void fm_breathing_free(fm_breathing *b)
{
    free(b->starts_s);
    free(b->rest_s);
    free(b->depth);
    *b = (fm_breathing){0};
}

fm_status fm_breathing_make(const fm_recipe *recipe, fm_breathing *b)
{
    breath_state s;
    double t = state_start(&s, recipe);
    const double last_s = recipe->seconds + s.usual_s;
    const size_t capacity = (size_t)((last_s - t) / shortest_s(recipe)) + 16;
    *b = (fm_breathing){.inspiration_share = recipe->inspiration_share};
    b->starts_s = fm_compose_memory(capacity, sizeof *b->starts_s);
    b->rest_s = fm_compose_memory(capacity, sizeof *b->rest_s);
    b->depth = fm_compose_memory(capacity, sizeof *b->depth);
    if (b->starts_s == NULL || b->rest_s == NULL || b->depth == NULL) {
        fm_breathing_free(b);
        return FM_ERR_NOMEM;
    }
    while (b->n + 1 < capacity) {
        b->starts_s[b->n] = t;
        if (t > last_s) {
            b->depth[b->n++] = recipe->breath_depth;
            break;
        }
        const one_breath next = next_breath(&s, t);
        b->rest_s[b->n] = next.rest_s;
        b->depth[b->n++] = recipe->breath_depth * next.depth;
        t += next.length_s + next.rest_s;
    }
    b->middle = 0.5 * mean_depth(b);
    return FM_OK;
}

/* The cycle that holds a time: index of its start, clamped to the cycles there are. */
static size_t cycle_of(const fm_breathing *b, double time_s)
{
    size_t low = 0;
    size_t high = b->n - 1;
    while (low + 1 < high) {
        const size_t middle = (low + high) / 2;
        if (b->starts_s[middle] <= time_s) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

double fm_breathing_length_s(const fm_breathing *b, size_t k)
{
    return b->starts_s[k + 1] - b->starts_s[k] - b->rest_s[k];
}

double fm_breathing_volume(const fm_breathing *b, double time_s)
{
    const size_t k = cycle_of(b, time_s);
    const double length_s = fm_breathing_length_s(b, k);
    const double share = (time_s - b->starts_s[k]) / length_s;
    if (share <= 0.0 || share >= 1.0) {
        return 0.0;
    }
    if (share < b->inspiration_share) {
        return b->depth[k] * (0.5 - 0.5 * cos(FM_PI * share / b->inspiration_share));
    }
    const double out = (share - b->inspiration_share) /
                       ((1.0 - b->inspiration_share) * EXPIRATION_MOVING_SHARE);
    return out >= 1.0 ? 0.0 : b->depth[k] * (0.5 + 0.5 * cos(FM_PI * out));
}
