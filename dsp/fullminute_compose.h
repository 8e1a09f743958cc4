/**
 * @file fullminute_compose.h
 * The library's other door: recordings with known truth, a recipe in, mono samples and the truth about them out.
 * Whole-signal; not the analyser and shares no code with it, so that one can check the
 * other. The same recipe gives the same samples every time (own generator of random
 * numbers, dsp/signal/random.h); samples lie on the 16 bit grid k / 32768, so that a file of
 * 16 bits holds exactly what this gave.
 *
 * Every part is its own signal until the end: heart (S1, S2, S3, S4, murmur), breath
 * sounds, added noise. Frequency responses (chest piece, small microphone) are applied to
 * each part alone; onsets are measured on each heart sound alone after them.
 *
 * Sources of shapes and durations stand beside the constants there, in dsp/compose.
 */
#ifndef FM_FULLMINUTE_COMPOSE_H
#define FM_FULLMINUTE_COMPOSE_H

#include "dsp/result.h"
#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FM_COMPOSE_SAMPLES_MAX                                                         \
    40000000 /**< most samples, about 15 minutes at 44.1 kHz */

/** What the beats do: enumerator, word on the command line. */
#define FM_COMPOSE_RHYTHM_MAP(X)                                                       \
    X(FM_COMPOSE_STEADY, "steady")                                                     \
    X(FM_COMPOSE_SINUS_ARRHYTHMIA, "sinus-arrhythmia")                                 \
    X(FM_COMPOSE_PREMATURE, "premature")                                               \
    X(FM_COMPOSE_BIGEMINY, "bigeminy")                                                 \
    X(FM_COMPOSE_TRIGEMINY, "trigeminy")                                               \
    X(FM_COMPOSE_QUADRIGEMINY, "quadrigeminy")                                         \
    X(FM_COMPOSE_DROPPED, "dropped")                                                   \
    X(FM_COMPOSE_FIBRILLATION, "fibrillation")                                         \
    X(FM_COMPOSE_PAUSES, "pauses")                                                     \
    X(FM_COMPOSE_DRIFT, "drift")                                                       \
    X(FM_COMPOSE_RATE_CHANGE, "rate-change")                                           \
    X(FM_COMPOSE_FAST_RUN, "fast-run")                                                 \
    X(FM_COMPOSE_FLUTTER, "flutter")                                                   \
    X(FM_COMPOSE_GIVEN, "given")

typedef enum fm_compose_rhythm {
    FM_COMPOSE_RHYTHM_MAP(FM_ENUMERATOR) FM_COMPOSE_RHYTHM_COUNT
} fm_compose_rhythm;

/** The word for a composed rhythm ("fast-run"); never NULL. */
const char *fm_compose_rhythm_word(fm_compose_rhythm value);

/** What can be added: enumerator, word on the command line. */
#define FM_COMPOSE_NOISE_MAP(X)                                                        \
    X(FM_COMPOSE_WHITE, "white")                                                       \
    X(FM_COMPOSE_PINK, "pink")                                                         \
    X(FM_COMPOSE_SPEECH, "speech")                                                     \
    X(FM_COMPOSE_ROOM, "room")                                                         \
    X(FM_COMPOSE_FRICTION, "friction")                                                 \
    X(FM_COMPOSE_HUM, "hum")                                                           \
    X(FM_COMPOSE_MUSIC, "music")                                                       \
    X(FM_COMPOSE_TONE, "tone")

typedef enum fm_compose_noise {
    FM_COMPOSE_NOISE_MAP(FM_ENUMERATOR) FM_COMPOSE_NOISE_COUNT
} fm_compose_noise;

/** The word for a noise ("speech"); never NULL. */
const char *fm_compose_noise_word(fm_compose_noise value);

