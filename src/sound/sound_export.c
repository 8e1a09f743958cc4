#include "src/sound/sound_export.h"

#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/port/sound_file.h"
#include "src/sound/sound_out.h"

#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

enum {
    BLOCK_FRAMES = 1024,
    CHANNELS_MOST = 8 /* of FLAC (RFC 9639, section 9.1.3) */
};

/* One pass over the source: writes it, or compares it with what was written. */
static bool pass(
    sound_file *from, SNDFILE *flac, bool writing, const char *to, app_err *err)
{
    const int channels = sound_file_info(from).channels;
    float in[BLOCK_FRAMES * CHANNELS_MOST];
    short block[BLOCK_FRAMES * CHANNELS_MOST];
    short back[BLOCK_FRAMES * CHANNELS_MOST];
    size_t n = 0;
    while ((n = sound_file_read(from, in, BLOCK_FRAMES)) > 0) {
        if (interrupt_asked()) {
            return app_err_set(err, APP_INTERRUPTED, "stopped; %s was not written", to);
        }
        const size_t values = n * (size_t)channels;
        for (size_t i = 0; i < values; i++) {
            block[i] = sound_out_sample(in[i]);
        }
        if (writing) {
            if (sf_writef_short(flac, block, (sf_count_t)n) != (sf_count_t)n) {
                return sound_out_failed(to, errno, sf_strerror(flac), err);
            }
        } else if (sf_readf_short(flac, back, (sf_count_t)n) != (sf_count_t)n ||
                   memcmp(block, back, values * sizeof *block) != 0) {
            return sound_out_failed(to, 0, "what was written does not read back", err);
        }
    }
    return sound_file_check(from, err);
}

static bool open_and_pass(
    const char *from, int fd, bool writing, const char *to, app_err *err)
{
    sound_file *const source = sound_file_open(from, err);
    if (source == NULL) {
        return false;
    }
    const sound_info is = sound_file_info(source);
    SF_INFO info = {.samplerate = (int)lround(is.rate_hz),
                    .channels = is.channels,
                    .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    if (!writing) {
        info = (SF_INFO){0};
    }
    bool ok = is.channels <= CHANNELS_MOST ||
              app_err_set(err, APP_USAGE, "%s: %d channels, and FLAC holds 8", from,
                          is.channels);
    SNDFILE *flac = NULL;
    sound_out out = {.fd = fd};
    errno = 0;
    if (ok && lseek(fd, 0, SEEK_SET) == 0) {
        flac = writing ? sound_out_open(&out, fd, &info)
                       : sf_open_fd(fd, SFM_READ, &info, SF_FALSE);
    }
    if (ok && flac == NULL) {
        ok = sound_out_failed(to, 0, sf_strerror(NULL), err);
    }
    ok = ok && pass(source, flac, writing, to, err);
    const int error = flac != NULL ? sound_out_close(&out, flac) : 0;
    if (error != 0 && ok && writing) {
        ok = sound_out_failed(to, error, "not all of it could be written", err);
    }
    sound_file_close(source);
    return ok;
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
    if (!file_draft_open(&draft, to, force, err)) {
        return false;
    }
    if (draft.temporary == NULL) {
        file_draft_drop(&draft);
        return app_err_set(err, APP_FAILED,
                           "cannot write %s: it is no ordinary file; give a file name",
                           to);
    }
    if (!open_and_pass(from, draft.fd, true, to, err) ||
        !open_and_pass(from, draft.fd, false, to, err)) {
        file_draft_drop(&draft);
        return false;
    }
    return file_draft_commit(&draft, err);
}
