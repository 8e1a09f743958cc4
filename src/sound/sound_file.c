#include "src/port/sound_file.h"

#include "src/host/aside.h"
#include "src/port/interrupt.h"
#include "src/sound/sound_bytes.h"
#include "src/sound/sound_format.h"
#include "src/sound/sound_mpeg.h"
#include "src/sound/sound_promise.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    DROP_SAMPLES = 65536,
    SPOOL_BYTES = 65536,
    SPOOL_MIB_MOST = 1024, /* a pipe that never ends must not fill the disk */
    NAME_SHOWN = 400,
    MPEG_SLACK_SAMPLES = 5 * 1152
};

static const double RATE_MIN_HZ = 1000.0;
static const double RATE_MAX_HZ = 192000.0;

struct sound_file {
    sound_bytes bytes;
    char *path;
    bool mpeg; /* its decoder talks on stderr */
    bool may_seek;
    SNDFILE *handle;
    SF_INFO header;
    sound_info info;
    int64_t position;
};

/* The start of a file. */
struct head {
    unsigned char bytes[SOUND_HEAD_BYTES];
    size_t n;
};

/* ---- A quiet stderr round the MPEG decoder ---- */

static pthread_mutex_t quiet_lock = PTHREAD_MUTEX_INITIALIZER;

/* Points stderr nowhere; returns what to restore, or -1. */
static int quiet_begin(const sound_file *file)
{
    if (!file->mpeg) {
        return -1;
    }
    (void)pthread_mutex_lock(&quiet_lock);
    return aside_begin();
}

static void quiet_end(const sound_file *file, int kept)
{
    if (!file->mpeg) {
        return;
    }
    aside_end(kept);
    (void)pthread_mutex_unlock(&quiet_lock);
}

/* ---- Opening ---- */

static const char *shown_name(const char *path)
{
    return strcmp(path, "-") == 0 ? "standard input" : path;
}

static bool cannot_open(const char *path, int error_number, app_err *err)
{
    const char *advice = "check the name and the folder";
    if (error_number == EACCES || error_number == EPERM) {
        advice = "ask for permission to read it, or copy it where you can";
    }
    return app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; %s", shown_name(path),
                       APP_CAUSE(error_number), advice);
}

/* Copies a pipe to a file without a name; returns its descriptor or -1. */
static int spool(int from, const char *path, app_err *err)
{
    static const size_t BYTES = SPOOL_BYTES;
    FILE *const file = tmpfile();
    char *const block = malloc(BYTES);
    int fd = -1;
    bool ok = file != NULL && block != NULL;
    int64_t taken = 0;
    while (ok && interrupt_check(err)) {
        if (taken > (int64_t)SPOOL_MIB_MOST << 20) {
            (void)app_err_set(
                err, APP_UNREADABLE,
                "%s gives more than %d MiB and has not ended; save it as a "
                "file first",
                shown_name(path), (int)SPOOL_MIB_MOST);
            break;
        }
        const ssize_t got = read(from, block, BYTES);
        if (got == 0) {
            (void)fflush(file);
            fd = fcntl(fileno(file), F_DUPFD_CLOEXEC, 3);
            break;
        }
        if (got < 0) {
            ok = errno == EINTR;
        } else {
            ok = fwrite(block, 1, (size_t)got, file) == (size_t)got;
            taken += got;
        }
    }
    if (fd < 0 && err->text[0] == '\0') {
        (void)app_err_set(err, APP_FAILED,
                          "cannot take in %s: %s; save it as a file first",
                          shown_name(path), APP_CAUSE(errno));
    }
    free(block);
    if (file != NULL) {
        (void)fclose(file);
    }
    return fd;
}

/* A descriptor that can seek, or -1 with err. */
static int open_descriptor(const char *path, app_err *err)
{
    int fd =
        strcmp(path, "-") == 0 ? dup(STDIN_FILENO) : open(path, O_RDONLY | O_CLOEXEC);
    struct stat info;
    if (fd < 0 || fstat(fd, &info) != 0) {
        const int failed = errno;
        (void)(interrupt_check(err) && cannot_open(path, failed, err));
        goto fail;
    }
    if (S_ISDIR(info.st_mode)) {
        (void)app_err_set(err, APP_UNREADABLE,
                          "%s is a folder; name one sound file in it", path);
        goto fail;
    }
    if (S_ISFIFO(info.st_mode) || S_ISSOCK(info.st_mode)) {
        const int spooled = spool(fd, path, err);
        (void)close(fd);
        return spooled;
    }
    if (!S_ISREG(info.st_mode)) {
        (void)app_err_set(err, APP_UNREADABLE,
                          "%s is a device, not a recording; name a sound file",
                          shown_name(path));
        goto fail;
    }
    return fd;
fail:
    if (fd >= 0) {
        (void)close(fd);
    }
    return -1;
}

