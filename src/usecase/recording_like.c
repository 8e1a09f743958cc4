#include "src/usecase/recording_like.h"

#include "src/usecase/document_files.h"

#include <stdlib.h>
#include <string.h>

/* Common practice, no source: as the adult range of dsp/compare/reference_range.c. */
#define SLOW_BELOW 60
#define MINUTE_S   60.0

static bool is_slow(const fm_truth *t)
{
    size_t beats = 0;
    while (beats < t->n_s1 && t->s1_s[beats] < MINUTE_S) {
        beats++;
    }
    return t->duration_s >= MINUTE_S && beats < SLOW_BELOW;
}

static bool is_irregular(const fm_truth *t)
{
    return t->pattern_known && t->pattern != FM_PATTERN_REGULAR &&
           t->pattern != FM_PATTERN_UNDETERMINED;
}

bool recording_like(const char *path, const char *like)
{
    app_err ignored = APP_ERR_NONE;
    truth_document d = TRUTH_NONE;
    char *const beside = truth_document_path(path);
    const bool read = beside != NULL && truth_document_read(beside, &d, &ignored);
    const bool is =
        read && ((strcmp(like, "slow") == 0 && is_slow(&d.truth)) ||
                 (strcmp(like, "irregular") == 0 && is_irregular(&d.truth)));
    truth_document_free(&d);
    free(beside);
    return is;
}
