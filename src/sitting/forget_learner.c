#include "src/sitting/forget_learner.h"

#include "src/report/sitting_document.h"
#include "src/sitting/live_place.h"

#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

/* A live sitting's recording and its document; the rest stays and is named. */
static void remove_recording(void *context, const char *path)
{
    forgotten *const out = context;
    if (access(path, F_OK) != 0) {
        return;
    }
    if (!live_place_holds(path)) {
        bytes_add_text(&out->left, path);
        bytes_add_text(&out->left, "\n");
        out->n_left++;
        return;
    }
    char *const document = sitting_document_path(path);
    if (document != NULL && unlink(path) == 0) {
        out->recordings++;
        out->not_removed += unlink(document) != 0 && errno != ENOENT;
    } else {
        out->not_removed++;
    }
    free(document);
}

bool forget_learner(logbook *l, const char *learner, forgotten *out, app_err *err)
{
    return logbook_each_recording(l, learner, remove_recording, out, err) &&
           logbook_forget(l, learner, &out->rows, err);
}
