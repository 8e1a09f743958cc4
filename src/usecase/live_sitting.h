/**
 * @file live_sitting.h
 * A live sitting, without any screen in it: settle, lead-in, a window, the entry, the next
 * window, the end. A front end (terminal, page) calls live_sitting_step a few times a second,
 * shows live_view and hands on what the person does.
 *
 * The seal: in a checked sitting nothing is analysed at all. Samples go to the recording,
 * and from them only a level is taken, the mean of three seconds in steps of 3 dB. What
 * the learner enters is on disk in NAME.sitting.json before anybody counts; the count is
 * then that of the recording, as for any file. It guards against seeing by accident, not
 * against a person who runs `count` on the file.
 *
 * One thread (the front end's) may use a sitting.
 */
#ifndef USECASE_LIVE_SITTING_H
#define USECASE_LIVE_SITTING_H

#include "dsp/compare/compare.h"
#include "src/base/error.h"
#include "src/base/field.h"
#include "src/document/live_view.h"
#include "src/document/own_count.h"
#include "src/usecase/taking.h"

#include <stddef.h>

/** What is to be done. Plain value; texts are borrowed for the sitting. */
typedef struct live_plan {
    const char *input; /**< a device's key, "file:PATH", NULL: the default input */
    int channel;       /**< of the input, from 1 */
    double gain_db;
    const char *recording; /**< NULL: a new name in the recordings' folder */
    bool checked;          /**< entries are asked for; false: an open count */
    bool marks;            /**< provisional marks; open counts only */
    bool pulse;
    bool breath;
    int seconds; /**< of the pulse's window: 15, 30 or 60 */
    bool until_stopped;
    bool second_examiner;
    bool ticks;
    bool monitor; /**< they listen through this computer's headphones */
    fm_site site;
    fm_breath_method method;
    double age_months;        /**< NaN: not given */
    double tolerance_per_min; /**< NaN: not set */
    double tap_delay_s;       /**< measured for this input; 0 unknown */
} live_plan;

/** What terminal and page take for these members of any plan: where and how is counted, how
 *  long, s, and the instructor's limit, per minute. */
#define LIVE_SITE(type, member)      FIELD_ONE_OF(type, member, live_site_words)
#define LIVE_METHOD(type, member)    FIELD_ONE_OF(type, member, live_method_words)
#define LIVE_SECONDS(type, member)   FIELD_ONE_OF(type, member, live_seconds_words)
#define LIVE_TOLERANCE(type, member) FIELD_IN(type, member, 0.5, 50.0)
extern const field_word live_site_words[];
extern const field_word live_method_words[];
extern const field_word live_seconds_words[];

/** A checked full minute of pulse, then of respirations, at the default input. */
live_plan live_plan_default(void);

/** Can it be done so? @return false with err APP_USAGE */
bool live_plan_check(const live_plan *plan, app_err *err);

/** Opaque; see live_sitting_close. */
typedef struct live_sitting live_sitting;

/**
 * Open the input and the recording; samples are kept from then on.
 *
 * @return NULL with err: APP_FAILED (no input, disk), APP_USAGE (channel, name exists),
 *         APP_UNREADABLE (file input)
 */
live_sitting *live_sitting_open(const live_plan *plan, app_err *err);

/** Let time go on: call every 20 to 100 ms. */
void live_sitting_step(live_sitting *s);

/** How far it is; borrowed. */
const taking *live_sitting_taking(const live_sitting *s);

/** What may be shown now. Texts are borrowed until the next call. */
void live_sitting_get_view(live_sitting *s, live_view *out);

/**
 * Of an open count with marks: how loud the heart band was, LIVE_ENVELOPE_HZ values a
 * second, the newest last. A checked sitting has none.
 *
 * @param[out] out      out[0..n-1], full scale 1
 * @param[out] first_s  the time of out[0] on the recording
 * @return n, at most LIVE_ENVELOPE_MAX
 */
size_t live_sitting_get_envelope(live_sitting *s,
                                 float out[LIVE_ENVELOPE_MAX],
                                 double *first_s);

/** Settling: start the lead-in. Elsewhere nothing. */
void live_sitting_start(live_sitting *s);

/** With TAKING_GAPPED: a new window instead. Running: break off, back to settling. */
void live_sitting_again(live_sitting *s);

/** With TAKING_GAPPED: go on to the entry though audio is missing. */
void live_sitting_keep(live_sitting *s);

/** The same with an answer: did the chest piece move? Stored; it changes no number. */
void live_sitting_keep_moved(live_sitting *s);
void live_sitting_keep_still(live_sitting *s);

/**
 * A key was pressed at that moment of CLOCK_MONOTONIC; kept where a window runs, or is over
 * and waits for its number, and the moment lay in it.
 */
void live_sitting_tap(live_sitting *s, double monotonic_s);

/**
 * The entry that TAKING_ENTRY waits for: on disk when this returns true.
 *
 * @return false with err: APP_USAGE (nobody counts that much, no such word), APP_FAILED (disk)
 */
bool live_sitting_enter(live_sitting *s, const own_count *own, app_err *err);

/** The person ends it; an open count keeps the window so far. */
void live_sitting_stop(live_sitting *s);

/** The recording's name. */
const char *live_sitting_path(const live_sitting *s);

/**
 * Close the recording, then the input; free.
 *
 * @param[out] hung  the input could not be closed: end the program with _exit once
 *                   everything else is done
 * @return false with err when the last of the recording is not safe on disk
 */
bool live_sitting_close(live_sitting *s, bool *hung, app_err *err);

#endif
