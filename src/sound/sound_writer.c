#include "src/port/sound_writer.h"

#include "src/sound/sound_out.h"

#include <string.h>
#include <strings.h>

/* libsndfile's major format for a name; 0 when the name says none of ours. */
static int format_of(const char *path)
{
    const char *const dot = strrchr(file_base_name(path), '.');
    if (dot != NULL && strcasecmp(dot, ".wav") == 0) {
        return SF_FORMAT_WAV;
    }
    if (dot != NULL && strcasecmp(dot, ".flac") == 0) {
        return SF_FORMAT_FLAC;
    }
    return 0;
}

bool sound_writer_knows(const char *path, app_err *err)
{
    return format_of(path) != 0 ||
           app_err_set(err, APP_USAGE,
                       "%s: the name must end in .wav or .flac, which says the format",
                       path);
}

/* samples[0..n-1] */
typedef struct mono {
    const float *samples;
    size_t n;
} mono;

static bool give(const void *context, const sound_pass *to, app_err *err)
{
    const mono *const all = context;
    return sound_pass_take(to, all->samples, all->n, err);
}

bool sound_writer_fill(file_draft *draft,
                       const char *path,
                       const float *samples,
                       size_t n,
                       int rate_hz,
                       app_err *err)
{
    const mono all = {samples, n};
    const sound_giving g = {.is = {.samplerate = rate_hz,
                                   .channels = 1,
                                   .format = format_of(path) | SF_FORMAT_PCM_16},
                            .give = give,
                            .context = &all};
    return sound_writer_knows(path, err) && sound_out_whole(draft, path, &g, err);
}
