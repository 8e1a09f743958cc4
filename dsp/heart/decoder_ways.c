#include "dsp/heart/decoder_private.h"

enum {
    LOOK_EVERY = 4 /* gaps between looks whether more can be won */
};

/* Offers a way that is worth v, in the lanes of the mask, where it beats the best so
 * far. */
#define OFFER_WHERE(mask, v, way, best, best_from)                                     \
    do {                                                                               \
        const fm_lanes offered = (v);                                                  \
        const fm_lane_ints better = (offered > (best)) & (mask);                       \
        (best) = FM_CHOOSE(better, offered, (best));                                   \
        (best_from) = FM_CHOOSE_INTS(better, (way), (best_from));                      \
    } while (0)

/* The same in all lanes. */
#define OFFER(v, way, best, best_from)                                                 \
    OFFER_WHERE(~(fm_lane_ints){0}, v, way, best, best_from)

/* What the table says of ratios, one lane each. */
#define LOOK_UP(table, x, out)                                                         \
    do {                                                                               \
        fm_lane_ints place =                                                           \
            FM_TO_INTS((x) * (float)FM_RATIO_STEPS_PER_E + (float)FM_RATIO_CENTRE);    \
        place = FM_CHOOSE_INTS(place < 0, zero, place);                                \
        place = FM_CHOOSE_INTS(place > last, last, place);                             \
        for (int lane = 0; lane < FM_LANES; lane++) {                                  \
            (out)[lane] = (table)[lane][place[lane]];                                  \
        }                                                                              \
    } while (0)

/* Ways from an S1 to its S2. */
FM_WIDE static void extend_systole(const fm_decoder_memory *m,
                                   const fm_gaps *g,
                                   fm_ways *w)
{
    const fm_decoder_tables *t = &m->tables;
    fm_lanes best = w->value[FM_S2];
    fm_lanes best_early = w->value[FM_EARLY_S2];
    fm_lane_ints from = w->from[FM_S2];
    fm_lane_ints from_early = w->from[FM_EARLY_S2];
    const fm_lanes added = t->early_systole;
    size_t k = g->n; /* the further back, the longer */
    while (k > 0 && g->step[k - 1] < t->n_steps) {
        k--;
    }
    for (; k < g->n; k++) {
        const size_t i = g->first + k;
        const fm_lanes systole = t->systole[g->step[k]];
        const fm_lane_ints way = (fm_lane_ints){0} + (int32_t)(i << 2);
        OFFER(m->value[FM_S1][i] + systole, way | FM_S1, best, from);
        OFFER(m->value[FM_EARLY_S1][i] + systole + added, way | FM_EARLY_S1, best_early,
              from_early);
    }
    w->value[FM_S2] = best;
    w->value[FM_EARLY_S2] = best_early;
    w->from[FM_S2] = from;
    w->from[FM_EARLY_S2] = from_early;
}

/* A kind of step over gaps of any length: what it needs of the tables. */
typedef struct step_kind {
    size_t n;              /* gaps it can take */
    unsigned usual;        /* state before an S1 in its place or early */
    unsigned early;        /* state of an early beat before an S1 */
    fm_lanes log_expected; /* length */
    fm_lanes added;        /* to the density of the ratio */
    fm_lanes to_early;     /* usual -> early S1 */
    fm_lanes after;        /* early -> S1 */
    fm_lanes again;        /* early -> early S1 */
} step_kind;

/* Ways to an S1 in its place, an early one, and one behind an early beat. The nearest gaps
 * come first: those far off are seldom worth a look into the table. */
FM_WIDE static void extend_to_s1(const fm_decoder_memory *m,
                                 const fm_gaps *g,
                                 const step_kind *kind,
                                 fm_ways *w)
{
    const fm_decoder_tables *t = &m->tables;
    const fm_lane_ints zero = {0};
    const fm_lane_ints last = zero + (FM_DECODER_STEPS - 1);
    const fm_lanes most = t->most + kind->added;
    const fm_lanes top = FM_CHOOSE(most > kind->after, most, kind->after);
    const fm_lanes top_early =
        FM_CHOOSE(kind->to_early > kind->again, kind->to_early, kind->again);
    fm_lanes best = w->value[FM_S1];
    fm_lanes early = w->value[FM_EARLY_S1];
    fm_lane_ints from = w->from[FM_S1];
    fm_lane_ints early_from = w->from[FM_EARLY_S1];
    for (size_t k = kind->n; k-- > 0;) {
        const size_t i = g->first + k;
        if (k % LOOK_EVERY == 0) {
            /* No path farther back is worth more than the best up to here. */
            const fm_lanes at_most = m->passed[i] - g->log_gap[k];
            const fm_lane_ints may_win =
                (at_most + top > best) | (at_most + top_early > early);
            if (!fm_any(&may_win)) {
                break;
            }
        }
        const fm_lanes worth = m->value[kind->usual][i] - g->log_gap[k];
        const fm_lanes worth_early = m->value[kind->early][i] - g->log_gap[k];
        const fm_lane_ints reached = (zero + (int32_t)i) >= g->reach;
        const fm_lane_ints may_be_usual = reached & (worth + most > best);
        const fm_lane_ints may_be_early =
            reached &
            ((worth + kind->to_early > early) | (worth_early + kind->again > early) |
             (worth_early + kind->after > best));
        const fm_lane_ints may_be = may_be_usual | may_be_early;
        if (!fm_any(&may_be)) {
            continue;
        }
        const fm_lanes x = g->log_gap[k] - kind->log_expected;
        const fm_lane_ints usual_way = zero + (int32_t)(i << 2 | kind->usual);
        const fm_lane_ints early_way = zero + (int32_t)(i << 2 | kind->early);
        if (fm_any(&may_be_usual)) {
            fm_lanes density;
            LOOK_UP(t->ratio, x, density);
            OFFER_WHERE(reached, worth + (density + kind->added), usual_way, best,
                        from);
        }
        if (fm_any(&may_be_early)) {
            const fm_lane_ints is_after =
                reached & (x <= FM_AFTER_MOST) & (x >= FM_AFTER_LEAST);
            OFFER_WHERE(is_after, worth_early + kind->after, early_way, best, from);
            const fm_lane_ints is_early =
                reached & (x <= -FM_EARLY_LEAST) & (x >= -FM_EARLY_MOST);
            OFFER_WHERE(is_early, worth + kind->to_early, usual_way, early, early_from);
            OFFER_WHERE(is_early, worth_early + kind->again, early_way, early,
                        early_from);
        }
    }
    w->value[FM_S1] = best;
    w->value[FM_EARLY_S1] = early;
    w->from[FM_S1] = from;
    w->from[FM_EARLY_S1] = early_from;
}

void fm_decoder_extend(const fm_decoder_memory *m, const fm_gaps *g, fm_ways *w)
{
    const fm_decoder_tables *t = &m->tables;
    const step_kind diastole = {
        .n = g->n,
        .usual = FM_S2,
        .early = FM_EARLY_S2,
        .log_expected = g->log_diastole,
        .added = t->diastole,
        .to_early = t->early,
        .after = t->after,
        .again = t->again,
    };
    const step_kind cycle = {
        .n = g->n_cycle,
        .usual = FM_S1,
        .early = FM_EARLY_S1,
        .log_expected = g->log_cycle,
        .added = t->cycle,
        .to_early = t->early_no_s2,
        .after = t->after_no_s2,
        .again = (fm_lanes){0} + FM_IMPOSSIBLE,
    };
    extend_systole(m, g, w);
    extend_to_s1(m, g, &diastole, w);
    extend_to_s1(m, g, &cycle, w);
}
