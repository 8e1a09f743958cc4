/*
 * One minute of 44.1 kHz audio counted: processor time and memory, beside the time of a
 * trial script for the same recording. One command, everything in one run.
 */
#include "dsp/analyser.h"
#include "dsp/fullminute_compose.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#ifndef BENCH_PROGRAM
#define BENCH_PROGRAM ""
#endif

enum {
    REPEATS = 9,
    CHILD_REPEATS = 5,
    BLOCK_SAMPLES = 1024
};

/* The bars for this minute. */
static const double BAR_MS = 60.0;
static const double BAR_MB = 40.0;

static const double RATE_HZ = 44100.0;
static const double SECONDS = 60.0;
static const uint64_t SEED = 4711;

typedef struct options {
    const char *program;
    const char *script;
    bool bars;
} options;

static double processor_ms(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *v, size_t n)
{
    qsort(v, n, sizeof *v, compare_doubles);
    return v[n / 2];
}

static float *compose_minute(size_t *n)
{
    fm_recipe recipe = fm_recipe_default();
    recipe.seconds = SECONDS;
    recipe.rate_hz = RATE_HZ;
    recipe.seed = SEED;
    recipe.snr_db = 15.0;
    recipe.noise[FM_COMPOSE_ROOM] = true;
    *n = fm_recipe_samples(&recipe);
    float *samples = malloc((*n + 1) * sizeof *samples);
    fm_truth truth = {0};
    const bool good =
        samples != NULL && fm_compose(&recipe, samples, *n, &truth) == FM_OK;
    fm_truth_free(&truth);
    if (!good) {
        free(samples);
        return NULL;
    }
    return samples;
}

static bool write_sound(const char *path, const float *samples, size_t n)
{
    SF_INFO info = {.samplerate = (int)RATE_HZ,
                    .channels = 1,
                    .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    if (file == NULL) {
        return false;
    }
    const sf_count_t written = sf_write_float(file, samples, (sf_count_t)n);
    return sf_close(file) == 0 && written == (sf_count_t)n;
}

/* One whole count in memory: create, push in small blocks, take, destroy. */
static bool count_once(const float *samples, size_t n, fm_count *count)
{
    fm_analyser *a = fm_analyser_create(RATE_HZ, NULL);
    bool good = a != NULL && fm_analyser_open(a, 0, (int64_t)n) == FM_OK;
    for (size_t at = 0; good && at < n; at += BLOCK_SAMPLES) {
        const size_t left = n - at;
        good = fm_analyser_push(a, samples + at,
                                left < BLOCK_SAMPLES ? left : BLOCK_SAMPLES) == FM_OK;
    }
    good = good && fm_analyser_finish(a) == FM_OK && fm_analyser_take(a, count);
    fm_analyser_destroy(a);
    return good;
}

static bool time_library(const float *samples, size_t n, double *ms)
{
    static fm_count count;
    double times[REPEATS];
    bool good = true;
    for (int i = 0; i < REPEATS; i++) {
        const double start = processor_ms();
        good = count_once(samples, n, &count) && good;
        times[i] = processor_ms() - start;
    }
    *ms = median(times, REPEATS);
    if (good) {
        (void)printf(
            "library, in memory: %.1f ms of one core (median of %d, least %.1f), "
            "found %zu beats\n",
            *ms, REPEATS, times[0], count.heart.count.n);
    }
    return good;
}

/* Runs a child with its output thrown away; false unless it ends with status 0. */
static bool run_child(char *const arguments[], struct rusage *used)
{
    (void)fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        if (freopen("/dev/null", "w", stdout) != NULL) {
            (void)execvp(arguments[0], arguments);
        }
        _exit(127);
    }
    int status = 0;
    return child > 0 && wait4(child, &status, 0, used) == child && WIFEXITED(status) &&
           WEXITSTATUS(status) == 0;
}

static double seconds_of(struct timeval t)
{
    return (double)t.tv_sec + 1e-6 * (double)t.tv_usec;
}

static bool time_program(const char *program, char *path, double *mb)
{
    char command[] = "count";
    char name[1024];
    double times[CHILD_REPEATS];
    double peak_kb = 0.0;
    (void)snprintf(name, sizeof name, "%s", program);
    char *arguments[] = {name, command, path, NULL};
    for (int i = 0; i < CHILD_REPEATS; i++) {
        struct rusage used;
        if (!run_child(arguments, &used)) {
            (void)printf("program: skipped, '%s count' did not run\n", program);
            return false;
        }
        times[i] = 1e3 * (seconds_of(used.ru_utime) + seconds_of(used.ru_stime));
        peak_kb = fmax(peak_kb, (double)used.ru_maxrss); /* kilobytes on Linux */
    }
    *mb = peak_kb / 1024.0;
    (void)printf("fullminute count, start to end: %.1f ms of one core (median of %d), "
                 "%.1f MB resident at most\n",
                 median(times, CHILD_REPEATS), CHILD_REPEATS, *mb);
    return true;
}

