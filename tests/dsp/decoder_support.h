/* For the tests of the decoder and of the ensemble that is made of it. */
#ifndef TESTS_DSP_DECODER_SUPPORT_H
#define TESTS_DSP_DECODER_SUPPORT_H

#include "dsp/heart/decoder.h"

/* One decoding alone. */
static inline void decode_alone(const fm_candidate *c,
                                size_t n,
                                double segment_s,
                                double noise_per_s,
                                const fm_hypothesis *h,
                                fm_decoder_memory *m,
                                fm_path *path)
{
    const fm_decoding decoding = {.candidates = c, .hypothesis = h};
    fm_decode_all(&decoding, 1, n, segment_s, noise_per_s, m);
    fm_decoder_path(m, 0, path);
}

#endif
