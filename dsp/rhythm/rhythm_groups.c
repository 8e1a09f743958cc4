/*
 * Repeating groups: short-long pairs and the like, and groups that end in a dropped beat.
 *
 * For each length of group a shape is taken from three groups in a row (medians), and the
 * whole series is followed through it: an interval belongs when it lies near its place in
 * the shape; after one that does not, the place is looked for again. The shortest shape
 * that explains nearly every interval is the answer. Following rather than folding lets a
 * missed or added beat pass without losing the rest.
 */
#include "dsp/rhythm/rhythm_private.h"

#include <math.h>

/* How near an interval must lie to its place in the group. Ours: wide enough for a slow
 * drift of the rate and 15 ms of timing error (which makes 21 ms in an interval), narrow
 * against the differences inside a group. */
static const double NEAR_SHARE = 0.08; /* of the mean interval, or of a longer place */
static const double NEAR_LEAST_S = 0.050;
static const double NEAR_WIDER = 1.6; /* times that, for groups that stand out: ours */
static const double RMS_OF_NEAR = 0.60; /* RMS distance allowed, in these; ours */

/* Share of intervals in their place, and lost places allowed to a group; more for short
 * groups that stand out. Ours; tuned on composed rhythms. */
static const double COVERAGE = 0.85;     /* doubtful intervals not counted */
static const double COVERAGE_ALL = 0.75; /* doubtful intervals counted too */
static const double SLIPS = 0.15;
static const double SLIPS_STRONG = 0.25;
static const double SLIP_DOUBTFUL = 0.4; /* of a place, where an interval is doubtful */
static const double SLIP_ALONE = 0.5;    /* of one sure interval, the place kept */
static const double SHORTEST_STRONG =
    0.80; /* of the middle one: as early as an early beat */
enum {
    SHORT_GROUP = 4
};

/* Inside a group: an early beat comes >= 20 % early (HRT filter rule, librasch.org/hrt);
 * here against the middle interval of the group. Down to 12 % (between 0.85 and 0.90 for
 * atrial early beats, from memory) when the repeat is exact. */
static const double EARLY_STRONG = 0.82;
static const double EARLY_WEAK = 0.90;
static const double EXACT_OF_NEAR = 0.35; /* RMS distance in an exact repeat; ours */
static const double COMPENSATED = 1.05;   /* the interval after an early beat; ours */

/* A dropped beat leaves an interval of nearly two basic ones: 1.85 in the MSD Manual's 4:3
 * trace (1920 against 1040 ms). Halfway on a ratio scale to one: 1.41. */
static const double DROPPED_MIN = 1.41;
static const double OTHERS_NEAR = 0.12; /* basic intervals beside each other; ours */

/* Two intervals, short and long: an early beat every second beat, or a 3:2 group. 20 %
 * early with the same drawn out after it gives a ratio of 1.5; 11 % gives 1.25, the least
 * we name (breathing of two beats a breath stays under it; ours).
 * In a 3:2 group that lengthens by c the ratio is (2 - c) / (1 + c), so under 2: 1.68 to
 * 1.92 for c of 3 to 12 %. A fully compensated early beat that comes a third early or more
 * gives 2 and more. Between, sound alone cannot tell; we say 3:2 where the short interval
 * can be a basic one (of a rate to about 140 a minute; ours), else 2:2. */
static const double PAIR_MIN = 1.25;
static const double PAIR_DROPPED_MIN = 1.68;
static const double PAIR_DROPPED_MAX = 1.92;
static const double PAIR_DROPPED_SHORT_S = 0.45;

double fm_rhythm_median(double *x, size_t n)
{
    if (n == 0) {
        return (double)NAN;
    }
    for (size_t i = 1; i < n; i++) {
        const double v = x[i];
        size_t k = i;
        for (; k > 0 && x[k - 1] > v; k--) {
            x[k] = x[k - 1];
        }
        x[k] = v;
    }
    return n % 2 == 1 ? x[n / 2] : 0.5 * (x[n / 2 - 1] + x[n / 2]);
}

/* The shape of three groups in a row from `first` on: medians place by place. */
static bool take_shape(const fm_rhythm_series *s, size_t first, size_t n, double *shape)
{
    for (size_t i = first + 1; i < first + 3 * n; i++) {
        if (!s->beat[i].follows) {
            return false;
        }
    }
    for (size_t place = 0; place < n; place++) {
        double three[3];
        for (size_t k = 0; k < 3; k++) {
            three[k] = s->beat[first + k * n + place].length_s;
        }
        shape[place] = fm_rhythm_median(three, 3);
    }
    return true;
}

