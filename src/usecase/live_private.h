/**
 * @file live_private.h
 * The inside of a live sitting, for the live_*.c of this folder only.
 */
#ifndef USECASE_LIVE_PRIVATE_H
#define USECASE_LIVE_PRIVATE_H

#include "dsp/contact_watch.h"
#include "dsp/provisional.h"
#include "dsp/signal/filter.h"
#include "src/port/capture.h"
#include "src/port/devices.h"
#include "src/port/lock.h"
#include "src/port/player.h"
#include "src/port/recording.h"
#include "src/usecase/live_level.h"
#include "src/usecase/live_place.h"
#include "src/usecase/live_sitting.h"
#include "src/usecase/paced_file.h"
#include "src/usecase/sitting_entries.h"

enum {
    LIVE_TAKEN_GAPS = 256,
    LIVE_TROUBLE_BYTES = APP_ERR_TEXT_BYTES,
    LIVE_PERSON_BYTES = 512
};

/** A gap as the drain saw it, in samples. */
typedef struct live_gap {
    int64_t first, n;
    capture_gap_cause cause;
} live_gap;

/**
 * What the capture's drain does with the samples: the recording, the level, the marks.
 * `lock` guards what both threads touch; it is never held over a disk.
 */
typedef struct live_take {
    lock *lock;
    recording *out;
    int channel; /**< from 0 */
    float gain;
    fm_provisional_marker *marker; /**< NULL: no marks */
    fm_contact_watch *watch;       /**< of a checked sitting's contact; NULL: none */
    float *mono;                   /**< TAKE_SAMPLES */
    double rate_hz;
    live_level level;
    int64_t written;
    live_gap gaps[LIVE_TAKEN_GAPS]; /**< not yet handed to the document */
    int n_gaps;
    live_mark marks[LIVE_MARKS_MAX];
    int n_marks;
    fm_filter band; /**< with a marker: for the envelope */
    bool has_band;
    float envelope[LIVE_ENVELOPE_MAX]; /**< value k at k modulo its length */
    int64_t n_envelope;                /**< values so far */
    float envelope_peak;               /**< of the value being made */
    int64_t envelope_next;             /**< the sample that ends it */
    bool failed;
    app_err err;
} live_take;

/** Ready for samples at that rate; the recording is set later. @return false: memory */
bool live_take_init(live_take *t, double rate_hz, const live_plan *plan);
void live_take_free(live_take *t);

/** The capture's sink; context is a live_take. */
void live_take_block(void *context, const capture_block *block);

struct live_sitting {
    live_plan plan;
    char *path;
    char *document_path;
    sitting_document document;
    devices devices;
    bool has_devices;
    paced_file *paced;
    capture *capture;
    player *player; /**< for the ticks; NULL: none */
    float *tick_samples;
    int64_t n_tick_samples;
    capture_state state;
    live_take take;
    double rate_hz;
    taking taking;      /**< its times are samples on the recording */
    int64_t written;    /**< as of the last step */
    double missing_s;   /**< of this window */
    fm_span lost;       /**< contact lost in this window; length 0: none */
    size_t taps_before; /**< taps of earlier windows */
    live_level level;
    char trouble[LIVE_TROUBLE_BYTES];
    char person[LIVE_PERSON_BYTES]; /**< what an entered number asks for */
    bool dirty;                     /**< the document changed and is not on disk */
    double saved_s; /**< CLOCK_MONOTONIC of the last try to put it there */
};

/**
 * Infants: respirations come first, watched for a minute by the clock, the chest piece
 * off; they have no second count. Only where both are asked for.
 */
bool live_watches_first(const live_plan *plan);

/** Write the document, or what is to become it. */
bool live_sitting_save(live_sitting *s, const sitting_document *d, app_err *err);

/** Open the output for the ticks; without one the plan's ticks are taken back. */
void live_ticks_open(live_sitting *s);

/** Play them. @return seconds until the last of the lead-in is heard; 0: not played */
double live_ticks_play(live_sitting *s);

/** @return false when the output hangs */
bool live_ticks_close(live_sitting *s);

/** Of what the window is that it is at. */
sitting_kind live_sitting_kind(const live_sitting *s);

#endif