/** Heart murmurs: enumerator, word on the command line. */
#define FM_COMPOSE_MURMUR_MAP(X)                                                       \
    X(FM_COMPOSE_NO_MURMUR, "none")                                                    \
    X(FM_COMPOSE_EARLY_SYSTOLIC, "early-systolic")                                     \
    X(FM_COMPOSE_HOLOSYSTOLIC, "holosystolic")                                         \
    X(FM_COMPOSE_EJECTION, "ejection")                                                 \
    X(FM_COMPOSE_EARLY_DIASTOLIC, "early-diastolic")                                   \
    X(FM_COMPOSE_MID_DIASTOLIC, "mid-diastolic")

typedef enum fm_compose_murmur {
    FM_COMPOSE_MURMUR_MAP(FM_ENUMERATOR) FM_COMPOSE_MURMUR_COUNT
} fm_compose_murmur;

/** The word for a murmur ("ejection"); never NULL. */
const char *fm_compose_murmur_word(fm_compose_murmur value);

/** How breaths follow one another: enumerator, word on the command line. */
#define FM_COMPOSE_BREATHING_MAP(X)                                                    \
    X(FM_COMPOSE_EVEN_BREATHING, "even")                                               \
    X(FM_COMPOSE_IRREGULAR_BREATHING, "irregular")                                     \
    X(FM_COMPOSE_PAUSED_BREATHING, "pause")                                            \
    X(FM_COMPOSE_WAXING_BREATHING, "waxing")

typedef enum fm_compose_breathing {
    FM_COMPOSE_BREATHING_MAP(FM_ENUMERATOR) FM_COMPOSE_BREATHING_COUNT
} fm_compose_breathing;

/** The word for how breaths follow one another ("waxing"); never NULL. */
const char *fm_compose_breathing_word(fm_compose_breathing value);