/* Place in the group that interval i and the rest of a group after it fit best. */
static size_t find_place(const fm_rhythm_series *s,
                         size_t i,
                         const double *shape,
                         size_t n)
{
    size_t best = 0;
    double least_s = (double)INFINITY;
    for (size_t place = 0; place < n; place++) {
        double off_s = 0.0;
        size_t k = 0;
        for (; k < n && i + k < s->n && (k == 0 || s->beat[i + k].follows); k++) {
            off_s += fabs(s->beat[i + k].length_s - shape[(place + k) % n]);
        }
        off_s /= (double)k;
        if (off_s < least_s) {
            least_s = off_s;
            best = place;
        }
    }
    return best;
}

typedef struct following {
    size_t inside;  /* intervals in their place */
    size_t sure;    /* intervals that count: in place, or out of it without doubt */
    double slips;   /* how often the place was lost */
    double squares; /* of their distances from it, in what is near */
} following;

/* How far an interval lies from a place, in what is near. */
static double off_place(const fm_rhythm_group *g, size_t place, double length_s)
{
    const double near_s =
        fmax(NEAR_LEAST_S, NEAR_SHARE * fmax(g->mean_s, g->shape_s[place]));
    return (length_s - g->shape_s[place]) / (g->wider * near_s);
}

static size_t shortest_place(const fm_rhythm_group *g)
{
    size_t at = 0;
    for (size_t i = 1; i < g->n; i++) {
        at = g->shape_s[i] < g->shape_s[at] ? i : at;
    }
    return at;
}

static size_t longest_place(const fm_rhythm_group *g)
{
    size_t at = 0;
    for (size_t i = 1; i < g->n; i++) {
        at = g->shape_s[i] > g->shape_s[at] ? i : at;
    }
    return at;
}

/* Short groups with a beat that is early beyond doubt repeat often enough, and stand out
 * enough, to be followed through a decoder's errors. */
static bool stands_out(const fm_rhythm_group *g)
{
    double shape_s[FM_GROUP_MAX] = {0};
    for (size_t i = 0; i < g->n; i++) {
        shape_s[i] = g->shape_s[i];
    }
    const double middle_s = fm_rhythm_median(shape_s, g->n);
    return g->n <= SHORT_GROUP && shape_s[0] <= SHORTEST_STRONG * middle_s;
}

static bool too_many(double slips, const fm_rhythm_series *s, const fm_rhythm_group *g)
{
    const double most = stands_out(g) ? SLIPS_STRONG : SLIPS;
    return slips * (double)g->n > most * (double)s->n;
}

/* What an interval out of its place costs. */
static double slip_of(bool doubtful, bool moved, bool strong)
{
    if (doubtful) {
        return moved ? SLIP_DOUBTFUL : 0.0;
    }
    return strong && !moved ? SLIP_ALONE : 1.0;
}

/* Follow the series through a shape; `place_of` gets the places. When it is NULL, stops
 * where the place was lost too often. */
static following follow(const fm_rhythm_series *s,
                        const fm_rhythm_group *g,
                        size_t *place_of)
{
    following f = {0};
    const bool strong = stands_out(g);
    size_t place = find_place(s, 0, g->shape_s, g->n);
    for (size_t i = 0; i < s->n; i++) {
        const fm_rhythm_beat *b = &s->beat[i];
        if (i > 0 && !b->follows) {
            place = find_place(s, i, g->shape_s, g->n);
        }
        double off = off_place(g, place, b->length_s);
        if (fabs(off) > 1.0) {
            const size_t found = find_place(s, i, g->shape_s, g->n);
            f.slips += slip_of(b->doubtful, found != place, strong);
            place = found;
            if (place_of == NULL && too_many(f.slips, s, g)) {
                break;
            }
            off = off_place(g, place, b->length_s);
        }
        const bool inside = fabs(off) <= 1.0;
        f.inside += inside ? 1 : 0;
        f.sure += inside || !b->doubtful ? 1 : 0;
        f.squares += inside ? off * off : 0.0;
        if (place_of != NULL) {
            place_of[i] = inside ? place : g->n;
        }
        place = (place + 1) % g->n;
    }
    return f;
}

/* Middle interval of a shape without the places a and b. */
static double middle_without(const fm_rhythm_group *g, size_t a, size_t b)
{
    double rest[FM_GROUP_MAX] = {0};
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (i != a && i != b) {
            rest[n++] = g->shape_s[i];
        }
    }
    return fm_rhythm_median(rest, n);
}

static bool near_basic(const fm_rhythm_group *g, size_t a, size_t b)
{
    for (size_t i = 0; i < g->n; i++) {
        const double off = fabs(g->shape_s[i] / g->basic_s - 1.0);
        if (i != a && i != b && off > OTHERS_NEAR) {
            return false;
        }
    }
    return true;
}

