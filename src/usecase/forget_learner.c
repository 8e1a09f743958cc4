#include "src/usecase/forget_learner.h"

#include "src/base/bytes.h"
#include "src/port/file.h"
#include "src/usecase/document_files.h"
#include "src/usecase/live_place.h"

#include <stdlib.h>

/* A live sitting's recording and its document; the rest stays and is named. */
static void remove_recording(void *context, const char *path)
{
    forgotten *const out = context;
    if (!file_is_there(path)) {
        return;
    }
    if (!live_place_holds(path)) {
        bytes_add_text(&out->left, path);
        bytes_add_text(&out->left, "\n");
        out->n_left++;
        return;
    }
    char *const document = sitting_document_path(path);
    if (document != NULL && file_remove(path)) {
        out->recordings++;
        out->not_removed += !file_remove(document);
    } else {
        out->not_removed++;
    }
    free(document);
}

/* Said before anything is removed: others' rows may still be in a copy. */
static bool check_copies(logbook *l, const char *learner, app_err *err)
{
    bytes names = BYTES_NONE;
    int n = 0;
    bool ok = logbook_copies(l, learner, false, &names, &n, err);
    if (ok && n > 0) {
        (void)app_err_set(
            err, APP_USAGE,
            "nothing was removed: %.700s may hold rows of %s, too, and of "
            "others; nothing can take one learner out of a damaged "
            "logbook. Save what is needed of it",
            names.data != NULL ? names.data : "a copy", learner);
        ok = app_err_hint(err, HINT_NONE, HINT_WITH_COPIES);
    }
    bytes_free(&names);
    return ok;
}

static bool remove_copies(logbook *l, const char *learner, forgotten *out, app_err *err)
{
    bytes names = BYTES_NONE;
    const bool ok = logbook_copies(l, learner, true, &names, &out->copies, err);
    bytes_free(&names);
    return ok;
}

bool forget_learner(
    logbook *l, const char *learner, bool with_copies, forgotten *out, app_err *err)
{
    return (with_copies || check_copies(l, learner, err)) &&
           logbook_each_recording(l, learner, remove_recording, out, err) &&
           logbook_forget(l, learner, &out->rows, err) &&
           (!with_copies || remove_copies(l, learner, out, err));
}
