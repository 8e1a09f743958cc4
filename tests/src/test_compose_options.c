/*
 * The options of compose beside the recipe's own limits.
 *   Source:    FM_RECIPE_NUMBER_MAP, dsp/compose/compose.h.
 *   It says:   what each number can be.
 *   Input:     the table of options.
 *   Tolerance: none: what an option takes is what the recipe takes, no less and no more.
 */
#include "src/command/compose_options.h"

#include "../support.h"

#include <math.h>
#include <string.h>

struct limits {
    const char *name;
    size_t offset;
    double least, most;
};

static const struct limits LIMITS[] = {
#define X(name, usual, least, most, other, unit)                                       \
    {#name, offsetof(compose_plan, recipe.name), least, most},
    FM_RECIPE_NUMBER_MAP(X)
#undef X
};

static const option_spec *option_of(size_t offset)
{
    for (const option_spec *o = compose_option_table; o->name != NULL; o++) {
        if (o->to.offset == offset && o->to.kind == FIELD_REAL) {
            return o;
        }
    }
    return NULL;
}

static void an_option_takes_what_the_recipe_takes(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof LIMITS / sizeof LIMITS[0]; i++) {
        const struct limits *const l = &LIMITS[i];
        const option_spec *const o = option_of(l->offset);
        if (o == NULL) {
            fail_msg("%s has no option", l->name);
            return;
        }
        if (fabs(o->to.min - l->least) > 0.0 || fabs(o->to.max - l->most) > 0.0) {
            fail_msg("--%s takes %g to %g, %s is %g to %g", o->name, o->to.min,
                     o->to.max, l->name, l->least, l->most);
        }
    }
}

/* And the recipe's own check says the same of a value just outside. */
static void a_number_outside_is_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof LIMITS / sizeof LIMITS[0]; i++) {
        const struct limits *const l = &LIMITS[i];
        for (int above = 0; above < 2; above++) {
            compose_plan plan = {.recipe = fm_recipe_default()};
            double *const number = (double *)(void *)((char *)&plan + l->offset);
            *number = above ? l->most + 1e-3 : l->least - 1e-3;
            const char *const fault = fm_recipe_fault(&plan.recipe);
            assert_non_null(fault);
            assert_int_equal(strncmp(fault, l->name, strlen(l->name)), 0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_option_takes_what_the_recipe_takes),
        cmocka_unit_test(a_number_outside_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
