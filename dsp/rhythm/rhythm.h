/**
 * @file rhythm.h
 * The rhythm of one window from its S1 onsets: what each interval is beside its
 * neighbours, the pattern in trade words, findings with their times, interval measures.
 * Whole-window. Never a diagnosis: sound tells when beats were heard, not why.
 *
 * Repeating groups are looked for before any index of fibrillation, because a bigeminy
 * exceeds every one of those indices.
 *
 * Sources of the rules, each also beside its constant in rhythm.c and the files it uses:
 *   early beat: >= 20 % before the mean of the last five basic intervals, the next one
 *               >= 20 % longer (HRT filter rule, librasch.org/hrt);
 *   breathing:  extreme intervals differing by more than 120 ms (THEW definitions);
 *   fibrillation: RMSSD / mean > 0.1 and turning points (Dash, Chon, Raeder, Lu, Ann
 *               Biomed Eng 37:1701, 2009); share of differences over 31 ms (Bus,
 *               Jedrzejewski, Guzik, J Clin Med 12:687, 2023, one-minute recordings).
 * How they are put together for a minute of sound is ours.
 *
 * What it cannot tell, and what it says then:
 *   - an early beat every second beat that is not fully made up for, from a 3:2 group that
 *     lengthens: long to short 1.68 to 1.92 with the short one over 0.45 s is "3:2", else
 *     "2:2"; the pattern is the same;
 *   - breathing of just two beats a breath from a pair: over a ratio of 1.25 "2:2";
 *   - a beat missed from a pause: by its sureness, and under 0.75 s only 'late', which is
 *     no finding (six events a minute and more, late ones too, are irregular all the same);
 *   - beats timed worse than about 20 ms at a fast rate from fibrillation: by their
 *     correlation (a beat heard late makes one interval longer and the next shorter); then
 *     undetermined, never regular;
 *   - a wide modulation that is smooth but has no period, from either: undetermined;
 *   - a straight drift of 10 % in the window and more: undetermined, without a finding;
 *   - a single early beat or pause in the first interval or the last from a sound that is no
 *     beat: unsure, no finding.
 */
#ifndef FM_RHYTHM_H
#define FM_RHYTHM_H

#include "dsp/result.h"

/** Fewest intervals and seconds a pattern is named from; under either: undetermined. */
#define FM_RHYTHM_MIN_INTERVALS 15
#define FM_RHYTHM_MIN_S         20.0

/**
 * Describe the rhythm. Pure: no allocation, nothing kept; some tens of KB of stack.
 *
 * Every S1-S1 interval is listed, but for those that reach over an excluded span: those are left
 * out. An interval that breaks the pattern and has an end of low sureness (< 0.3) is
 * FM_INTERVAL_UNSURE: listed, but in no measure and no finding. Findings come in the
 * order of fm_finding_kind; a finding's time is the S1 that came early, the S1 a pause
 * starts from, the S1 a change of rate or a fast run starts from.
 *
 * @param s1_s      s1_s[0..n-1], S1 onsets, s, ascending, those inside the window; times
 *                  that are not finite or do not ascend are skipped
 * @param sureness  sureness[0..n-1], 0..1, or NULL: every beat is sure
 * @param n         at most FM_BEATS_MAX are used
 * @param excluded  excluded[0..n_excluded-1], gaps or unusable stretches, any order; may be
 *                  NULL when n_excluded is 0
 * @param window_start_s  the window the beats are from, s
 * @param window_end_s    > window_start_s
 * @param[out] out  filled whatever the input; FM_PATTERN_UNDETERMINED and NaN measures
 *                  where there is too little
 */
void fm_rhythm_describe(const double *s1_s,
                        const float *sureness,
                        size_t n,
                        const fm_span *excluded,
                        size_t n_excluded,
                        double window_start_s,
                        double window_end_s,
                        fm_rhythm *out);

/**
 * Where the run of fast beats ends that begins at the S1 at start_s, a time of the finding
 * FM_FINDING_FAST_RUN of r.
 * @return its last S1, s; NaN where no three listed intervals begin there
 */
double fm_rhythm_run_end_s(const fm_rhythm *r, double start_s);

#endif
