#include "src/usecase/compose_make.h"

#include "src/port/sound_writer.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sound_digest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool no_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; compose fewer seconds at once");
}

bool compose_make_open(compose_make *m, const char *path, bool force, app_err *err)
{
    *m = (compose_make){.path = path,
                        .truth_path = truth_document_path(path),
                        .document = TRUTH_NONE,
                        .sound = FILE_DRAFT_NONE,
                        .truth = FILE_DRAFT_NONE};
    return m->truth_path != NULL
               ? sound_writer_knows(path, err) &&
                     file_draft_open(&m->sound, path, force, err) &&
                     file_draft_open(&m->truth, m->truth_path, force, err)
               : no_memory(err);
}

static bool write_both(
    compose_make *m, const float *samples, size_t n, int rate_hz, app_err *err)
{
    (void)sound_digest_of_samples(samples, n, m->document.sound);
    m->text = truth_document_format(&m->document);
    return m->text != NULL
               ? sound_writer_fill(&m->sound, m->path, samples, n, rate_hz, err) &&
                     file_draft_write(&m->truth, m->text, strlen(m->text), err) &&
                     file_draft_commit_both(&m->sound, &m->truth, err)
               : no_memory(err);
}

bool compose_make_write(compose_make *m, const fm_recipe *recipe, app_err *err)
{
    const size_t n = fm_recipe_samples(recipe);
    float *const samples = calloc(n + 1, sizeof *samples);
    const fm_status status = samples != NULL
                                 ? fm_compose(recipe, samples, n, &m->document.truth)
                                 : FM_ERR_NOMEM;
    bool ok = false;
    if (status == FM_OK) {
        ok = write_both(m, samples, n, (int)lround(recipe->rate_hz), err);
    } else if (status == FM_ERR_NOMEM) {
        (void)no_memory(err);
    } else {
        (void)app_err_set(err, APP_USAGE, "cannot compose %s: %s", m->path,
                          fm_status_text(status));
    }
    free(samples);
    return ok;
}

void compose_make_close(compose_make *m)
{
    file_draft_drop(&m->truth);
    file_draft_drop(&m->sound);
    truth_document_free(&m->document);
    free(m->text);
    free(m->truth_path);
}
