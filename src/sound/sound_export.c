#include "src/sound/sound_export.h"

#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/port/sound_file.h"
#include "src/sound/sound_out.h"

#include <math.h>
#include <string.h>
#include <strings.h>

enum {
    BLOCK_FRAMES = 1024
};

static bool give(const void *context, const sound_pass *to, app_err *err)
{
    float in[BLOCK_FRAMES * SOUND_OUT_CHANNELS];
    sound_file *const from = sound_file_open(context, err);
    bool ok = from != NULL;
    size_t n = 0;
    while (ok && (n = sound_file_read(from, in, BLOCK_FRAMES)) > 0) {
        const size_t channels = (size_t)sound_file_info(from).channels;
        ok = interrupt_asked() ? app_err_set(err, APP_INTERRUPTED,
                                             "stopped; %s was not written", to->path)
                               : sound_pass_take(to, in, n * channels, err);
    }
    ok = ok && sound_file_check(from, err);
    sound_file_close(from);
    return ok;
}

/* Of a FLAC file as the recording is. */
static bool look(const char *from, SF_INFO *out, app_err *err)
{
    sound_file *const file = sound_file_open(from, err);
    if (file == NULL) {
        return false;
    }
    const sound_info is = sound_file_info(file);
    sound_file_close(file);
    *out = (SF_INFO){.samplerate = (int)lround(is.rate_hz),
                     .channels = is.channels,
                     .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    return is.channels <= SOUND_OUT_CHANNELS ||
           app_err_set(err, APP_USAGE, "%s: %d channels, and FLAC holds %d", from,
                       is.channels, SOUND_OUT_CHANNELS);
}

bool sound_export_flac(const char *from, const char *to, bool force, app_err *err)
{
    const char *const dot = strrchr(to, '.');
    if (dot == NULL || strcasecmp(dot, ".flac") != 0 || strcmp(from, "-") == 0) {
        return app_err_set(err, APP_USAGE,
                           "%s: a FLAC file is made from a file, and its name must end "
                           "in .flac",
                           to);
    }
    file_draft draft;
    sound_giving g = {.give = give, .context = from};
    if (!look(from, &g.is, err) || !file_draft_open(&draft, to, force, err)) {
        return false;
    }
    if (!sound_out_whole(&draft, to, &g, err)) {
        file_draft_drop(&draft);
        return false;
    }
    return file_draft_commit(&draft, err);
}
