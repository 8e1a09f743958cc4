/**
 * @file analyse_run_private.h
 * One recording being analysed: opened, entered, read block by block, one window counted.
 * For analyse_file.c only; its header says what each error is.
 */
#ifndef USECASE_ANALYSE_RUN_PRIVATE_H
#define USECASE_ANALYSE_RUN_PRIVATE_H

#include "dsp/analyser.h"
#include "src/port/sound_file.h"
#include "src/usecase/analyse_file.h"
#include "src/usecase/sitting_windows.h"

/** One file being analysed. Start it as {0}. */
struct run {
    analyse_request asked_for; /* with what the sitting says filled in */
    const analyse_request *request;
    missing_audio missing;
    sound_file *file;
    sound_info info;
    fm_analyser *analyser;
    int channel;
    size_t block_frames;
    float *frames; /* block_frames * channels, interleaved */
    float *mono;   /* block_frames */
    int64_t not_numbers;
    bool ended;
    fm_convention convention; /* for the results given out */
    hint_kind asked;          /* what says where the window starts, */
    double asked_s;           /* and the time it comes to */
};

/** Open the file, its sitting and the analyser; run_close also after a failure. */
bool run_open(struct run *run, const analyse_request *request, app_err *err);
void run_close(struct run *run);

/** The error of a window that starts behind the last frame. */
bool run_starts_behind_the_end(const struct run *run, int64_t frames, app_err *err);

int64_t run_seconds_to_frames(const struct run *run, double seconds);

/** Go to where a window at frame start is entered. */
bool run_enter(struct run *run, int64_t start, app_err *err);

/** Read one block and take the channel out of it; 0 at the end of the file. */
size_t run_read_block(struct run *run);

/** Feed the block that was read last; what was never recorded goes in as a gap. */
bool run_push_block(struct run *run, size_t n, app_err *err);

bool run_open_window(struct run *run, int64_t start, int64_t n, app_err *err);

count_source run_describe_source(const struct run *run);

/** Count the current channel from start_s for so many seconds; the result goes to out. */
bool run_count_seconds(
    struct run *run, double start_s, double seconds, analysed *out, app_err *err);

#endif