/* A name fit for a shell: 'it'\''s.m4a'. Long names are shown as IN. */
static const char *quoted(const char *path, char out[NAME_SHOWN])
{
    size_t used = 0;
    out[used++] = '\'';
    for (const char *c = path; *c != '\0'; c++) {
        if (used + 8 > NAME_SHOWN) {
            return "IN";
        }
        if (*c == '\'') {
            memcpy(out + used, "'\\'", 3);
            used += 3;
        }
        out[used++] = *c;
    }
    out[used++] = '\'';
    out[used] = '\0';
    return strcmp(path, "-") == 0 ? "IN" : out;
}

static bool not_readable(const char *path, const struct head *head, app_err *err)
{
    const char *const name = shown_name(path);
    const sound_format format = sound_format_guess(head->bytes, head->n);
    char in[NAME_SHOWN];
    switch (format.kind) {
    case SOUND_KIND_SOUND:
        return app_err_set(
            err, APP_UNREADABLE,
            "cannot read %s: it is %s; convert it once with: ffmpeg -i %s "
            "-ac 1 OUT.wav",
            name, format.name, quoted(path, in));
    case SOUND_KIND_OTHER:
        return app_err_set(
            err, APP_UNREADABLE,
            "cannot read %s: it is %s, not a sound file; name a recording "
            "(WAV, FLAC, Ogg, MP3 and others)",
            name, format.name);
    case SOUND_KIND_UNKNOWN:
    default:
        return app_err_set(
            err, APP_UNREADABLE,
            "cannot read %s: not a sound file this program knows, or its "
            "start is damaged (%s); if it plays elsewhere, convert it "
            "with: ffmpeg -i %s -ac 1 OUT.wav",
            name, sf_strerror(NULL), quoted(path, in));
    }
}

/* False. Short of memory, libsndfile says that it does not know a file or that the file ends;
 * that an allocation failed is in errno, 0 before the call. */
static bool failed(sound_file *file)
{
    if (errno == ENOMEM && file->bytes.error == 0) {
        file->bytes.error = ENOMEM;
    }
    return false;
}

static bool open_handle(sound_file *file)
{
    if (file->handle != NULL) {
        (void)sf_close(file->handle);
    }
    file->header = (SF_INFO){0};
    errno = 0;
    file->handle = sound_bytes_open(&file->bytes, SFM_READ, &file->header);
    return file->handle != NULL || failed(file);
}

static bool check_rate(double rate_hz, const char *name, app_err *err)
{
    return (rate_hz >= RATE_MIN_HZ && rate_hz <= RATE_MAX_HZ) ||
           app_err_set(
               err, APP_UNREADABLE,
               "cannot use %s: its header gives a sample rate of %.0f Hz, and this "
               "program takes %.0f to %.0f Hz; convert it, or correct the header if "
               "it is wrong",
               name, rate_hz, RATE_MIN_HZ, RATE_MAX_HZ);
}

static bool check_channels(double channels, const char *name, app_err *err)
{
    return (channels >= 1.0 && channels <= SOUND_CHANNELS_MAX) ||
           app_err_set(
               err, APP_UNREADABLE,
               "cannot use %s: its header gives %.0f channels, and this program "
               "takes 1 to %d; correct the header or record it again",
               name, channels, SOUND_CHANNELS_MAX);
}

/* libsndfile has no good words for some absurd headers: look before it does. */
static bool check_first_bytes(const struct head *head, const char *path, app_err *err)
{
    const sound_wav_header wav = sound_format_wav_header(head->bytes, head->n);
    const char *const name = shown_name(path);
    return !wav.found || (check_rate((double)wav.rate_hz, name, err) &&
                          check_channels((double)wav.channels, name, err));
}

