/**
 * @file chart_minute_dial.h
 * The minute dial: a seconds scale round one minute, beginning at the top where the
 * window begins and numbered in seconds of the recording. S1 stand outward, taps hang
 * inward, each joined to its beat by a hairline, so that lag is seen. A beat without a
 * tap has an open foot, an extra tap is crossed. Intervals that are not as
 * expected carry a bracket and a word, a run of them one bracket and one word; where there
 * are many, a shape. Breaths are triangles inside the scale; a stretch
 * without one is a closed band there, with its seconds beside it. The centre stays empty; numbers and words stand
 * beside it (picture.h).
 *
 * Steady is an even comb. What could not be used or was not heard is hatched, with its
 * word; of a refused count all of it. Beyond a short window's end the ring goes on faint,
 * without numbers: not counted. Labels never meet: one without room is left out, and the
 * sentence beside the dial has it.
 */
#ifndef SRC_PICTURE_CHART_MINUTE_DIAL_H
#define SRC_PICTURE_CHART_MINUTE_DIAL_H

#include "dsp/compare/taps.h"
#include "dsp/result.h"
#include "src/picture/svg.h"

/** What the dial is drawn from; pointers are borrowed for the call. */
typedef struct chart_minute_dial {
    const fm_count *count; /**< never NULL; refused: the scale and the spans only */
    const fm_taps *taps;   /**< NULL: not tapped */
    bool taps_on_known;    /**< taps lie on known beats, not on what was counted: drawn
                                even where the count is refused */
    size_t n_breaths;
    const double *breath_s; /**< breath_s[0..n_breaths-1], s */
    size_t n_pauses;
    const fm_breath_pause
        *pauses;       /**< pauses[0..n_pauses-1]: no breath was heard; drawn
                                        as a closed band with its times, also where
                                        the heart is refused */
    bool pauses_known; /**< they are the truth's: the breathing paused */
} chart_minute_dial;

/** Height the dial takes; less where no words stand round it. */
double chart_minute_dial_height(const chart_minute_dial *dial);

/**
 * Draws CHART_WIDTH wide with its upper left corner at (x, y). Times that are not
 * finite, or not in the window, are not drawn.
 *
 * @return the marks that occur, an or of chart_mark, for the legend
 */
unsigned chart_minute_dial_draw(svg *s,
                                double x,
                                double y,
                                const chart_minute_dial *dial);

#endif
