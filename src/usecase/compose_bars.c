#include "src/usecase/compose_bars.h"

#include "dsp/fullminute_compose.h"
#include "src/base/bytes.h"
#include "src/document/truth_document.h"
#include "src/port/sound_writer.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sound_digest.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    LINE_BYTES = 64
};

static bool check(const compose_bars *b, app_err *err)
{
    if (b->n == 0 || b->n > COMPOSE_BARS_MOST) {
        return app_err_set(err, APP_USAGE, "write 1 to %d intervals",
                           COMPOSE_BARS_MOST);
    }
    for (size_t i = 0; i < b->n; i++) {
        if (!(b->intervals_s[i] >= COMPOSE_BARS_MIN_S &&
              b->intervals_s[i] <= COMPOSE_BARS_MAX_S)) {
            return app_err_set(err, APP_USAGE, "interval %zu: give %.2f to %.0f s",
                               i + 1, COMPOSE_BARS_MIN_S, COMPOSE_BARS_MAX_S);
        }
    }
    return true;
}

static fm_recipe recipe_of(const compose_bars *b)
{
    fm_recipe r = fm_recipe_default();
    r.rhythm = FM_COMPOSE_GIVEN;
    r.intervals_s = b->intervals_s;
    r.n_intervals = b->n;
    r.seconds = b->seconds;
    r.breaths_per_min = b->breaths_per_min;
    if (isfinite(b->noise_snr_db)) {
        r.noise[FM_COMPOSE_ROOM] = true;
        r.snr_db = b->noise_snr_db;
    }
    return r;
}

static bool write_both(const char *path,
                       const float *samples,
                       size_t n,
                       const fm_recipe *r,
                       const truth_document *d,
                       app_err *err)
{
    char *const truth_path = truth_document_path(path);
    char *const text = truth_document_format(d);
    file_draft sound = FILE_DRAFT_NONE;
    file_draft truth = FILE_DRAFT_NONE;
    const bool ok = truth_path != NULL && text != NULL
                        ? file_draft_open(&sound, path, false, err) &&
                              file_draft_open(&truth, truth_path, false, err) &&
                              sound_writer_fill(&sound, path, samples, n,
                                                (int)lround(r->rate_hz), err) &&
                              file_draft_write(&truth, text, strlen(text), err) &&
                              file_draft_commit_both(&sound, &truth, err)
                        : app_err_memory(err);
    file_draft_drop(&sound);
    file_draft_drop(&truth);
    free(truth_path);
    free(text);
    return ok;
}

bool compose_bars_write(const compose_bars *b, const char *path, app_err *err)
{
    if (!check(b, err)) {
        return false;
    }
    const fm_recipe r = recipe_of(b);
    const char *const fault = fm_recipe_fault(&r);
    if (fault != NULL) {
        return app_err_set(err, APP_USAGE, "cannot compose it: %s", fault);
    }
    const size_t n = fm_recipe_samples(&r);
    float *const samples = calloc(n + 1, sizeof *samples);
    truth_document d = TRUTH_NONE;
    const fm_status status =
        samples != NULL ? fm_compose(&r, samples, n, &d.truth) : FM_ERR_NOMEM;
    if (status == FM_OK) {
        (void)sound_digest_of_samples(samples, n, d.sound);
    }
    const bool ok = status == FM_OK
                        ? write_both(path, samples, n, &r, &d, err)
                        : app_err_set(err, APP_FAILED, "cannot compose it: %s",
                                      fm_status_text(status));
    truth_document_free(&d);
    free(samples);
    return ok;
}

/* Rows of equal intervals become one `repeat`. */
char *compose_bars_text(const compose_bars *b)
{
    bytes text = BYTES_NONE;
    char line[LINE_BYTES];
    bytes_add_text(&text, "# fullminute.rhythm/1\n");
    for (size_t i = 0; i < b->n;) {
        const long ms = lround(1000.0 * b->intervals_s[i]);
        size_t n = 1;
        while (i + n < b->n && lround(1000.0 * b->intervals_s[i + n]) == ms) {
            n++;
        }
        const double s = (double)ms / 1000.0;
        if (n > 2) {
            (void)snprintf(line, sizeof line, "repeat %zu\n  interval %.3f\nend\n", n,
                           s);
        } else {
            (void)snprintf(line, sizeof line, "interval %.3f\n", s);
            n = 1;
        }
        bytes_add_text(&text, line);
        i += n;
    }
    if (text.failed) {
        bytes_free(&text);
        return NULL;
    }
    return text.data;
}