static bool check_header(const sound_file *file, const char *path, app_err *err)
{
    const char *const name = shown_name(path);
    if (!check_rate(file->header.samplerate, name, err) ||
        !check_channels(file->header.channels, name, err)) {
        return false;
    }
    return file->header.frames > 0 ||
           app_err_set(
               err, APP_UNREADABLE,
               "cannot use %s: its header says it holds no sound; record it again "
               "or copy it again",
               name);
}

/* A sound with a part missing inside has no times that could be trusted. */
static bool check_promise(sound_file *file, const char *path, app_err *err)
{
    const sound_promise promise = sound_promise_check(&file->bytes);
    file->info.truncated = promise == SOUND_PROMISE_CUT;
    return promise != SOUND_PROMISE_HOLE ||
           app_err_set(err, APP_UNREADABLE,
                       "cannot use %s: a part inside it is damaged or missing, so that "
                       "beats behind it would be counted at wrong times; copy it again "
                       "or record it again",
                       shown_name(path));
}

/* An MPEG file that does not say its length is believed to be as long as its first frame
 * makes it, and nothing is read behind that: a rate of bits that varies is then counted to
 * a fraction. Encoders add up to some frames of silence. */
static bool check_mpeg_length(sound_file *file, const char *path, app_err *err)
{
    char in[NAME_SHOWN];
    const sound_mpeg_look is = sound_mpeg_walk(&file->bytes);
    const bool fits = llabs(is.samples - file->header.frames) <= MPEG_SLACK_SAMPLES;
    return is.says_length || is.samples == 0 || fits ||
           app_err_set(
               err, APP_UNREADABLE,
               "cannot use %s: its header does not say how long it is, and only "
               "%.0f of its %.0f s could be reached; convert it once with: "
               "ffmpeg -i %s -ac 1 OUT.wav",
               shown_name(path),
               fmin((double)file->header.frames, (double)is.samples) /
                   file->header.samplerate,
               (double)is.samples / file->header.samplerate, quoted(path, in));
}

/* Is the last promised frame really there? Leaves the handle anywhere. */
static bool last_frame_is_there(sound_file *file)
{
    const sf_count_t last = file->header.frames - 1;
    float frame[SOUND_CHANNELS_MAX];
    errno = 0;
    return (sf_seek(file->handle, last, SEEK_SET) == last &&
            sf_readf_float(file->handle, frame, 1) == 1) ||
           failed(file);
}

/* Finds out how long the file really is, as far as that can be had without decoding. */
static bool measure_length(sound_file *file)
{
    sound_info *const info = &file->info;
    info->rate_hz = file->header.samplerate;
    info->channels = file->header.channels;
    info->frames = file->header.frames;
    file->may_seek = file->header.seekable != 0;
    /* Streams with no length in the header show a number near the largest there is. */
    const bool stated = file->header.frames < INT64_MAX / 2;
    if (!stated) {
        info->frames = SOUND_FRAMES_UNKNOWN;
        file->may_seek = false;
        return true;
    }
    if (!file->may_seek) {
        info->frames = SOUND_FRAMES_UNKNOWN;
        return true;
    }
    if (!last_frame_is_there(file)) {
        info->truncated = true;
        info->frames = SOUND_FRAMES_UNKNOWN;
        file->may_seek = false;
    }
    /* A decoder that has been at the end does not always come back exactly. */
    return open_handle(file);
}

/* The first bytes and the size of an open descriptor; false for an empty file. */
static bool read_head(sound_file *file,
                      const char *path,
                      struct head *head,
                      app_err *err)
{
    struct stat status;
    head->n = sound_bytes_read(&file->bytes, head->bytes, sizeof head->bytes, 0);
    if (fstat(file->bytes.fd, &status) != 0) {
        return cannot_open(path, errno, err);
    }
    if (head->n == 0) {
        return app_err_set(err, APP_UNREADABLE,
                           "%s is empty (0 bytes); record it again or copy it again",
                           shown_name(path));
    }
    file->bytes.n = status.st_size;
    return true;
}

/* Lets libsndfile open it and checks what it found. */
static bool open_sound(sound_file *file,
                       const char *path,
                       const struct head *head,
                       app_err *err)
{
    if (!check_first_bytes(head, path, err)) {
        return false;
    }
    file->mpeg = sound_format_is_mpeg(head->bytes, head->n);
    const int kept = quiet_begin(file);
    const bool opened = open_handle(file);
    const bool sane = opened && check_header(file, path, err) &&
                      check_promise(file, path, err) &&
                      (!file->mpeg || check_mpeg_length(file, path, err));
    const bool ready = sane && measure_length(file);
    quiet_end(file, kept);
    if (!opened || (sane && !ready)) {
        return not_readable(path, head, err);
    }
    return ready;
}

