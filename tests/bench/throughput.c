/*
 * Recorded hours a core-second: counting against plain decoding of the same files by
 * libsndfile (the floor) and against a trial script. One command; every round times each
 * of them once, in turn, and the ratios are medians of the rounds' own ratios, so that a
 * machine that is slow for a while is slow for both. See README.md.
 */
#include "dsp/analyser.h"
#include "dsp/fullminute_compose.h"

#include <fcntl.h>
#include <sndfile.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#ifndef BENCH_PROGRAM
#define BENCH_PROGRAM ""
#endif

extern char **environ;

enum {
    KINDS = 4,
    ROUNDS_LEAST = 5,
    ROUNDS_MOST = 99,
    BATCH_FILES = 20,
    BLOCK_SAMPLES = 4096,
    PATH_BYTES = 256
};

static const double SECONDS = 60.0;
static const uint64_t SEED = 4711;
static const char EMPTY[] = "";

typedef struct kind {
    const char *name;
    double rate_hz;
    int format;
    const char *file;
} kind;

static const kind KINDS_OF_FILE[KINDS] = {
    {"4 kHz WAV", 4000.0, SF_FORMAT_WAV | SF_FORMAT_PCM_16, "4k.wav"},
    {"4 kHz FLAC", 4000.0, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "4k.flac"},
    {"44.1 kHz WAV", 44100.0, SF_FORMAT_WAV | SF_FORMAT_PCM_16, "44k.wav"},
    {"44.1 kHz FLAC", 44100.0, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "44k.flac"},
};

typedef struct times {
    double decode_ms[ROUNDS_MOST];
    double count_ms[ROUNDS_MOST];  /* with an analyser kept */
    double new_ms[ROUNDS_MOST];    /* with a new one */
    double batch_ms[ROUNDS_MOST];  /* a file of the batch, start to end */
    double script_ms[ROUNDS_MOST]; /* 0 when skipped */
    int beats;
} times;

typedef struct options {
    const char *program;
    const char *script;
    int rounds;
    bool cores;
} options;

