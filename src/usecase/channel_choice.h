/**
 * @file channel_choice.h
 * A cheap look at many channels at once, to pick the few worth a full analysis: how
 * periodic is each channel's envelope at heart rates. It decides nothing by itself; the
 * analyser's own confidence picks among the few.
 *
 * Not real-time: for files. Memory: 60 s of envelope a channel, 12 KB each.
 */
#ifndef USECASE_CHANNEL_CHOICE_H
#define USECASE_CHANNEL_CHOICE_H

#include "src/base/error.h"

#include <stddef.h>

/** Has an input of that name such a channel, counted from 1? @return false with err, about
 * the hint */
bool channel_is_there(
    hint_kind about, int channel, int channels, const char *name, app_err *err);

/** Opaque; see channel_choice_destroy. */
typedef struct channel_choice channel_choice;

/**
 * @param channels  1..1024
 * @param rate_hz   1000..192000
 * @return the chooser, to be freed with channel_choice_destroy; NULL without memory
 */
channel_choice *channel_choice_create(int channels, double rate_hz);

/**
 * Look at more frames; what comes after 60 s is not looked at.
 *
 * @param in  in[0..n*channels-1], interleaved; not finite counts as 0
 */
void channel_choice_push(channel_choice *c, const float *in, size_t n);

/**
 * The most periodic channels, best first; equal ones in the order of their numbers.
 *
 * @param[out] out  out[0..max-1], channel numbers from 1
 * @return how many: the smaller of max and the number of channels
 */
size_t channel_choice_rank(const channel_choice *c, int *out, size_t max);

/** Periodicity of a channel, 0..1; channel from 1. */
double channel_choice_score(const channel_choice *c, int channel);

/** Free; NULL is allowed. */
void channel_choice_destroy(channel_choice *c);

#endif
