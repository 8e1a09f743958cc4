/**
 * @file worksheet_score.h
 * A class's answers beside the key: per student, per item, and what misled whom.
 *
 * Answers are CSV with the columns student, item, manual_beats, seconds, convention, rhythm,
 * breaths, in any order; seconds (60), convention (clock), rhythm and breaths may be empty
 * or missing.
 */
#ifndef USECASE_WORKSHEET_SCORE_H
#define USECASE_WORKSHEET_SCORE_H

#include "dsp/compare/agreement.h"
#include "src/document/worksheet_key.h"

/** What an answer looks like: enumerator, words for people. */
#define WORKSHEET_SLIP_MAP(X)                                                          \
    X(WORKSHEET_RIGHT, "within the tolerance")                                         \
    X(WORKSHEET_FIRST_BEAT, "the first beat called zero or one")                       \
    X(WORKSHEET_SHORT_COUNT, "a short count multiplied")                               \
    X(WORKSHEET_BOTH_SOUNDS, "both sounds counted")                                    \
    X(WORKSHEET_EVERY_OTHER, "every other beat")                                       \
    X(WORKSHEET_EARLY_MISSED, "early beats not counted")                               \
    X(WORKSHEET_LOST, "lost the thread")

typedef enum worksheet_slip {
#define X(name, words) name,
    WORKSHEET_SLIP_MAP(X)
#undef X
    WORKSHEET_SLIP_COUNT
} worksheet_slip;

const char *worksheet_slip_words(worksheet_slip slip);

/** What was said of the rhythm. */
typedef enum worksheet_heard {
    WORKSHEET_NOT_SAID,
    WORKSHEET_SAME_WORD,
    WORKSHEET_OTHER_WORD,     /**< irregular both, another kind */
    WORKSHEET_MISSED,         /**< said regular, was not */
    WORKSHEET_HEARD_TOO_MUCH, /**< said irregular, was regular */
    WORKSHEET_HEARD_COUNT
} worksheet_heard;

enum {
    WORKSHEET_STUDENT_BYTES = 32,
    WORKSHEET_ANSWERS_MOST = 100000
};

/** One answer, judged. */
typedef struct worksheet_answer {
    size_t student, item; /**< into students and the key's items */
    double per_min;
    double difference_per_min; /**< answer less truth */
    worksheet_slip slip;
    worksheet_heard heard;
    int breaths; /**< WORKSHEET_UNKNOWN: not said */
} worksheet_answer;

/** A row of the results: a student's answers, or an item's. */
typedef struct worksheet_row {
    char name[WORKSHEET_WORD_BYTES];
    size_t n;
    size_t within;
    fm_ends share_95;
    fm_agreement agreement;
    size_t said, same_word, missed; /**< of the rhythm */
    size_t slips[WORKSHEET_SLIP_COUNT];
    size_t breaths_n, breaths_within; /**< respirations, within 2 a minute */
} worksheet_row;

/** Everything. Start from zero, free with worksheet_scores_free. */
typedef struct worksheet_scores {
    double tolerance_per_min;
    size_t n_answers, answer_room;
    worksheet_answer *answers;
    size_t n_students, student_room;
    worksheet_row *students;
    size_t n_items;
    worksheet_row *items;
} worksheet_scores;

void worksheet_scores_free(worksheet_scores *s);

/**
 * Judge every answer.
 *
 * @param name            of the answers, for errors
 * @param[in,out] text    text[0..n-1], changed; text[n] writable
 * @param tolerance       per minute
 * @return false with err APP_UNREADABLE: record and column, and nothing is scored
 */
bool worksheet_score(const worksheet_key *k,
                     const char *name,
                     char *text,
                     size_t n,
                     double tolerance,
                     worksheet_scores *out,
                     app_err *err);

/** What one count looks like beside an item. */
worksheet_slip worksheet_slip_of(const worksheet_item *item,
                                 int beats,
                                 int seconds,
                                 bool first_is_zero,
                                 double tolerance);

#endif
