#include "src/port/dropped_sound.h"

#include "src/base/bytes.h"
#include "src/port/interrupt.h"
#include "src/port/sound_file.h"
#include "src/port/sound_writer.h"
#include "src/sound/sound_jail.h"

#include <errno.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    FRAMES_AT_ONCE = 4096,
    CHANNELS_MOST = 8,
    PATIENCE_MS = 20000,
    LOOK_MS = 100, /* whether a stop was asked for */
    SAMPLES_MOST = 600 * 192000
};

/* What the child sends first; then n samples, or n bytes of what is wrong. */
struct head {
    uint32_t magic;
    uint32_t ok;
    double rate_hz;
    uint64_t n;
};

static const uint32_t MAGIC = 0x666d6a31;

/* ---- In the child ---- */

static bool send_all(const void *data, size_t n)
{
    const char *at = data;
    while (n > 0) {
        const ssize_t sent = write(STDOUT_FILENO, at, n);
        if (sent <= 0) {
            return false;
        }
        at += sent;
        n -= (size_t)sent;
    }
    return true;
}

static void send_problem(const char *text)
{
    const struct head h = {.magic = MAGIC, .n = strlen(text)};
    (void)(send_all(&h, sizeof h) && send_all(text, h.n));
}

struct reading {
    float *frames;
    int16_t *kept[CHANNELS_MOST];
    double power[CHANNELS_MOST];
    size_t n, most;
    int channels;
};

static void keep(struct reading *r, size_t n, size_t stride)
{
    for (size_t i = 0; i < n && r->n < r->most; i++, r->n++) {
        for (int c = 0; c < r->channels; c++) {
            const float v = r->frames[i * stride + (size_t)c];
            const double x = isfinite(v) ? fmax(-1.0, fmin(1.0, (double)v)) : 0.0;
            r->kept[c][r->n] = (int16_t)lround(32767.0 * x);
            r->power[c] += x * x;
        }
    }
}

static bool read_all(sound_file *file, const sound_info *info, struct reading *r)
{
    const size_t stride = (size_t)info->channels;
    r->channels = info->channels < CHANNELS_MOST ? info->channels : CHANNELS_MOST;
    r->most = (size_t)(DROPPED_SOUND_MAX_S * info->rate_hz);
    if (info->frames != SOUND_FRAMES_UNKNOWN && (size_t)info->frames < r->most) {
        r->most = (size_t)info->frames;
    }
    r->frames = malloc(FRAMES_AT_ONCE * stride * sizeof *r->frames);
    bool ok = r->frames != NULL;
    for (int c = 0; ok && c < r->channels; c++) {
        r->kept[c] = calloc(r->most + 1, sizeof *r->kept[c]);
        ok = r->kept[c] != NULL;
    }
    size_t got = FRAMES_AT_ONCE;
    while (ok && got > 0 && r->n < r->most) {
        got = sound_file_read(file, r->frames, FRAMES_AT_ONCE);
        keep(r, got, stride);
    }
    return ok;
}

/* Never returns to what was running before the fork. */
static void read_in_child(void)
{
    app_err err = APP_ERR_NONE;
    struct reading r = {0};
    if (!sound_jail_enter()) {
        send_problem("this system gives no safe place to read it in");
        return;
    }
    sound_file *const file = sound_file_open("-", &err);
    if (file == NULL) {
        send_problem(err.text);
        return;
    }
    const sound_info info = sound_file_info(file);
    const bool fits = read_all(file, &info, &r);
    if (!sound_file_check(file, &err)) {
        send_problem(err.text);
        return;
    }
    if (!fits || r.n == 0) {
        send_problem(r.n == 0 ? "there is no sound in it" : "it is too large");
        return;
    }
    int loudest = 0;
    for (int c = 1; c < r.channels; c++) {
        loudest = r.power[c] > r.power[loudest] ? c : loudest;
    }
    const struct head h = {.magic = MAGIC, .ok = 1, .rate_hz = info.rate_hz, .n = r.n};
    (void)(send_all(&h, sizeof h) &&
           send_all(r.kept[loudest], r.n * sizeof *r.kept[loudest]));
}

/* ---- In the parent ---- */

static bool failed(app_err *err, const char *what)
{
    return app_err_set(err, APP_FAILED, "%s: %s", what, APP_CAUSE(errno));
}

/* The bytes as a file without a name. */
static FILE *spool(const void *data, size_t n, app_err *err)
{
    FILE *const file = tmpfile();
    if (file != NULL && fwrite(data, 1, n, file) == n && fflush(file) == 0 &&
        lseek(fileno(file), 0, SEEK_SET) == 0) {
        return file;
    }
    (void)failed(err, "no room to read it");
    if (file != NULL) {
        (void)fclose(file);
    }
    return NULL;
}

