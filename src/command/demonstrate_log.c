#include "src/command/demonstrate_log.h"

#include "src/base/bytes.h"
#include "src/port/steady.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST = 1000000,
    LINE_BYTES = 96
};

static const char HEAD[] = "shown_monotonic_s\tat_s\tmark\n";

bool demonstrate_log_open(demonstrate_log *l,
                          const char *path,
                          bool force,
                          app_err *err)
{
    *l = (demonstrate_log)DEMONSTRATE_LOG_NONE;
    l->open = path != NULL && file_draft_open(&l->draft, path, force, err);
    return path == NULL || l->open;
}

void demonstrate_log_add(demonstrate_log *l, double at_s, bool is_s2)
{
    if (!l->open || l->n == MOST) {
        return;
    }
    demonstrate_shown *const list =
        list_with_room(l->list, l->n + 1, &l->room, sizeof *list);
    if (list != NULL) {
        l->list = list;
        list[l->n++] = (demonstrate_shown){steady_now_s(), at_s, is_s2};
    }
}

bool demonstrate_log_close(demonstrate_log *l, app_err *err)
{
    bool ok = !l->open || file_draft_write(&l->draft, HEAD, strlen(HEAD), err);
    for (size_t i = 0; ok && i < l->n; i++) {
        char line[LINE_BYTES];
        const int n =
            snprintf(line, sizeof line, "%.6f\t%.4f\t%s\n", l->list[i].monotonic_s,
                     l->list[i].at_s, l->list[i].is_s2 ? "S2" : "S1");
        ok = file_draft_write(&l->draft, line, (size_t)n, err);
    }
    if (l->open && ok) {
        ok = file_draft_commit(&l->draft, err);
    } else {
        file_draft_drop(&l->draft);
    }
    free(l->list);
    *l = (demonstrate_log)DEMONSTRATE_LOG_NONE;
    return ok;
}
