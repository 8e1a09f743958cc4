/**
 * @file compose_private.h
 * What the files of compose share among themselves. Not for others.
 */
#ifndef FM_COMPOSE_PRIVATE_H
#define FM_COMPOSE_PRIVATE_H

#include "dsp/compose/compose_band.h"
#include "dsp/compose/compose_filter.h"
#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"

/** Streams of the seed: one a part, so that parts do not move one another. */
enum {
    FM_STREAM_PERSON = 1,
    FM_STREAM_RHYTHM,
    FM_STREAM_BREATHING,
    FM_STREAM_HEART,
    FM_STREAM_BREATH_SOUND,
    FM_STREAM_FLOOR,
    FM_STREAM_BREATHING_EXTRA, /**< what other than even breathing draws */
    FM_STREAM_ADVENTITIOUS,    /**< crackles and wheezes */
    FM_STREAM_SLOW_WAVES,
    FM_STREAM_DROPOUTS,
    FM_STREAM_AIR,        /**< what is heard without contact */
    FM_STREAM_NOISE = 100 /**< plus the kind of noise */
};

/** Breathing: cycle starts that cover the recording and one cycle either side. */
typedef struct fm_breathing {
    double *starts_s; /**< starts_s[0..n-1], ascending; the last only ends a cycle */
    double *rest_s;   /**< rest_s[0..n-1]: the end of the cycle in which nothing moves,
                           beyond the rest of any breath: a pause */
    double *depth;    /**< depth[0..n-1]: excursion of lung volume, 1 usual */
    size_t n;
    double middle; /**< half the mean depth: lung volumes lie about it */
    double inspiration_share;
} fm_breathing;

/** What happens at a beat that a finding or a pattern speaks of. */
typedef enum fm_beat_mark {
    FM_MARK_NONE,
    FM_MARK_EARLY,  /**< this beat came early */
    FM_MARK_PAUSE,  /**< the interval after this beat is a pause */
    FM_MARK_CHANGE, /**< the rate changes with the interval after this beat */
    FM_MARK_RUN /**< a run of fast or early beats starts with the interval after it */
} fm_beat_mark;

/** One beat. */
typedef struct fm_beat {
    double s1_s;      /**< onset of S1 wanted; may be before 0 */
    double before_s;  /**< interval before it */
    double after_s;   /**< interval after it */
    double usual_s;   /**< slowly moving mean interval around it */
    double systole_s; /**< S1 onset to S2 onset */
    fm_beat_mark mark;
    bool opens; /**< false: too early for the valve to open, no S2 */
} fm_beat;

typedef struct fm_beats {
    fm_beat *beat; /**< beat[0..n-1] */
    size_t n;
    size_t capacity;
} fm_beats;

/** Memory for n items of size bytes each, zeroed; NULL when none or too much. */
void *fm_compose_memory(size_t n, size_t size);

bool fm_recipe_has_noise(const fm_recipe *r);

/** Cycles for a recipe. FM_OK or FM_ERR_NOMEM. Free with fm_breathing_free. */
fm_status fm_breathing_make(const fm_recipe *recipe, fm_breathing *b);

/** Frees what is inside and zeroes it; b itself is the caller's. */
void fm_breathing_free(fm_breathing *b);

/** Seconds in which cycle k (0 <= k < n - 1) moves: its length less its pause. */
double fm_breathing_length_s(const fm_breathing *b, size_t k);

/** How full the lungs are at a time: 0 empty .. 1 full after a usual breath. */
double fm_breathing_volume(const fm_breathing *b, double time_s);

/** All beats from just before 0 to the end. FM_OK or FM_ERR_NOMEM. Free b->beat. */
fm_status fm_beats_make(const fm_recipe *recipe,
                        const fm_breathing *breathing,
                        fm_beats *b);

/** The extreme intervals' difference that a recipe asks of breathing, s. */
double fm_recipe_rsa_s(const fm_recipe *recipe);

/** Usual audible systole at a rate, s. See compose_systole.c for its sources. */
double fm_systole_usual_s(double rate_bpm);

/** The responses every heart and breath sound passes: chest piece, small microphone. */
fm_cascade fm_compose_response(const fm_recipe *recipe);

/** The small microphone alone (or nothing), for noise that comes through the air. */
fm_cascade fm_compose_microphone(const fm_recipe *recipe);

/**
 * Add all heart sounds to out and write their onsets into truth (arrays taken here).
 *
 * @return FM_OK or FM_ERR_NOMEM
 */
fm_status fm_heart_render(const fm_recipe *recipe,
                          const fm_beats *beats,
                          const fm_breathing *breathing,
                          float *out,
                          size_t n,
                          fm_truth *truth);

/** Write breath sounds to out[0..n-1], at any level. */
void fm_breath_render(const fm_recipe *recipe,
                      const fm_breathing *breathing,
                      float *out,
                      size_t n);

/** Add a recipe's crackles and wheezes to breath sounds, before the responses. */
void fm_adventitious_add(const fm_recipe *recipe,
                         const fm_breathing *breathing,
                         float *out,
                         size_t n);

/** Write one kind of noise to out[0..n-1], at any level, after the microphone. */
void fm_noise_render(const fm_recipe *recipe,
                     fm_compose_noise kind,
                     float *out,
                     size_t n);

/** Speech-like and music-like noise; called by fm_noise_render. */
void fm_speech_render(double rate_hz, fm_random *random, float *out, size_t n);
void fm_music_render(double rate_hz, fm_random *random, float *out, size_t n);

/** Pattern, repeat, findings of a recipe and its beats, once onsets are in truth. */
void fm_truth_describe(const fm_recipe *recipe, const fm_beats *beats, fm_truth *truth);

/** Are samples missing at time_s: lost audio, or a dropout? */
bool fm_compose_is_lost(const fm_recipe *recipe, double time_s);

/** Can a beat at time_s not be heard, for either? */
bool fm_compose_cannot_hear(const fm_recipe *recipe, double time_s);

/** Take contact away from x[0..n-1], if the recipe asks; gain: RMS of white noise that has the
 * heart's power in 25-400 Hz. */
void fm_compose_add_contact(const fm_recipe *recipe, double gain, float *x, size_t n);

/** How the breathing went, and its pauses. FM_OK or FM_ERR_NOMEM. */
fm_status fm_truth_describe_breathing(const fm_recipe *recipe,
                                      const fm_breathing *breathing,
                                      fm_truth *truth);

/** 10^(db / 20). */
double fm_db_gain(double db);

#endif