static pid_t start(FILE *file, int *from, app_err *err)
{
    int pair[2];
    if (pipe(pair) != 0) {
        (void)failed(err, "cannot start reading");
        return -1;
    }
    const pid_t child = fork();
    if (child == 0) {
        if (dup2(fileno(file), STDIN_FILENO) >= 0 &&
            dup2(pair[1], STDOUT_FILENO) >= 0) {
            read_in_child();
        }
        _exit(0);
    }
    (void)close(pair[1]);
    if (child < 0) {
        (void)close(pair[0]);
        (void)failed(err, "cannot start reading");
    }
    *from = pair[0];
    return child;
}

static bool receive(int from, bytes *to)
{
    char block[65536];
    struct pollfd wait = {.fd = from, .events = POLLIN};
    const size_t most = sizeof(struct head) + (size_t)SAMPLES_MOST * sizeof(int16_t);
    for (int waited_ms = 0; waited_ms < PATIENCE_MS && !interrupt_asked();) {
        const int ready = poll(&wait, 1, LOOK_MS);
        if (ready == 0 || (ready < 0 && errno == EINTR)) {
            waited_ms += LOOK_MS;
            continue;
        }
        waited_ms = 0;
        const ssize_t n = ready > 0 ? read(from, block, sizeof block) : -1;
        if (n <= 0 || to->n + (size_t)n > most) {
            return n == 0;
        }
        bytes_add(to, block, (size_t)n);
    }
    return false;
}

static bool write_sound(const struct head *h,
                        const char *data,
                        const char *path,
                        app_err *err)
{
    file_draft draft = FILE_DRAFT_NONE;
    float *const samples = malloc((size_t)h->n * sizeof *samples + 1);
    if (samples == NULL) {
        return app_err_memory(err);
    }
    for (size_t i = 0; i < h->n; i++) {
        int16_t v = 0;
        memcpy(&v, data + i * sizeof v, sizeof v);
        samples[i] = (float)v / 32768.0F;
    }
    const bool ok =
        file_draft_open(&draft, path, false, err) &&
        sound_writer_fill(&draft, path, samples, h->n, (int)lround(h->rate_hz), err) &&
        file_draft_commit(&draft, err);
    file_draft_drop(&draft);
    free(samples);
    return ok;
}

/* The child has it from standard input, of which the person knows nothing. */
static bool say_problem(const char *text, size_t n, app_err *err)
{
    static const char FROM[] = "cannot read standard input: ";
    const size_t skip = n >= sizeof FROM - 1 && memcmp(text, FROM, sizeof FROM - 1) == 0
                            ? sizeof FROM - 1
                            : 0;
    const size_t left = n - skip < 400 ? n - skip : 400;
    return app_err_set(err, APP_UNREADABLE, "cannot read it: %.*s", (int)left,
                       text + skip);
}

/* Whatever came is checked again: the child had somebody else's bytes in it. */
static bool judge(const bytes *got, const char *path, app_err *err)
{
    struct head h = {0};
    const size_t rest = got->n >= sizeof h ? got->n - sizeof h : 0;
    if (got->n >= sizeof h) {
        memcpy(&h, got->data, sizeof h);
    }
    const char *const data = rest > 0 ? got->data + sizeof h : "";
    if (h.magic == MAGIC && h.ok == 0 && h.n > 0 && h.n <= rest) {
        return say_problem(data, (size_t)h.n, err);
    }
    if (h.magic != MAGIC || h.ok != 1 || h.n == 0 || h.n > SAMPLES_MOST ||
        rest != h.n * sizeof(int16_t) ||
        !(h.rate_hz >= 1000.0 && h.rate_hz <= 192000.0)) {
        return app_err_set(err, APP_UNREADABLE,
                           "it cannot be read as a sound file; drop a WAV, FLAC or Ogg "
                           "recording of up to ten minutes");
    }
    return write_sound(&h, data, path, err);
}

bool dropped_sound_take(const void *data, size_t n, const char *path, app_err *err)
{
    int from = -1;
    bytes got = BYTES_NONE;
    FILE *const file = spool(data, n, err);
    if (file == NULL) {
        return false;
    }
    const pid_t child = start(file, &from, err);
    (void)fclose(file);
    if (child < 0) {
        return false;
    }
    if (!receive(from, &got)) {
        (void)kill(child, SIGKILL);
        bytes_clear(&got);
    }
    (void)close(from);
    while (waitpid(child, NULL, 0) < 0 && errno == EINTR) {
    }
    const bool ok = !got.failed && interrupt_check(err) && judge(&got, path, err);
    if (got.failed) {
        (void)app_err_memory(err);
    }
    bytes_free(&got);
    return ok;
}
