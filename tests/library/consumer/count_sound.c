/*
 * Counts the first minute of sound given on standard input: one channel, 16 bit samples
 * in this machine's byte order, no header.
 *
 *     count_sound RATE_HZ < SAMPLES
 *
 * Only the installed library is used. Status: 0 counted (in doubt or not), 4 refused,
 * 2 wrong usage, 1 anything else.
 */
#include <fullminute/fullminute.h>

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    BLOCK_SAMPLES = 4096
};

/* Pushes all of standard input; any block size gives the same result. */
static fm_status push_all(fm_analyser *a)
{
    int16_t raw[BLOCK_SAMPLES];
    float block[BLOCK_SAMPLES];
    fm_status status = FM_OK;
    size_t n;
    while (status == FM_OK && (n = fread(raw, sizeof *raw, BLOCK_SAMPLES, stdin)) > 0) {
        for (size_t i = 0; i < n; i++) {
            block[i] = (float)raw[i] / 32768.0F; /* full scale is +/-1 */
        }
        status = fm_analyser_push(a, block, n);
    }
    return status;
}

static void print_count(const fm_count *count)
{
    const fm_event_count *beats = &count->heart.count;
    if (beats->status == FM_REFUSED) {
        (void)printf("not counted: %s\n", fm_reason_code(beats->reason));
        return;
    }
    (void)printf("%zu beats, %.1f a minute (%.1f to %.1f), %s, confidence %.3f\n",
                 beats->n, beats->rate_per_min, beats->rate_low_per_min,
                 beats->rate_high_per_min, fm_pattern_word(count->rhythm.pattern),
                 beats->confidence);
    if (fm_is_known(&count->breath.count)) {
        (void)printf("%zu breaths\n", count->breath.count.n);
    }
}

int main(int argc, char *argv[])
{
    const double rate_hz = argc == 2 ? strtod(argv[1], NULL) : 0.0;
    fm_status status = FM_OK;
    fm_analyser *a = fm_analyser_create(rate_hz, &status);
    if (a == NULL) {
        (void)fprintf(stderr, "usage: count_sound RATE_HZ < SAMPLES: %s\n",
                      fm_status_text(status));
        return 2;
    }
    fm_count *count = malloc(sizeof *count); /* 40 KB: not for the stack */
    int exit_status = 1;
    status = fm_analyser_open(a, 0, (int64_t)(FM_WINDOW_MAX_S * rate_hz));
    if (count != NULL && status == FM_OK && push_all(a) == FM_OK &&
        fm_analyser_finish(a) == FM_OK && fm_analyser_take(a, count)) {
        print_count(count);
        exit_status = fm_is_known(&count->heart.count) ? 0 : 4;
    }
    free(count);
    fm_analyser_destroy(a);
    return exit_status;
}
