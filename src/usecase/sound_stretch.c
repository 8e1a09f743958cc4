#include "src/usecase/sound_stretch.h"

#include <math.h>
#include <stdlib.h>

enum {
    FRAMES_AT_ONCE = 4096
};

bool sound_stretch_read(sound_file *file,
                        int64_t first,
                        size_t most,
                        int channel,
                        sound_stretch *out,
                        app_err *err)
{
    const sound_info info = sound_file_info(file);
    const size_t channels = (size_t)info.channels;
    float *const frames = malloc(FRAMES_AT_ONCE * channels * sizeof *frames);
    *out =
        (sound_stretch){.x = calloc(most + 1, sizeof(float)), .rate_hz = info.rate_hz};
    if (frames == NULL || out->x == NULL) {
        free(frames);
        return app_err_memory(err);
    }
    bool ok = first == 0 || sound_file_seek(file, first, err);
    size_t got = 1;
    while (ok && got > 0 && out->n < most) {
        const size_t left = most - out->n;
        got = sound_file_read(file, frames,
                              left < FRAMES_AT_ONCE ? left : FRAMES_AT_ONCE);
        for (size_t i = 0; i < got; i++) {
            const float v = frames[i * channels + (size_t)(channel - 1)];
            out->x[out->n++] = isfinite(v) ? v : 0.0F;
        }
    }
    ok = ok && sound_file_check(file, err);
    free(frames);
    return ok;
}
