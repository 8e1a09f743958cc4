/**
 * @file hardware_watch.h
 * Does the sound card that an input was opened on still deliver? A sound server that loses a
 * microphone (pulled out, or chosen otherwise in the system's settings) goes on with another one:
 * samples come as before, with no flag, no gap and no step in their delay (tried through ALSA's
 * `pulse` device: neither the callback's times nor its sizes tell). But the kernel says which card
 * records: the one that began when the stream was opened, and stops while samples still come, was
 * ours, and what comes now is another's.
 *
 * Nothing is known, and nothing said, of an input that records already for another program (or was
 * recorded from in the last seconds, until the server lets it rest), of one without a card of this
 * computer (network, another program's sound), and where the kernel does not tell.
 *
 * Source: the folder of ALSA's proc files, cardN/pcmNc/subN/status, first line "state: RUNNING".
 */
#ifndef CAPTURE_HARDWARE_WATCH_H
#define CAPTURE_HARDWARE_WATCH_H

#include <stdbool.h>
#include <stddef.h>

enum {
    HARDWARE_MOST = 16,
    HARDWARE_NAME_BYTES = 128
};

#define HARDWARE_ROOT   "/proc/asound"
#define HARDWARE_LOOK_S 0.5 /**< between two looks; ours */

/** Plain value, nothing to free. One thread. */
typedef struct hardware_watch {
    const char *root; /**< borrowed */
    char before[HARDWARE_MOST][HARDWARE_NAME_BYTES];
    size_t n_before;
    char ours[HARDWARE_NAME_BYTES]; /**< "": not known */
    bool chosen;                    /**< it was looked for: not again */
    double look_at_s;
    int stopped; /**< looks in a row at which it did not record */
    bool lost;
} hardware_watch;

/**
 * Before the stream is opened: what records already.
 *
 * @param root  HARDWARE_ROOT, or what stands in for it; borrowed as long as the watch is used
 */
void hardware_watch_init(hardware_watch *w, const char *root);

/**
 * Call it often while samples come; it looks every HARDWARE_LOOK_S, at a file or two.
 *
 * @param now_s  CLOCK_MONOTONIC, s
 * @return true from the moment when our card has stopped for three looks
 */
bool hardware_watch_is_lost(hardware_watch *w, double now_s);

#endif
