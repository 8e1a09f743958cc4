/**
 * @file listening.h
 * How the learner listens in a live sitting: through this computer's headphones, or with
 * their own stethoscope beside the chest piece. What may be used, and what is said. Texts
 * for a person, wrapped by whoever shows them.
 */
#ifndef SITTING_LISTENING_H
#define SITTING_LISTENING_H

#include "dsp/placing.h"
#include "src/base/settings.h"
#include "src/capture/devices.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum listening_way {
    LISTENING_STETHOSCOPE, /**< own stethoscope, nothing comes out of the computer */
    LISTENING_HEADPHONES   /**< monitored */
} listening_way;

/** "headphones" or "stethoscope"; false: neither. */
bool listening_way_of(const char *word, listening_way *out);

/** The question, with both answers. */
const char *listening_question(void);

/** What to mind with one's own stethoscope beside the chest piece. */
const char *listening_stethoscope_text(void);

/** Does an output's name say that it is a loudspeaker, or goes through the air? */
bool listening_is_loudspeaker(const char *name);
bool listening_is_wireless(const char *name);

/**
 * May this output be used for headphones? A loudspeaker would be heard by the chest piece.
 * A name proves little: the feedback test below follows.
 *
 * @return false with err APP_USAGE: what to do
 */
bool listening_output_check(const device *output, app_err *err);

enum {
    LISTENING_TEXT_BYTES = 256
};

#define LISTENING_LATE_S 0.1 /**< more than this is felt in taps */

/**
 * What the way to the ear does, for people.
 *
 * @param latency_s  input to headphones, as the driver says; NaN: not known
 * @param name       the output's name
 * @param[out] out   the sentence
 * @return seconds to subtract from taps; 0 when not known
 */
double listening_latency_text(double latency_s,
                              const char *name,
                              char out[LISTENING_TEXT_BYTES]);

/* The feedback test: a second of silence, then a second and a half of quiet noise out of
 * the output. What the input hears of it would come back again and again. */

#define LISTENING_TEST_OFF_S  1.0
#define LISTENING_TEST_SKIP_S 0.5 /**< of the noise: it is on its way */
#define LISTENING_TEST_ON_S   1.5

/** Samples of the noise, silence first. */
int64_t listening_test_samples(double rate_hz);

/** Make it: out[0..listening_test_samples-1], -40 dBFS, 700 to 3000 Hz, the same each
 *  time. False: rate under 8000 Hz. */
bool listening_test_make(double rate_hz, float *out);

/** Did the input hear it? From the input's measures in the silence and in the noise. */
bool listening_feeds_back(const fm_placing_measures *off,
                          const fm_placing_measures *on);

/** The sentence for an output that feeds back. */
const char *listening_feedback_text(void);

/**
 * What is said once before the first recording: ask your friend, the sound stays here.
 *
 * @return NULL when it has been said before
 */
const char *listening_first_words(const settings *s);

/** Remember that it was said; false with err when it cannot be saved. */
bool listening_first_words_said(settings *s, app_err *err);

#endif
