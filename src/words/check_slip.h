/**
 * @file check_slip.h
 * What a slip in counting looks like, for a person.
 */
#ifndef WORDS_CHECK_SLIP_H
#define WORDS_CHECK_SLIP_H

#include "src/document/check_view.h"

enum {
    CHECK_WORDS_BYTES = 512
};

/**
 * What the slip looks like, for a person: a full sentence.
 *
 * @param c         the view's comparison of the pulse or of respirations
 * @param[out] out  out[0..CHECK_WORDS_BYTES-1]; "" for FM_SLIP_NONE
 * @return out
 */
const char *check_view_slip_text(const check_view *view,
                                 const fm_comparison *c,
                                 char out[CHECK_WORDS_BYTES]);

/** "No tap after 30 s. If you counted 30 s, ...": where check_view_taps_end is not 0. */
const char *check_view_taps_end_text(const check_view *view,
                                     char out[CHECK_WORDS_BYTES]);

#endif