/**
 * The numbers of a recipe: field, default, least, most, what else it can be (NUMBER: nothing;
 * OR_NAN: NaN, the rhythm's own default, given there; OR_NONE: -INFINITY, none), and the unit
 * as a fault names it. Struct, defaults and limits follow from it.
 *
 *   seconds               length
 *   rate_hz               sample rate
 *
 * Rhythm
 *   jitter                SD of the beat-to-beat variation of the interval as a
 *                         share of it
 *   first_beat_s          time of the first S1; NaN: seeded, inside one interval
 *                         and such that no S1 is cut by the start
 *   events_per_min        early beats or rows of them (premature), or pauses
 *                         (pauses); all their beats at most a quarter of bpm; NaN:
 *                         4, of rows of three and more 2
 *   coupling              an early beat's interval as a share of the basic one;
 *                         NaN: 0.65 in groups, seeded 0.6 to 0.75 for single ones
 *   compensation          early interval + the one after it, in basic intervals: 2
 *                         is a full compensatory pause. After a row: the pause ends
 *                         on the old beat all the same, with 2, and so much before
 *                         it with less
 *   early_s1_db           S1 of an early beat against usual; NaN: seeded, -4 to 3
 *   group_creep           dropped: the first interval's lengthening as a share of
 *                         the basic one, then a half of it, a third and so on
 *   spread                fibrillation: SD of intervals as a share of the mean
 *   wrist_share           a beat that comes before this share of the usual interval
 *                         sends no pulse to the wrist; the sound is the same. NaN:
 *                         fibrillation 0.75, else 0.6 (ours, after common teaching)
 *   pause_length          pauses: length in basic intervals
 *   drift_percent_per_min drift: change of rate
 *   change_at_s           rate-change and fast-run: when; NaN: in the middle of the
 *                         first minute (or of a shorter recording)
 *   change_bpm            the rate then; NaN: 1.4 (run: 1.6) times bpm, at most 210
 *   flutter_bpm           flutter: the atria's rate
 *
 * Breathing: when
 *   breaths_per_min       where there are pauses there are fewer a minute than
 *                         this: they are added
 *   breath_jitter         SD of the breath length as a share of it
 *   breath_spread         irregular: SD of the breath length as a share of its
 *                         mean; depth varies by as much
 *   breath_pause_s        pause: how long no breath is taken, beyond the usual
 *                         length of one, at least 3; NaN: 15. Waxing: the same once
 *                         a swell; NaN: 0, none
 *   breath_pause_at_s     pause: the last breath before it is the one taken at this
 *                         time; NaN: seeded, 20 to 35 s
 *   swell_s               waxing: seconds from one waning to the next, its pause
 *                         included
 *
 * Breathing: how deep, how it sounds and what it does to the heart
 *   breath_depth          share of the usual excursion of lung volume. Shallow:
 *                         what rsa_ms, loudness_swing_db and s2_split_ms do shrinks
 *                         with it. The sound's level is breath_db or breath_snr_db
 *                         all the same
 *   inspiration_share     of the breath
 *   expiration_db         expiration's sound against inspiration's, peak;
 *                         -INFINITY: not heard
 *   expiration_pitch      where expiration's spectrum falls, against where
 *                         inspiration's does; NaN: 1 / 1.3
 *   expiration_heard      share of expiration that is heard
 *   crackles              mean number in an inspiration
 *   wheeze                share of breaths whose expiration whistles
 *   rsa_ms                extreme intervals' difference from breathing, at most
 *                         half the interval, shortest in inspiration; NaN: sinus-
 *                         arrhythmia 220, fibrillation 0, else 20 but at most 3 %
 *                         of the interval
 *   slow_wave_ms          extreme sinus intervals' difference from slow waves,
 *                         about 6 a minute, that are no breathing
 *   loudness_swing_db     heart sounds loudest less softest over a breath
 *   breath_db             breath sounds against the heart, dB of mean power in
 *                         25-400 Hz; -INFINITY none
 *   breath_snr_db         breath sounds over all the rest, dB of mean power in
 *                         100-1000 Hz; NaN: breath_db holds. If given, it holds
 *                         instead of breath_db, snr_db is that of the heart over
 *                         noise alone, and there must be a heart or noise
 *
 * Heart sounds
 *   s1_db                 peak of S1 against usual; -60 or below: silent, and
 *                         listed as inaudible
 *   s2_db                 peak of S2 against usual (2 dB under S1)
 *   s3_db                 peak of S3 against S1; -INFINITY none
 *   s4_db                 peak of S4 against S1; -INFINITY none
 *   s2_split_ms           between the two parts of S2 in inspiration
 *   systole_scale         times the rate's usual systole
 *   loudness_jitter_db    SD of each sound's level
 *   murmur_db             peak of the murmur's envelope (RMS) against S1's peak RMS
 *
 * What is added
 *   snr_db                heart (S1 to S4 and murmur) over everything added (breath
 *                         sounds included), 25-400 Hz, mean over the recording.
 *                         Breath sounds are made softer where they alone would take
 *                         over half of what may be added. Without noise or without
 *                         a heart it is not used
 *   hum_hz                mains frequency
 *   tone_hz               of the noise tone
 *
 * The way to the file
 *   peak_dbfs             peak of the whole
 *   gain_db               after that; what passes full scale is clipped
 *   lost_start_s          a stretch of zeros, lost audio
 *   lost_length_s         its length; 0: none
 *   dropouts_per_min      short stretches of zeros, one at a seeded time in every
 *                         part of a minute; 0: none
 *   dropout_s             the length of each
 *   contact_lost_start_s  the chest piece lifts, or fades: all that is heard, noise
 *                         too, grows softer from here
 *   contact_lost_length_s until all is back; 0: never. What stays is white noise 30
 *                         dB under the heart, which is there all the while
 *   contact_fade_s        how long it takes to go, and to come back
 *   contact_depth_db      how much softer when it is gone
 */
