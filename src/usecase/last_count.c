#include "src/usecase/last_count.h"

#include <math.h>

typedef struct search {
    const entry *row;
    check_before found;
} search;

static bool is_first_attempt(const entry *e)
{
    return e->attempt == 1 || e->attempt == ENTRY_NO_WHOLE;
}

/* Rows come in the order they were entered: the last one stays. */
static bool look_at(void *context, const entry *e)
{
    search *const s = context;
    const double off[FM_EVENT_KINDS] = {[FM_EVENT_BEAT] = e->difference_per_min,
                                        [FM_EVENT_BREATH] =
                                            e->breath_difference_per_min};
    for (int kind = 0; kind < FM_EVENT_KINDS; kind++) {
        if (e->number < s->row->number && is_first_attempt(e) && isfinite(off[kind])) {
            s->found.off_per_min[kind] = off[kind];
        }
    }
    return true;
}

check_before last_count_find(logbook *l, const entry *row)
{
    const double none = (double)NAN;
    const check_before nothing = {.off_per_min = {none, none}};
    search s = {row, nothing};
    const logbook_query q = {.learner = row->learner};
    app_err ignored = APP_ERR_NONE;
    const bool asked = l != NULL && row->number > 0 && is_first_attempt(row);
    return asked && logbook_each(l, &q, look_at, &s, &ignored) ? s.found : nothing;
}
