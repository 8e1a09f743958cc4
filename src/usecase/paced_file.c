#include "src/usecase/paced_file.h"

#include "src/port/sound_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    CHANNELS_MAX = 8
};

struct paced_file {
    sound_file *file;
    sound_info info;
    bool loops;
};

static size_t read_file(void *context, float *out, size_t n)
{
    paced_file *const p = context;
    const size_t channels = (size_t)p->info.channels;
    app_err ignored = APP_ERR_NONE;
    size_t got = sound_file_read(p->file, out, n);
    while (got < n && p->loops && sound_file_check(p->file, &ignored) &&
           sound_file_position(p->file) > 0 && sound_file_seek(p->file, 0, &ignored)) {
        got += sound_file_read(p->file, out + got * channels, n - got);
    }
    for (size_t i = 0; i < got * channels; i++) {
        if (!isfinite(out[i])) {
            out[i] = 0.0F; /* a converter gives no such thing */
        }
    }
    return got;
}

paced_file *paced_file_open(const char *path, bool loops, app_err *err)
{
    if (path[0] == '\0' || strcmp(path, "-") == 0) {
        (void)app_err_set(err, APP_USAGE, "no recording is named behind 'file:'");
        return NULL;
    }
    paced_file *const p = calloc(1, sizeof *p);
    if (p == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    p->loops = loops;
    p->file = sound_file_open(path, err);
    if (p->file != NULL) {
        p->info = sound_file_info(p->file);
        if (p->info.channels <= CHANNELS_MAX) {
            return p;
        }
        (void)app_err_set(err, APP_UNREADABLE,
                          "%s has %d channels; an input has at most %d", path,
                          p->info.channels, CHANNELS_MAX);
    }
    paced_file_close(p);
    return NULL;
}

capture_reader paced_file_reader(paced_file *p)
{
    return (capture_reader){.read = read_file,
                            .context = p,
                            .rate_hz = p->info.rate_hz,
                            .channels = p->info.channels};
}

void paced_file_close(paced_file *p)
{
    if (p != NULL) {
        sound_file_close(p->file);
        free(p);
    }
}