#define FM_RECIPE_NUMBER_MAP(X)                                                        \
    X(seconds, 70, 1, 7200, NUMBER, " s")                                              \
    X(rate_hz, 4000, 1000, 192000, NUMBER, " Hz")                                      \
    X(jitter, 0.008, 0, 0.03, NUMBER, "")                                              \
    X(first_beat_s, NAN, 0, 5, OR_NAN, " s")                                           \
    X(events_per_min, NAN, 1, 15, OR_NAN, " per minute")                               \
    X(coupling, NAN, 0.45, 0.9, OR_NAN, " of the interval")                            \
    X(compensation, 2, 1.5, 2, NUMBER, " intervals")                                   \
    X(early_s1_db, NAN, -20, 6, OR_NAN, " dB")                                         \
    X(group_creep, 0.07, 0, 0.15, NUMBER, " of the interval")                          \
    X(spread, 0.22, 0.1, 0.35, NUMBER, " of the interval")                             \
    X(wrist_share, NAN, 0.4, 1, OR_NAN, " of the interval")                            \
    X(pause_length, 2, 1.5, 3, NUMBER, " intervals")                                   \
    X(drift_percent_per_min, 6, -30, 30, NUMBER, " % per minute")                      \
    X(change_at_s, NAN, 0, 7200, OR_NAN, " s")                                         \
    X(change_bpm, NAN, 30, 210, OR_NAN, " per minute")                                 \
    X(flutter_bpm, 300, 200, 350, NUMBER, " per minute")                               \
    X(breaths_per_min, 15, 4, 80, NUMBER, " per minute")                               \
    X(breath_jitter, 0.06, 0, 0.3, NUMBER, " of the breath")                           \
    X(breath_spread, 0.3, 0.1, 0.5, NUMBER, " of the breath")                          \
    X(breath_pause_s, NAN, 0, 60, OR_NAN, " s")                                        \
    X(breath_pause_at_s, NAN, 0, 7200, OR_NAN, " s")                                   \
    X(swell_s, 40, 12, 120, NUMBER, " s")                                              \
    X(breath_depth, 1, 0.05, 1, NUMBER, " of the usual")                               \
    X(inspiration_share, 0.4, 0.2, 0.6, NUMBER, " of the breath")                      \
    X(expiration_db, -8, -40, 12, OR_NONE, " dB")                                      \
    X(expiration_pitch, NAN, 0.4, 1, OR_NAN, " of inspiration's")                      \
    X(expiration_heard, 0.6, 0.2, 1, NUMBER, " of expiration")                         \
    X(crackles, 0, 0, 20, NUMBER, " a breath")                                         \
    X(wheeze, 0, 0, 1, NUMBER, " of the breaths")                                      \
    X(rsa_ms, NAN, 0, 600, OR_NAN, " ms")                                              \
    X(slow_wave_ms, 0, 0, 100, NUMBER, " ms")                                          \
    X(loudness_swing_db, 2, 0, 12, NUMBER, " dB")                                      \
    X(breath_db, -26, -60, 20, OR_NONE, " dB")                                         \
    X(breath_snr_db, NAN, -40, 40, OR_NAN, " dB")                                      \
    X(s1_db, 0, -80, 12, NUMBER, " dB")                                                \
    X(s2_db, 0, -80, 12, NUMBER, " dB")                                                \
    X(s3_db, -INFINITY, -40, 0, OR_NONE, " dB")                                        \
    X(s4_db, -INFINITY, -40, 0, OR_NONE, " dB")                                        \
    X(s2_split_ms, 20, 0, 80, NUMBER, " ms")                                           \
    X(systole_scale, 1, 0.8, 1.2, NUMBER, " times the usual")                          \
    X(loudness_jitter_db, 1, 0, 6, NUMBER, " dB")                                      \
    X(murmur_db, -14, -40, 6, NUMBER, " dB")                                           \
    X(snr_db, 20, -40, 40, NUMBER, " dB")                                              \
    X(hum_hz, 50, 40, 70, NUMBER, " Hz")                                               \
    X(tone_hz, 220, 30, 390, NUMBER, " Hz")                                            \
    X(peak_dbfs, -6, -60, 0, NUMBER, " dBFS")                                          \
    X(gain_db, 0, -60, 60, NUMBER, " dB")                                              \
    X(lost_start_s, 0, 0, 7200, NUMBER, " s")                                          \
    X(lost_length_s, 0, 0, 7200, NUMBER, " s")                                         \
    X(dropouts_per_min, 0, 0, 30, NUMBER, " per minute")                               \
    X(dropout_s, 0.4, 0.01, 2, NUMBER, " s")                                           \
    X(contact_lost_start_s, 0, 0, 7200, NUMBER, " s")                                  \
    X(contact_lost_length_s, 0, 0, 7200, NUMBER, " s")                                 \
    X(contact_fade_s, 0.3, 0, 60, NUMBER, " s")                                        \
    X(contact_depth_db, 50, 6, 80, NUMBER, " dB")

