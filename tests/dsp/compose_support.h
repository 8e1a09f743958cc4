#ifndef TESTS_COMPOSE_SUPPORT_H
#define TESTS_COMPOSE_SUPPORT_H

#include "dsp/fullminute_compose.h"

#include "../support.h"

#include <stdlib.h>
#include <string.h>

/** A composed recording and its truth; free with composed_free. */
typedef struct composed {
    float *x;
    size_t n;
    fm_truth truth;
} composed;

static inline composed compose_or_fail(const fm_recipe *recipe)
{
    composed c = {0};
    assert_null(fm_recipe_fault(recipe));
    c.n = fm_recipe_samples(recipe);
    c.x = malloc(c.n * sizeof *c.x);
    assert_non_null(c.x);
    assert_int_equal(fm_compose(recipe, c.x, c.n, &c.truth), FM_OK);
    return c;
}

static inline void composed_free(composed *c)
{
    free(c->x);
    fm_truth_free(&c->truth);
}

/** Interval i of a truth, s. */
static inline double interval_s(const fm_truth *t, size_t i)
{
    return t->s1_s[i + 1] - t->s1_s[i];
}

#endif
