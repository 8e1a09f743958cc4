/**
 * @file worksheet_scores.h
 * A class's answers to a worksheet, as they are handed in and as they were scored.
 *
 * Answers are CSV with the columns student, item, manual_beats, seconds, convention, rhythm,
 * breaths, in any order, parted by commas, semicolons or tabs; seconds (60), convention (clock),
 * rhythm and breaths may be empty or missing. An empty manual_beats is an answer: the student
 * could not count. Scores are the document "fullminute.scores/1", or CSV, a record an answer.
 */
#ifndef DOCUMENT_WORKSHEET_SCORES_H
#define DOCUMENT_WORKSHEET_SCORES_H

#include "dsp/compare/agreement.h"
#include "dsp/compare/compare.h"
#include "dsp/result.h"
#include "src/base/bytes.h"
#include "src/document/csv_table.h"
#include "src/document/worksheet_key.h"

/** What an answer looks like: enumerator, words for people. */
#define WORKSHEET_SLIP_MAP(X)                                                          \
    X(WORKSHEET_RIGHT, "within the tolerance")                                         \
    X(WORKSHEET_FIRST_BEAT, "the first beat called zero or one")                       \
    X(WORKSHEET_SHORT_COUNT, "a short count multiplied")                               \
    X(WORKSHEET_BOTH_SOUNDS, "both sounds counted")                                    \
    X(WORKSHEET_EVERY_OTHER, "every other beat")                                       \
    X(WORKSHEET_EARLY_MISSED, "early beats not counted")                               \
    X(WORKSHEET_LOST, "lost the thread")                                               \
    X(WORKSHEET_COULD_NOT, "could not count")

typedef enum worksheet_slip {
    WORKSHEET_SLIP_MAP(FM_ENUMERATOR) WORKSHEET_SLIP_COUNT
} worksheet_slip;

const char *worksheet_slip_words(worksheet_slip value);

/** What was said of the rhythm: enumerator, words of the documents; NULL: nothing. */
#define WORKSHEET_HEARD_MAP(X)                                                         \
    X(WORKSHEET_NOT_SAID, NULL)                                                        \
    X(WORKSHEET_SAME_WORD, "right")                                                    \
    X(WORKSHEET_OTHER_WORD, "another irregular word")                                  \
    X(WORKSHEET_MISSED, "irregular missed")                                            \
    X(WORKSHEET_HEARD_TOO_MUCH, "irregular heard where it is regular")

typedef enum worksheet_heard {
    WORKSHEET_HEARD_MAP(FM_ENUMERATOR)
} worksheet_heard;

enum {
    WORKSHEET_STUDENT_BYTES = 32,
    WORKSHEET_ANSWERS_MOST = 100000
};

/** One answer, judged. */
typedef struct worksheet_answer {
    size_t student, item;      /**< into students and the key's items */
    double per_min;            /**< NaN: they could not count */
    double difference_per_min; /**< answer less truth; NaN likewise */
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

/** An answer as it is handed in. */
typedef struct worksheet_given {
    char student[WORKSHEET_STUDENT_BYTES]; /**< a seat number or initials */
    char item[WORKSHEET_WORD_BYTES];
    int beats; /**< WORKSHEET_UNKNOWN: they could not count */
    int seconds;
    fm_convention convention;
    fm_pattern rhythm; /**< FM_PATTERN_COUNT: not said, or that it cannot be told */
    int breaths;       /**< WORKSHEET_UNKNOWN: not said */
} worksheet_given;

/** Called for each answer of a file; false with err ends it. t is where it stands. */
typedef bool worksheet_answer_taker(void *context,
                                    const worksheet_given *given,
                                    const csv_table *t,
                                    app_err *err);

/**
 * Every answer of a CSV text.
 *
 * @param name          for errors
 * @param[in,out] text  text[0..n-1], changed; text[n] writable
 * @return false with err APP_UNREADABLE (record and column), or the taker's
 */
bool worksheet_answers_read(const char *name,
                            char *text,
                            size_t n,
                            worksheet_answer_taker *take,
                            void *context,
                            app_err *err);

/** Were the respirations said, and are the item's known? And are they within 2 a minute
 *  (FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN)? */
bool worksheet_breaths_said(const worksheet_item *item, const worksheet_answer *a);
bool worksheet_breaths_within(const worksheet_item *item, const worksheet_answer *a);

/** The document; a new reference, NULL without memory. */
json_t *worksheet_scores_document(const worksheet_key *k, const worksheet_scores *s);

/** As CSV, one record an answer. */
void worksheet_scores_csv(const worksheet_key *k, const worksheet_scores *s, bytes *to);

#endif