static double clock_ms(clockid_t clock)
{
    struct timespec t;
    (void)clock_gettime(clock, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static double children_ms(void)
{
    struct rusage u;
    (void)getrusage(RUSAGE_CHILDREN, &u);
    return 1e3 * (double)(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
           1e-3 * (double)(u.ru_utime.tv_usec + u.ru_stime.tv_usec);
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(const double *v, int n)
{
    double sorted[ROUNDS_MOST];
    memcpy(sorted, v, (size_t)n * sizeof *v);
    qsort(sorted, (size_t)n, sizeof *sorted, compare_doubles);
    return n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
}

static double median_ratio(const double *a, const double *b, int n)
{
    double ratio[ROUNDS_MOST];
    for (int i = 0; i < n; i++) {
        ratio[i] = a[i] / b[i];
    }
    return median(ratio, n);
}

/* ---- The files ---- */

static bool compose_file(const char *folder, const kind *k)
{
    char path[PATH_BYTES];
    fm_recipe recipe = fm_recipe_default();
    fm_truth truth = {0};
    recipe.seconds = SECONDS;
    recipe.rate_hz = k->rate_hz;
    recipe.seed = SEED;
    recipe.snr_db = 15.0;
    recipe.noise[FM_COMPOSE_ROOM] = true;
    const size_t n = fm_recipe_samples(&recipe);
    float *samples = malloc((n + 1) * sizeof *samples);
    bool good = samples != NULL && fm_compose(&recipe, samples, n, &truth) == FM_OK;
    fm_truth_free(&truth);
    SF_INFO info = {.samplerate = (int)k->rate_hz, .channels = 1, .format = k->format};
    (void)snprintf(path, sizeof path, "%s/%s", folder, k->file);
    SNDFILE *file = good ? sf_open(path, SFM_WRITE, &info) : NULL;
    good = file != NULL &&
           sf_write_float(file, samples, (sf_count_t)n) == (sf_count_t)n &&
           sf_close(file) == 0;
    free(samples);
    return good;
}

/* A folder of n links to one file, for the batch. */
static bool link_files(const char *folder, const char *name, const kind *k, int n)
{
    char links[PATH_BYTES];
    char path[2 * PATH_BYTES];
    char target[PATH_BYTES];
    const char *const dot = strrchr(k->file, '.');
    (void)snprintf(links, sizeof links, "%s/%s-%s", folder, name, k->file);
    (void)snprintf(target, sizeof target, "../%s", k->file);
    bool good = mkdir(links, 0700) == 0;
    for (int i = 0; i < n && good; i++) {
        (void)snprintf(path, sizeof path, "%s/%02d%s", links, i, dot);
        good = symlink(target, path) == 0;
    }
    return good;
}

/* ---- What is timed ---- */

/* Decodes a file block by block; with an analyser it is counted as well. */
static bool decode(const char *path, fm_analyser *a)
{
    static float block[BLOCK_SAMPLES];
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    bool good = file != NULL;
    sf_count_t n = 0;
    while (good && (n = sf_readf_float(file, block, BLOCK_SAMPLES)) > 0) {
        good = a == NULL || fm_analyser_push(a, block, (size_t)n) == FM_OK;
    }
    if (file != NULL) {
        (void)sf_close(file);
    }
    return good;
}

static bool time_decode(const char *path, double *ms)
{
    const double start = clock_ms(CLOCK_PROCESS_CPUTIME_ID);
    const bool good = decode(path, NULL);
    *ms = clock_ms(CLOCK_PROCESS_CPUTIME_ID) - start;
    return good;
}

/* Counts the first minute of a file with an analyser that knows no samples yet. */
static bool count_file(fm_analyser *a, const char *path, double rate_hz, int *beats)
{
    static fm_count count;
    const bool good = fm_analyser_open(a, 0, (int64_t)(SECONDS * rate_hz)) == FM_OK &&
                      decode(path, a) && fm_analyser_finish(a) == FM_OK &&
                      fm_analyser_take(a, &count);
    *beats = (int)count.heart.count.n;
    return good;
}

/* With an analyser kept from file to file, as a worker of `batch` does. */
static bool time_count(
    fm_analyser *kept, const char *path, double rate_hz, double *ms, int *beats)
{
    const double start = clock_ms(CLOCK_PROCESS_CPUTIME_ID);
    (void)fm_analyser_reset(kept, 0);
    const bool good = count_file(kept, path, rate_hz, beats);
    *ms = clock_ms(CLOCK_PROCESS_CPUTIME_ID) - start;
    return good;
}

/* With a new one: its tables, and memory that the system has yet to clear. */
static bool time_new(const char *path, double rate_hz, double *ms)
{
    int beats = 0;
    const double start = clock_ms(CLOCK_PROCESS_CPUTIME_ID);
    fm_analyser *a = fm_analyser_create(rate_hz, NULL);
    const bool good = a != NULL && count_file(a, path, rate_hz, &beats);
    fm_analyser_destroy(a);
    *ms = clock_ms(CLOCK_PROCESS_CPUTIME_ID) - start;
    return good;
}

/* Starts `fullminute batch` on a folder; returns its process or -1. Spawned, not forked:
 * a fork has this process copy its pages again, in what is timed next. */
static pid_t start_batch(const char *program, const char *folder, const char *jobs)
{
    char text[8][2 * PATH_BYTES];
    const char *const said[8] = {program, "batch",   folder,   "--out",
                                 "-",     "--quiet", "--jobs", jobs};
    char *words[9] = {NULL};
    for (size_t i = 0; i < 8; i++) {
        (void)snprintf(text[i], sizeof text[i], "%s", said[i]);
        words[i] = text[i];
    }
    posix_spawn_file_actions_t files;
    pid_t child = -1;
    if (posix_spawn_file_actions_init(&files) != 0) {
        return -1;
    }
    if (posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY,
                                         0) != 0 ||
        posix_spawnp(&child, program, &files, NULL, words, environ) != 0) {
        child = -1;
    }
    (void)posix_spawn_file_actions_destroy(&files);
    return child;
}

static bool end_batch(pid_t child)
{
    int status = 0;
    return child > 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) &&
           WEXITSTATUS(status) == 0;
}

static bool time_batch(const char *program, const char *folder, double *file_ms)
{
    const double start = children_ms();
    const bool good = end_batch(start_batch(program, folder, "1"));
    *file_ms = (children_ms() - start) / BATCH_FILES;
    return good;
}

/* One call of the script after one made beforehand, 0 when it cannot run. */
static double time_script(const char *script, const char *path)
{
    char command[4096];
    char line[128] = "";
    if (script[0] == '\0' || access(script, R_OK) != 0) {
        return 0.0;
    }
    (void)snprintf(command, sizeof command,
                   "/usr/bin/python3 '%s' '%s' '%s' 1 2>/dev/null", BENCH_SCRIPT_TIMER,
                   script, path);
    FILE *out = popen(command, "r");
    const bool read = out != NULL && fgets(line, sizeof line, out) != NULL;
    if (out == NULL || pclose(out) != 0 || !read) {
        return 0.0;
    }
    return strtod(line, NULL);
}

/* ---- The table ---- */

static bool time_kind(const options *o, const char *folder, const kind *k, times *t)
{
    char path[PATH_BYTES];
    char links[PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/%s", folder, k->file);
    (void)snprintf(links, sizeof links, "%s/of-%s", folder, k->file);
    double warm = 0.0;
    /* The script reads WAV only, and the sound is the same. */
    const bool is_wav = (k->format & SF_FORMAT_TYPEMASK) == SF_FORMAT_WAV;
    fm_analyser *kept = fm_analyser_create(k->rate_hz, NULL);
    bool good = kept != NULL && time_decode(path, &warm) &&
                time_count(kept, path, k->rate_hz, &warm, &t->beats); /* not counted */
    for (int i = 0; i < o->rounds && good; i++) {
        good = time_decode(path, &t->decode_ms[i]) &&
               time_count(kept, path, k->rate_hz, &t->count_ms[i], &t->beats) &&
               time_new(path, k->rate_hz, &t->new_ms[i]) &&
               time_batch(o->program, links, &t->batch_ms[i]);
        t->script_ms[i] = is_wav ? time_script(o->script, path) : 0.0;
    }
    fm_analyser_destroy(kept);
    return good;
}

static double hours_per_s(double ms)
{
    return SECONDS / 3600.0 / (1e-3 * ms);
}

static void print_kind(const kind *k, const times *t, int rounds)
{
    const double decode_ms = median(t->decode_ms, rounds);
    const double count_ms = median(t->count_ms, rounds);
    const double batch_ms = median(t->batch_ms, rounds);
    (void)printf("%-14s %7.2f %7.2f %7.2f %7.2f %9.1f %7.2f %7.2f %8.1f", k->name,
                 decode_ms, count_ms, median(t->new_ms, rounds), batch_ms,
                 hours_per_s(decode_ms), hours_per_s(count_ms), hours_per_s(batch_ms),
                 median_ratio(t->count_ms, t->decode_ms, rounds));
    const double script_ms = median(t->script_ms, rounds);
    if (script_ms > 0.0) {
        (void)printf(" %9.0f %7.1f", script_ms,
                     median_ratio(t->script_ms, t->count_ms, rounds));
    } else {
        (void)printf(" %9s %7s", "-", "-");
    }
    (void)printf(" %6d\n", t->beats);
}

/* Two workers of one batch against two batches of one worker side by side, which share the
 * same number of files: the time of the second over that of the first. */
static bool time_cores(const options *o, const char *folder, double *share)
{
    char links[PATH_BYTES];
    double ratio[ROUNDS_MOST];
    bool good = true;
    char both[PATH_BYTES];
    (void)snprintf(links, sizeof links, "%s/of-%s", folder, KINDS_OF_FILE[0].file);
    (void)snprintf(both, sizeof both, "%s/both-%s", folder, KINDS_OF_FILE[0].file);
    good = link_files(folder, "both", &KINDS_OF_FILE[0], 2 * BATCH_FILES);
    for (int i = 0; i < o->rounds && good; i++) {
        double start = clock_ms(CLOCK_MONOTONIC);
        good = end_batch(start_batch(o->program, both, "2"));
        const double together_ms = clock_ms(CLOCK_MONOTONIC) - start;
        start = clock_ms(CLOCK_MONOTONIC);
        const pid_t one = start_batch(o->program, links, "1");
        const pid_t other = start_batch(o->program, links, "1");
        const bool first = end_batch(one);
        good = end_batch(other) && first && good;
        ratio[i] = (clock_ms(CLOCK_MONOTONIC) - start) / together_ms;
    }
    *share = good ? median(ratio, o->rounds) : 0.0;
    return good;
}

static bool run_all(const options *o, const char *folder)
{
    static times t;
    bool good = true;
    for (int i = 0; i < KINDS && good; i++) {
        good = compose_file(folder, &KINDS_OF_FILE[i]) &&
               link_files(folder, "of", &KINDS_OF_FILE[i], BATCH_FILES);
    }
    (void)printf("one minute, 16 bit, room noise at 15 dB, seed %llu; medians of %d\n"
                 "ms of one core a file, then recorded hours a core-second\n"
                 "%-14s %7s %7s %7s %7s %9s %7s %7s %8s %9s %7s %6s\n",
                 (unsigned long long)SEED, o->rounds, EMPTY, "decode", "count", "new",
                 "batch", "decode", "count", "batch", "x floor", "script ms", "x",
                 "beats");
    for (int i = 0; i < KINDS && good; i++) {
        good = time_kind(o, folder, &KINDS_OF_FILE[i], &t);
        if (good) {
            print_kind(&KINDS_OF_FILE[i], &t, o->rounds);
            (void)fflush(stdout);
        }
    }
    double share = 0.0;
    if (good && o->cores && time_cores(o, folder, &share)) {
        (void)printf("batch --jobs 2 against two batches of --jobs 1: %.2f of their "
                     "throughput\n",
                     share);
    }
    return good;
}

static void remove_folder(const char *folder)
{
    char command[PATH_BYTES + 16];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    if (system(command) != 0) { /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
        (void)fprintf(stderr, "throughput: %s is left behind\n", folder);
    }
}

static bool parse(options *o, int argc, char *argv[])
{
    *o = (options){BENCH_PROGRAM, BENCH_SCRIPT, 7, true};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--program") == 0 && i + 1 < argc) {
            o->program = argv[++i];
        } else if (strcmp(argv[i], "--script") == 0 && i + 1 < argc) {
            o->script = argv[++i];
        } else if (strcmp(argv[i], "--rounds") == 0 && i + 1 < argc) {
            o->rounds = (int)strtol(argv[++i], NULL, 10);
        } else if (strcmp(argv[i], "--one-core") == 0) {
            o->cores = false;
        } else {
            return false;
        }
    }
    return o->rounds >= ROUNDS_LEAST && o->rounds <= ROUNDS_MOST;
}

int main(int argc, char *argv[])
{
    options o;
    if (!parse(&o, argc, argv)) {
        (void)fputs(
            "usage: throughput [--rounds N] [--one-core] [--program FULLMINUTE] "
            "[--script FILE]\n"
            "  N is 5 to 99 (7)\n",
            stderr);
        return 2;
    }
    char folder[] = "/tmp/fullminute-throughput-XXXXXX";
    if (mkdtemp(folder) == NULL) {
        return 1;
    }
    const bool good = run_all(&o, folder);
    remove_folder(folder);
    if (!good) {
        (void)fputs("throughput: a part failed\n", stderr);
    }
    return good ? 0 : 1;
}