/* Two intervals to the group. */
static bool name_pair(fm_rhythm_group *g)
{
    const size_t at = shortest_place(g);
    const double short_s = g->shape_s[at];
    const double long_s = g->shape_s[1 - at];
    const double ratio = long_s / short_s;
    if (ratio < PAIR_MIN) {
        return false;
    }
    g->early = ratio < PAIR_DROPPED_MIN || ratio > PAIR_DROPPED_MAX ||
               short_s < PAIR_DROPPED_SHORT_S;
    g->n_basic = g->early ? 2 : 3;
    g->basic_s = (short_s + long_s) / (double)g->n_basic;
    return true;
}

/* One early beat among even ones. */
static bool name_early(fm_rhythm_group *g, bool exact)
{
    const size_t early = shortest_place(g);
    const size_t after = (early + 1) % g->n;
    g->basic_s = middle_without(g, early, after);
    g->early = true;
    g->n_basic = (int)g->n;
    return g->shape_s[early] <= (exact ? EARLY_WEAK : EARLY_STRONG) * g->basic_s &&
           g->shape_s[after] >= COMPENSATED * g->basic_s && near_basic(g, early, after);
}

/* One dropped beat among even ones. */
static bool name_dropped(fm_rhythm_group *g)
{
    const size_t longest = longest_place(g);
    double span_s = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        span_s += g->shape_s[i];
    }
    g->basic_s = middle_without(g, longest, longest);
    const double others_s = (span_s - g->shape_s[longest]) / (double)(g->n - 1);
    g->early = false;
    g->n_basic = (int)lround(span_s / others_s);
    return g->shape_s[longest] >= DROPPED_MIN * g->basic_s &&
           near_basic(g, longest, longest) && g->n_basic > (int)g->n && g->n_basic < 10;
}

static bool name_longer(fm_rhythm_group *g, bool exact)
{
    return name_early(g, exact) || name_dropped(g);
}

static bool explains(const fm_rhythm_series *s, fm_rhythm_group *g)
{
    const following f = follow(s, g, NULL);
    g->coverage = f.sure == 0 ? 0.0 : (double)f.inside / (double)f.sure;
    if ((double)f.inside < COVERAGE_ALL * (double)s->n) {
        return false;
    }
    if (g->coverage < COVERAGE || too_many(f.slips, s, g)) {
        return false;
    }
    const double rms = sqrt(f.squares / (double)f.inside);
    if (rms > RMS_OF_NEAR) {
        return false;
    }
    const bool exact = rms <= EXACT_OF_NEAR && f.slips <= 1.0 && !(g->wider > 1.0);
    const bool named = g->n == 2 ? name_pair(g) : name_longer(g, exact);
    return named && (!(g->wider > 1.0) || stands_out(g));
}

/* The group of n that explains most; out stays as it is when there is none. */
static void find_group_of(const fm_rhythm_series *s,
                          const fm_rhythm_group *like,
                          fm_rhythm_group *out)
{
    for (size_t first = 0; first + 3 * like->n <= s->n; first += like->n) {
        fm_rhythm_group g = *like;
        if (take_shape(s, first, g.n, g.shape_s) && explains(s, &g) &&
            (!out->found || g.coverage > out->coverage)) {
            *out = g;
            out->found = true;
        }
    }
}

void fm_rhythm_find_group(const fm_rhythm_series *series, fm_rhythm_group *out)
{
    *out = (fm_rhythm_group){0};
    if (series->n == 0) {
        return;
    }
    fm_rhythm_group like = {.mean_s = fm_rhythm_listed_s(series) / (double)series->n};
    for (int pass = 0; pass < 2 && !out->found; pass++) {
        like.wider = pass == 0 ? 1.0 : NEAR_WIDER;
        for (like.n = 2; like.n <= FM_GROUP_MAX && !out->found; like.n++) {
            find_group_of(series, &like, out);
        }
    }
}

void fm_rhythm_name_group(fm_rhythm_series *series, const fm_rhythm_group *group)
{
    size_t place_of[FM_BEATS_MAX];
    (void)follow(series, group, place_of);
    const size_t early = group->early ? shortest_place(group) : group->n;
    const size_t after = group->early ? (early + 1) % group->n : group->n;
    const size_t longest = group->early ? group->n : longest_place(group);
    for (size_t i = 0; i < series->n; i++) {
        fm_rhythm_beat *b = &series->beat[i];
        b->base_s = group->basic_s;
        b->kind = FM_INTERVAL_EXPECTED;
        if (place_of[i] == group->n) {
            b->kind = b->doubtful ? FM_INTERVAL_UNSURE : FM_INTERVAL_EXPECTED;
        } else if (place_of[i] == early) {
            b->kind = FM_INTERVAL_EARLY;
        } else if (place_of[i] == after) {
            b->kind = FM_INTERVAL_AFTER_EARLY;
        } else if (place_of[i] == longest) {
            b->kind = FM_INTERVAL_PAUSE;
        }
    }
}
