/**
 * @file count_text.h
 * A count as a person reads it: one line at a glance, then what it rests on and the
 * cautions that belong beside the number.
 * The signs of the person and the lines to act on stand above it (person_first.h).
 */
#ifndef WORDS_COUNT_TEXT_H
#define WORDS_COUNT_TEXT_H

#include "src/base/hint.h"
#include "src/document/count_document.h"
#include "src/words/person_first.h"

#include <stdio.h>

/** The pulse's line: count, rate, range, rhythm, how sure; or why there is no count. */
void count_text_print_line(const count_source *source, const fm_count *count, FILE *to);

/** One line of a row of windows: its times, the line above, respirations in brief. */
void count_text_print_row(const count_source *source, const fm_count *count, FILE *to);

/** The line, that of respirations, the details and the cautions; its hints in that voice. */
void count_text_print(const count_source *source,
                      const fm_count *count,
                      hint_voice *voice,
                      FILE *to);

/** The cautions alone, for the end of a row: as if for the most worrying of its counts. */
void count_text_print_cautions(bool any_refused, bool any_worrying, FILE *to);

/** True when the whole interval that holds the rate is outside the range that may judge it
 * at the person's age; the resting adult's without one. */
bool count_text_is_outside(const count_source *source, const fm_count *count);

/** True when a count is irregular (but in step with breathing), undetermined, outside that
 * range or at a line to act on, or respirations are outside theirs or at one, or no breath
 * was heard for as long as is named. */
bool count_text_is_worrying(const count_source *source, const fm_count *count);

/** The numbers of a count for person_first.h; what is refused is left out. */
person_first count_text_person(const count_source *source, const fm_count *count);

#endif
