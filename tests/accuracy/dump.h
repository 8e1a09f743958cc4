/**
 * @file dump.h
 * One window as a text file, for a look at what went wrong (plot_failure.py draws it).
 *
 * The file is NAME.tsv: lines "# key<TAB>value" (recording, sound, start_s, end_s,
 * status, reason, confidence, truth_rate, found_rate, lag_s), then "truth<TAB>t",
 * "s1<TAB>t" and "s2<TAB>t", seconds from the first sample.
 */
#ifndef ACCURACY_DUMP_H
#define ACCURACY_DUMP_H

#include "analyse.h"
#include "score.h"

/** What goes into the file; all borrowed. */
typedef struct dump_view {
    const scored *score;
    const char *sound_path;
    double start_s;
    double end_s;
    beats_pair s1; /**< true and found S1 */
    const double *s2_s;
    size_t n_s2;
} dump_view;

/** Whether a window is one to look at: F1 at 100 ms under 0.95, or off by more than 3. */
bool dump_is_worth_it(const scored *s);

/** Writes FOLDER/NAME.tsv, '/' and ' ' in NAME made '_'; a line on stderr on failure. */
bool dump_window(const char *folder, const dump_view *v);

/** Writes FOLDER/NAME.wav, 16 bit, named alike; its path goes to path, size bytes. */
bool dump_sound(
    const char *folder, const char *name, const sound *s, char *path, size_t size);

#endif
