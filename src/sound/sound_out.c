#include "src/sound/sound_out.h"

#include <math.h>
#include <string.h>
#include <unistd.h>

enum {
    BLOCK_SAMPLES = 16384
};

SNDFILE *sound_out_open(sound_bytes *o, int fd, SF_INFO *info)
{
    *o = (sound_bytes){.fd = fd, .n = -1};
    SNDFILE *const file = sound_bytes_open(o, SFM_WRITE, info);
    if (file != NULL && o->error != 0) {
        (void)sf_close(file);
        return NULL;
    }
    return file;
}

int sound_out_close(sound_bytes *o, SNDFILE *file)
{
    const bool closed = sf_close(file) == 0;
    return o->error != 0 ? o->error : closed ? 0 : -1;
}

short sound_out_sample(float x)
{
    const float whole = nearbyintf(x * SOUND_OUT_FULL_SCALE);
    return isnan(whole) ? 0
                        : (short)fmaxf(-SOUND_OUT_FULL_SCALE,
                                       fminf(SOUND_OUT_FULL_SCALE - 1.0F, whole));
}

bool sound_out_failed(const char *path, int error, const char *words, app_err *err)
{
    return app_err_set(err, APP_FAILED,
                       "cannot write %s: %s; make room or choose another place", path,
                       error > 0 ? APP_CAUSE(error) : words);
}

/* ---- A whole file, written and read back ---- */

static const char NOT_BACK[] = "what was written does not read back";
static const char NOT_ALL[] = "not all of it could be written";

bool sound_pass_take(const sound_pass *p, const float *in, size_t n, app_err *err)
{
    short block[BLOCK_SAMPLES];
    short back[BLOCK_SAMPLES];
    for (size_t done = 0; done < n;) {
        const size_t part = n - done < BLOCK_SAMPLES ? n - done : BLOCK_SAMPLES;
        for (size_t i = 0; i < part; i++) {
            block[i] = sound_out_sample(in[done + i]);
        }
        const sf_count_t got = p->writing
                                   ? sf_write_short(p->file, block, (sf_count_t)part)
                                   : sf_read_short(p->file, back, (sf_count_t)part);
        if (got != (sf_count_t)part ||
            (!p->writing && memcmp(block, back, part * sizeof *block) != 0)) {
            return sound_out_failed(p->path, p->out.error,
                                    p->writing ? NOT_ALL : NOT_BACK, err);
        }
        done += part;
    }
    return true;
}

static bool write_all(const sound_giving *g, sound_pass *p, int fd, app_err *err)
{
    SF_INFO info = g->is;
    p->file = sound_out_open(&p->out, fd, &info);
    if (p->file == NULL) {
        return sound_out_failed(p->path, p->out.error, sf_strerror(NULL), err);
    }
    const bool ok = g->give(g->context, p, err);
    const int error = sound_out_close(&p->out, p->file);
    return ok && (error == 0 || sound_out_failed(p->path, error, NOT_ALL, err));
}

/* A write that the disk did not take shows at the latest here. */
static bool read_back(const sound_giving *g, sound_pass *p, int fd, app_err *err)
{
    SF_INFO info = {0};
    short rest[SOUND_OUT_CHANNELS];
    const bool begins = lseek(fd, 0, SEEK_SET) == 0;
    p->writing = false;
    p->file = begins ? sf_open_fd(fd, SFM_READ, &info, SF_FALSE) : NULL;
    const bool ok = p->file != NULL && info.channels == g->is.channels &&
                    g->give(g->context, p, err) &&
                    sf_readf_short(p->file, rest, 1) == 0;
    if (p->file != NULL) {
        (void)sf_close(p->file);
    }
    return ok || (err->text[0] == '\0' && sound_out_failed(p->path, 0, NOT_BACK, err));
}

bool sound_out_whole(const file_draft *draft,
                     const char *path,
                     const sound_giving *g,
                     app_err *err)
{
    sound_pass p = {.path = path, .writing = true};
    if (draft->temporary == NULL) {
        return app_err_set(err, APP_FAILED,
                           "cannot write %s: it is no ordinary file; give a file name",
                           path);
    }
    return write_all(g, &p, draft->fd, err) && read_back(g, &p, draft->fd, err);
}
