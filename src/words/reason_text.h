/**
 * @file reason_text.h
 * Why a count is refused or doubted, as a sentence a person can act on.
 */
#ifndef WORDS_REASON_TEXT_H
#define WORDS_REASON_TEXT_H

#include "dsp/result.h"

enum {
    REASON_TEXT_BYTES = 256
};

/** What is the matter, without advice: "friction"; never NULL, "" for none. */
const char *reason_text_what(fm_reason reason);

/** What to do about it: "hold the chest piece still"; never NULL, "" for none. */
const char *reason_text_advice(fm_reason reason);

/**
 * The sentence: "friction from 22 s to 31 s: hold the chest piece still". No full stop.
 *
 * @param span      the worst stretch; length 0 or not a number: no times are named
 * @param[out] out  out[0..REASON_TEXT_BYTES-1], "" for FM_REASON_NONE
 * @return out
 */
const char *reason_text_format(fm_reason reason,
                               const fm_span *span,
                               char out[REASON_TEXT_BYTES]);

/**
 * What was not heard in a gap: "from 25 s to 28 s nothing was heard: did the chest piece lift?",
 * "sound is missing from 20 s to 26 s". No full stop.
 *
 * @param span  its times are finite
 * @param[out] out  out[0..REASON_TEXT_BYTES-1]
 * @return out
 */
const char *reason_text_gap(const fm_span *span, char out[REASON_TEXT_BYTES]);

#endif