static bool time_script(const char *python,
                        const char *script,
                        const char *path,
                        double *ms)
{
    char command[4096];
    const int n =
        snprintf(command, sizeof command, "'%s' '%s' '%s' '%s' %d 2>/dev/null", python,
                 BENCH_SCRIPT_TIMER, script, path, CHILD_REPEATS);
    if (n <= 0 || (size_t)n >= sizeof command) {
        return false;
    }
    FILE *out = popen(command, "r");
    char line[128] = "";
    const bool read = out != NULL && fgets(line, sizeof line, out) != NULL;
    if (out == NULL || pclose(out) != 0 || !read) {
        return false;
    }
    char *end = NULL;
    *ms = strtod(line, &end);
    const long beats = strtol(end, NULL, 10);
    (void)printf("trial script, start-up excluded: %.1f ms of one core (median of %d), "
                 "found %ld beats\n",
                 *ms, CHILD_REPEATS, beats);
    return true;
}

static bool time_trial(const char *script, const char *path, double *ms)
{
    if (access(script, R_OK) != 0) {
        (void)printf("trial script: skipped, it is not at %s (--script FILE)\n",
                     script);
        return false;
    }
    if (time_script("python3", script, path, ms) ||
        time_script("/usr/bin/python3", script, path, ms)) {
        return true;
    }
    (void)printf("trial script: skipped, it needs python3 with NumPy and SciPy\n");
    return false;
}

static bool run_all(const options *o, const float *samples, size_t n, char *path)
{
    double library_ms = 0.0;
    double script_ms = 0.0;
    double mb = 0.0;
    if (!time_library(samples, n, &library_ms)) {
        (void)fprintf(stderr, "bench: the analyser failed\n");
        return false;
    }
    const bool has_program = time_program(o->program, path, &mb);
    if (time_trial(o->script, path, &script_ms)) {
        (void)printf("the library takes 1/%.1f of the script's time\n",
                     script_ms / library_ms);
    }
    const bool fast = library_ms < BAR_MS;
    const bool small = has_program && mb < BAR_MB;
    (void)printf("bars: under %.0f ms: %s; under %.0f MB: %s\n", BAR_MS,
                 fast ? "kept" : "MISSED", BAR_MB,
                 small         ? "kept"
                 : has_program ? "MISSED"
                               : "not measured");
    return !o->bars || (fast && small);
}

static bool parse(options *o, int argc, char *argv[])
{
    /* NOLINTNEXTLINE(concurrency-mt-unsafe): one thread */
    const char *script = getenv("FULLMINUTE_TRIAL_SCRIPT");
    *o = (options){BENCH_PROGRAM, script != NULL ? script : BENCH_SCRIPT, false};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--bars") == 0) {
            o->bars = true;
        } else if (strcmp(argv[i], "--program") == 0 && i + 1 < argc) {
            o->program = argv[++i];
        } else if (strcmp(argv[i], "--script") == 0 && i + 1 < argc) {
            o->script = argv[++i];
        } else {
            return false;
        }
    }
    return true;
}

int main(int argc, char *argv[])
{
    options o;
    if (!parse(&o, argc, argv)) {
        (void)fputs("usage: bench [--program FULLMINUTE] [--script FILE] [--bars]\n"
                    "  --bars  status 1 when a bar is missed\n",
                    stderr);
        return 2;
    }
    char path[] = "/tmp/fullminute-bench-XXXXXX";
    const int file = mkstemp(path);
    size_t n = 0;
    float *samples = compose_minute(&n);
    bool good = file >= 0 && samples != NULL && write_sound(path, samples, n);
    if (good) {
        (void)printf("one minute, %.0f Hz, 16 bit, room noise at 15 dB, seed %llu\n",
                     RATE_HZ, (unsigned long long)SEED);
        (void)fflush(stdout);
        good = run_all(&o, samples, n, path);
    }
    free(samples);
    if (file >= 0) {
        (void)close(file);
        (void)unlink(path);
    }
    return good ? 0 : 1;
}
