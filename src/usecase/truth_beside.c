#include "src/usecase/truth_beside.h"

#include "src/port/file.h"
#include "src/port/sound_file.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sound_digest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A truth has its length to the millisecond; an encoder may add a little at the end. */
static const double LENGTH_SLACK_S = 0.1;
static const double RATE_SLACK_HZ = 0.5;

static bool of_another(const char *path, const char *sound_path, app_err *err)
{
    (void)app_err_set(err, APP_UNREADABLE,
                      "%s is of another sound than %s: move it away or put its own "
                      "sound back",
                      path, sound_path);
    return app_err_hint(err, HINT_NONE, HINT_NO_TRUTH);
}

static bool header_fits(const truth_document *d, const sound_info *is)
{
    const fm_truth *const t = &d->truth;
    const bool known = is->frames != SOUND_FRAMES_UNKNOWN && t->duration_s > 0.0;
    const double length_s = (double)is->frames / is->rate_hz;
    return !(fabs(t->rate_hz - is->rate_hz) > RATE_SLACK_HZ) &&
           !(known && fabs(t->duration_s - length_s) > LENGTH_SLACK_S);
}

bool truth_beside_look(const truth_document *d,
                       const char *sound_path,
                       truth_found *found,
                       app_err *err)
{
    char digits[DIGEST_TEXT_BYTES];
    sound_file *const file = sound_file_open(sound_path, err);
    if (file == NULL) {
        return false;
    }
    const sound_info is = sound_file_info(file);
    sound_file_close(file);
    *found = header_fits(d, &is) ? TRUTH_FOUND_FITS : TRUTH_FOUND_ANOTHER;
    if (*found == TRUTH_FOUND_ANOTHER || d->sound[0] == '\0') {
        return true;
    }
    if (!sound_digest_of_file(sound_path, digits, err)) {
        return false;
    }
    *found = strcmp(digits, d->sound) == 0 ? TRUTH_FOUND_PROVEN : TRUTH_FOUND_ANOTHER;
    return true;
}

bool truth_beside_is_doubtful(truth_found found,
                              double known_per_min,
                              double low_per_min,
                              double high_per_min)
{
    return found != TRUTH_FOUND_PROVEN &&
           (isless(known_per_min, floor(low_per_min)) ||
            isgreater(known_per_min, ceil(high_per_min)));
}

bool truth_beside_fits(const truth_document *d,
                       const char *path,
                       const char *sound_path,
                       truth_found *found,
                       app_err *err)
{
    return truth_beside_look(d, sound_path, found, err) &&
           (*found != TRUTH_FOUND_ANOTHER || of_another(path, sound_path, err));
}

bool truth_beside_read(const char *sound_path,
                       truth_document *d,
                       truth_found *found,
                       app_err *err)
{
    *d = (truth_document)TRUTH_NONE;
    *found = TRUTH_FOUND_NONE;
    char *const path = truth_document_path(sound_path);
    if (path == NULL) {
        return app_err_memory(err);
    }
    const bool ok =
        !file_is_there(path) || (truth_document_read(path, d, err) &&
                                 truth_beside_fits(d, path, sound_path, found, err));
    free(path);
    if (!ok) {
        truth_document_free(d);
    }
    return ok;
}
