/**
 * @file person_first.h
 * What stands above every number: the signs of the person come first, then whether a
 * number is at a published line to act on (dsp/compare/act_now.h). By the learner's number or the
 * second one, whichever is worse; while that is sealed by the learner's alone. Inside a
 * line nothing is said of the number: it is never called safe.
 *
 * Signs: resuscitation and first aid as taught, common practice, no source. Of infants:
 * grunting, chest drawing in, flaring nostrils, blue, floppy, hard to wake, not feeding
 * (WHO's danger signs, from memory), a pause of 20 s or any with a change of colour or
 * limpness (American Academy of Pediatrics, from memory).
 */
#ifndef WORDS_PERSON_FIRST_H
#define WORDS_PERSON_FIRST_H

#include "src/document/check_view.h"
#include "src/words/lines.h"

/** Numbers per minute; NaN: none, sealed or refused. */
typedef struct person_first {
    double age_months;              /**< NaN: not given */
    bool composed;                  /**< nobody is there: 'if this were a person',
                                                  and only where a line is reached */
    double own_pulse, second_pulse; /**< the learner's; the program's or known */
    double own_breaths, second_breaths;
} person_first;

/** Nothing known. */
person_first person_first_none(void);

/** Of a comparison: what of it is sealed is left out. */
person_first person_first_of(const check_view *view);

/** Is a number at its line, or none at all counted? */
bool person_first_is_reached(const person_first *p);

/** Number n of what is to be said, from 0 on: a sentence or two; "" beyond the last.
 * @param[out] out out[0..LINES_PARAGRAPH_BYTES-1] @return out */
const char *person_first_say(const person_first *p,
                             int n,
                             char out[LINES_PARAGRAPH_BYTES]);

/** Of the numbers alone the first that is at its line; "" where none is. @return out */
const char *person_first_line(const person_first *p, char out[LINES_PARAGRAPH_BYTES]);

/**
 * What comes next before anything of counting: a person whose number is at a line, or in
 * whom no breath was heard for as long as is named. NULL: nothing does, or nobody is there.
 */
const char *person_first_next(const check_view *view);

/** All of it, as paragraphs, an empty line after them; nothing where nothing is said. */
void person_first_add(const person_first *p, lines *to);

#endif