sound_file *sound_file_open(const char *path, app_err *err)
{
    sound_file *const file = calloc(1, sizeof *file);
    if (file == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    struct head head;
    file->path = strdup(shown_name(path));
    file->bytes.fd = open_descriptor(path, err);
    bool ok = file->bytes.fd >= 0 && read_head(file, path, &head, err) &&
              open_sound(file, path, &head, err);
    /* Whatever was made of it, a read that failed is the cause. */
    if (!sound_file_check(file, err) || !ok) {
        sound_file_close(file);
        return NULL;
    }
    return file;
}

/* ---- Reading ---- */

bool sound_file_check(const sound_file *file, app_err *err)
{
    const char *const name = file->path != NULL ? file->path : "the recording";
    if (file->bytes.error == ENOMEM) {
        return app_err_set(
            err, APP_FAILED,
            "cannot read %s: not enough memory; close other programs and "
            "try again (a damaged file can ask for more than there is)",
            name);
    }
    return file->bytes.error == 0 ||
           app_err_set(err, APP_FAILED,
                       "cannot read %s to its end: %s; what it lies on failed while it "
                       "was read: try again, or copy it elsewhere first",
                       name, APP_CAUSE(file->bytes.error));
}

sound_info sound_file_info(const sound_file *file)
{
    return file->info;
}

int64_t sound_file_position(const sound_file *file)
{
    return file->position;
}

size_t sound_file_read(sound_file *file, float *out, size_t n)
{
    const size_t channels = (size_t)file->info.channels;
    const int kept = quiet_begin(file);
    size_t done = 0;
    errno = 0;
    while (done < n) {
        const sf_count_t got =
            sf_readf_float(file->handle, out + done * channels, (sf_count_t)(n - done));
        if (got <= 0) {
            (void)failed(file);
            break;
        }
        done += (size_t)got;
    }
    quiet_end(file, kept);
    file->position += (int64_t)done;
    return done;
}

static bool ends_before(const sound_file *file, int64_t frame, app_err *err)
{
    return sound_file_check(file, err) &&
           app_err_set(err, APP_UNREADABLE,
                       "the recording ends at %.3f s, before %.3f s",
                       (double)file->position / file->info.rate_hz,
                       (double)frame / file->info.rate_hz);
}

static bool read_and_drop(sound_file *file, int64_t frame, app_err *err)
{
    const size_t channels = (size_t)file->info.channels;
    const size_t n = DROP_SAMPLES / channels;
    float *const block = malloc(n * channels * sizeof *block);
    bool ok = block != NULL || app_err_memory(err);
    while (ok && file->position < frame) {
        const int64_t left = frame - file->position;
        const size_t want = left < (int64_t)n ? (size_t)left : n;
        ok = interrupt_check(err);
        if (ok && sound_file_read(file, block, want) < want) {
            ok = ends_before(file, frame, err);
        }
    }
    free(block);
    return ok;
}

static bool start_again(sound_file *file, app_err *err)
{
    const int kept = quiet_begin(file);
    const bool ok = open_handle(file);
    quiet_end(file, kept);
    file->position = 0;
    return sound_file_check(file, err) &&
           (ok ||
            app_err_set(err, APP_UNREADABLE, "the recording cannot be read again"));
}

bool sound_file_seek(sound_file *file, int64_t frame, app_err *err)
{
    if (file->may_seek) {
        const int kept = quiet_begin(file);
        const sf_count_t at = sf_seek(file->handle, frame, SEEK_SET);
        quiet_end(file, kept);
        if (at == frame) {
            file->position = frame;
            return true;
        }
        file->may_seek = false;
        if (!sound_file_check(file, err) || !start_again(file, err)) {
            return false;
        }
    }
    if (frame < file->position && !start_again(file, err)) {
        return false;
    }
    return read_and_drop(file, frame, err);
}

void sound_file_close(sound_file *file)
{
    if (file == NULL) {
        return;
    }
    const int kept = quiet_begin(file);
    if (file->handle != NULL) {
        (void)sf_close(file->handle);
    }
    quiet_end(file, kept);
    if (file->bytes.fd >= 0) {
        (void)close(file->bytes.fd);
    }
    free(file->path);
    free(file);
}