/**
 * What to compose. Take fm_recipe_default() and change what you need.
 */
typedef struct fm_recipe {
#define X(name, usual, least, most, other, unit) double name;
    FM_RECIPE_NUMBER_MAP(X)
#undef X
    uint64_t seed;            /**< any; default 1 */
    fm_compose_rhythm rhythm; /**< default steady */
    double bpm; /**< basic rate, in fm_compose_bpm_range; default 72. Groups with a
                                   dropped beat have fewer beats than this; the others
                                   have this rate on the average, but for early
                                   beats with less than a full pause. Not used by
                                   flutter */
    int early_row; /**< premature: early beats in a row, 1..8; default 1. Two are a couplet,
                        three and more a run. All have the same coupling */
    int group;     /**< dropped: basic intervals a group, one beat fewer; 2..8,
                                   default 4 (a 4:3 group) */
    int run_beats;     /**< fast-run: beats in the run, 3..60; default 10 */
    int conduct_least; /**< flutter: every beat comes this many flutter intervals after */
    int conduct_most; /**< the last at least, at most, all equally often; 2..6; default
                             2 and 4 (2:1, 3:1 and 4:1) */
    const double *intervals_s; /**< given: intervals_s[0..n_intervals-1], each 0.2..5 s,
                                    repeated from the start when used up; borrowed for the
                                    call. Used as they are: no jitter, no breathing */
    size_t n_intervals;
    fm_compose_breathing breathing; /**< default even */
    const double *breath_lengths_s; /**< breath_lengths_s[0..n_breath_lengths-1]: the
                                         lengths of successive breaths, each 0.3..30 s,
                                         repeated from the start when used up, used as
                                         they are (breathing must be even); borrowed for
                                         the call. The first one begins before 0, by a
                                         seeded share of itself */
    size_t n_breath_lengths;        /**< default 0: none given */
    bool heart; /**< false: no heart at all, only what is added; default true */
    fm_compose_murmur murmur; /**< default none */
    bool
        noise[FM_COMPOSE_NOISE_COUNT]; /**< which, mixed at equal power; default none */
    bool chest_piece; /**< a chest piece's response on heart and breath; default true */
    bool small_microphone; /**< high-pass at 250 Hz, 24 dB an octave, on all that comes
                                through the air (not hum or white); default false */
} fm_recipe;

/** The defaults named above; nothing can fail. */
fm_recipe fm_recipe_default(void);

/**
 * Which field of a recipe is out of its range.
 *
 * @return NULL when all are in range; else a constant sentence that names the field, its
 *         unit and its range, for people
 */
const char *fm_recipe_fault(const fm_recipe *recipe);

/**
 * The basic rates that a rhythm can have, both included, per minute: an early beat must
 * fit between the last one and the refractory time, a pause must stay under 2.5 s.
 */
void fm_compose_bpm_range(fm_compose_rhythm rhythm, double *low_bpm, double *high_bpm);

