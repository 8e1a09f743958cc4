/**
 * @file first_look_private.h
 * The parts of the first look that are files of their own. They fill what stands empty.
 */
#ifndef WORDS_FIRST_LOOK_PRIVATE_H
#define WORDS_FIRST_LOOK_PRIVATE_H

#include "src/words/first_look.h"
#include "src/words/pieces.h"

#include <assert.h>

static_assert((int)FIRST_TEXT_BYTES == (int)PIECE_WORDS_BYTES,
              "what is put together from pieces has room");

/** Respirations whose range is wider than +-5 per minute are no one number (ours, no
 * source). */
bool first_is_wide(const check_view *view, fm_event_kind kind);

/** What is compared, where it is (view->comparison or view->breaths is not NULL), and the program's own count of it. */
bool first_is_compared(const check_view *view, fm_event_kind kind);
const fm_comparison *first_comparison(const check_view *view, fm_event_kind kind);
const fm_event_count *first_count(const check_view *view, fm_event_kind kind);
bool first_could_not(const check_view *view, fm_event_kind kind);

/** Numbers, difference, how sure. */
void first_side_fill(const check_view *view, first_side *side);

/** The rate beside its range. */
void first_range_put(const check_view *view,
                     fm_event_kind kind,
                     char out[PIECE_WORDS_BYTES]);

/** The learner's word and the one found. */
void first_word_fill(const check_view *view, fm_event_kind kind, first_word *word);

/** Where it slipped. */
void first_slips_add(const check_view *view, first_view *to);

/** Shorter counts, and how it was counted. */
void first_method_add(const check_view *view, first_view *to);

/** The next step; slips are there. */
void first_next_fill(const check_view *view, first_view *to);

/** Another sentence; one too many is left out, and so is "". */
void first_lines_add(first_lines *to, const char *text);

/** Did the taps and the beats go together nearly nowhere? False where nothing was tapped. */
bool first_taps_lost_at_start(const check_view *view);

#endif
