#include "src/usecase/find_source.h"

#include <math.h>

static const double JUMP_DB = 12.0; /* steady noise never does that within seconds */
static const double ALIKE_DB = 3.0;

/* How far it jumped; -infinity where not measured. */
static double jump_db(const find_candidate *c)
{
    return c->measured ? c->rub.level_dbfs.p90 - c->rest.level_dbfs.p90
                       : -(double)INFINITY;
}

int find_source_pick(const find_candidate *list, size_t n)
{
    double best_db = -(double)INFINITY;
    for (size_t i = 0; i < n; i++) {
        best_db = fmax(best_db, jump_db(&list[i]));
    }
    int picked = -1;
    for (size_t i = 0; i < n && best_db >= JUMP_DB; i++) {
        const bool alike = jump_db(&list[i]) >= best_db - ALIKE_DB;
        if (alike && (picked < 0 || (list[i].is_default && !list[picked].is_default))) {
            picked = (int)i;
        }
    }
    return picked;
}