/**
 * How far breathing moves the interval of a healthy person at rest, longest less shortest.
 *
 * Source: Umetani, Singer, McCraty, Atkinson, J Am Coll Cardiol 31:593, 1998, RMSSD by
 *         decade of 260 people (over 24 h; the decade means from memory, their fall to 47 %
 *         by the sixth decade as its abstract says). A sinusoidal modulation by A of intervals T
 *         with f breaths a second has RMSSD A / sqrt 2 * sin(pi f T) (closed form); all of
 *         RMSSD is taken to be breathing, which overstates it a little.
 *
 * @param age_years        10..99
 * @param bpm              30..220
 * @param breaths_per_min  4..80
 * @return ms, at most half the interval and 600; NaN when one is out of its range: for
 *         children under ten no figure was found
 */
double fm_compose_rsa_of_age_ms(double age_years, double bpm, double breaths_per_min);

/** The mean RMSSD the same source gives for an age in years, ms; NaN outside 10..99. */
double fm_compose_rmssd_of_age_ms(double age_years);

/** Samples that a recipe makes: seconds * rate_hz, rounded; 0 when either is bad. */
size_t fm_recipe_samples(const fm_recipe *recipe);

/**
 * The truth about a composed recording. Start from {0}; fm_compose fills it and owns
 * what it filled before; free with fm_truth_free. Times are seconds from the first
 * sample, ascending.
 *
 * Onset: the first time the sound's own 10 ms RMS, after all frequency responses and
 * before noise, reaches 10 % of its peak; the time is the middle of those 10 ms.
 */
typedef struct fm_truth {
    size_t n_s1;
    double *s1_s; /**< onset of every S1 that lies inside, inaudible ones included */
    size_t n_s2;
    double
        *s2_s; /**< onset of every S2; a beat so early that the valve does not open has
                       none */
    size_t n_inaudible_s1;
    size_t
        *inaudible_s1; /**< indices into s1_s: silent, inside lost audio, or softer by
                               20 dB and more where contact was lost */
    size_t n_breaths;
    double *breath_starts_s; /**< start of each inspiration */
    bool
        breathing_known; /**< false for given lengths and annotated recordings: the next
                               three mean nothing */
    fm_breath_pattern
        breath_pattern; /**< by the rule of the breathing composed, for the
                                           first minute */
    size_t n_breath_pauses;
    fm_breath_pause *breath_pauses; /**< from FM_BREATH_PAUSE_S on, over the whole
                                         recording: end of a breath to the next start */
    bool has_radial;
    size_t n_radial;
    double *radial_s;   /**< pulse at the wrist; a beat too early to fill has none */
    bool pattern_known; /**< false for given intervals and annotated recordings */
    fm_pattern pattern; /**< by the rule of the rhythm composed, for the first minute */
    char repeat[FM_REPEAT_TEXT];
    bool varies_with_breathing;
    size_t n_findings;
    fm_finding findings[FM_FINDINGS_MAX]; /**< over the whole recording */
    fm_span contact_lost;                 /**< from the recipe; length 0: never */
    double snr_db; /**< measured; NaN without a heart. There is always a floor of
                         white noise, 50 dB under the heart */
    double
        breath_snr_db; /**< breath sounds over the rest, 100-1000 Hz; NaN without any */
    uint64_t seed;
    double rate_hz;
    double duration_s;
} fm_truth;

/** Frees what is inside and zeroes it; t itself is the caller's. NULL is allowed. */
void fm_truth_free(fm_truth *t);

/**
 * Compose. Allocates working memory (about 24 bytes a sample) and frees it.
 *
 * @param recipe     what to compose
 * @param[out] out   out[0..n-1], full scale +/-1, on the 16 bit grid
 * @param n          fm_recipe_samples(recipe)
 * @param[in,out] truth  {0} or filled before; on error emptied
 * @return FM_OK; FM_ERR_ARG (fm_recipe_fault is not NULL, or n
 *         differs); FM_ERR_NOMEM. On error out holds
 *         nothing of use
 */
fm_status fm_compose(const fm_recipe *recipe, float *out, size_t n, fm_truth *truth);

#endif
