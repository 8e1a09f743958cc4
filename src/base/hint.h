/**
 * @file hint.h
 * What a person can do about a finding or an error, where each front end has its own way of
 * doing it: the terminal an option, the page a button. Who says a sentence names the hint;
 * the front end brings the words, and learns which hints were said.
 */
#ifndef BASE_HINT_H
#define BASE_HINT_H

#include <stdbool.h>

/** Enumerator, code in documents, words where no front end has its own. The first few begin
 * an error: what of the request it is about. Those after them end one. */
#define HINT_MAP(X)                                                                    \
    X(HINT_NONE, "", "")                                                               \
    X(HINT_CHANNEL, "channel", "channel")                                              \
    X(HINT_INPUT_CHANNEL, "input_channel", "channel")                                  \
    X(HINT_START, "start", "start")                                                    \
    X(HINT_BREATH_WINDOW, "breath_window", "start of the respirations")                \
    X(HINT_ADDRESS, "address", "address")                                              \
    X(HINT_PORT, "port", "; choose another")                                           \
    X(HINT_LOGBOOK, "logbook", "; choose another place for it")                        \
    X(HINT_NO_LOGBOOK, "no_logbook", "; a count with initials begins one")             \
    X(HINT_LEARNER, "learner", "")                                                     \
    X(HINT_INPUT_FILE, "input_file", "")                                               \
    X(HINT_NO_SITTING, "no_sitting", "; move that away to go without it")              \
    X(HINT_NO_TRUTH, "no_truth", "")                                                   \
    X(HINT_WITH_COPIES, "with_copies", ", then let it be removed as well")             \
    X(HINT_INPUT_GONE, "input_gone", ": plug it in, or choose another input")          \
    X(HINT_STETHOSCOPE, "stethoscope", "")                                             \
    X(HINT_RECORDING, "recording", "; a home folder that can be written is needed")    \
    X(HINT_AGE_RANGE, "age_range", "")                                                 \
    X(HINT_TOLERANCE, "tolerance", "")                                                 \
    X(HINT_BREATH_TOLERANCE, "breath_tolerance", "")                                   \
    X(HINT_AGE, "age", "give the age")                                                 \
    X(HINT_SECONDS_15, "seconds_15", "choose 15 s before you enter it")                \
    X(HINT_SECONDS_30, "seconds_30", "choose 30 s before you enter it")                \
    X(HINT_CHECK_PULSE, "check_pulse", "count the pulse of the same recording.")       \
    X(HINT_TAP_ALONG, "tap_along", "tap along as you count: it names what slipped.")   \
    X(HINT_TAP_AGAIN, "tap_again",                                                     \
      "count another uneven rhythm, or this one again, and tap along.")                \
    X(HINT_TRUTH_DOUBTED, "truth_doubted",                                             \
      "see whose NAME.truth.json it is, or compare without it.")

typedef enum hint_kind {
#define X(kind, code, words) kind,
    HINT_MAP(X)
#undef X
    HINT_COUNT
} hint_kind;

/** Who words the hints of a text. Plain value. */
typedef struct hint_voice {
    const char *const *words; /**< words[0..HINT_COUNT-1]; NULL: those above */
    bool said[HINT_COUNT];    /**< set where the text has that hint */
} hint_voice;

/** The words, noted as said; voice NULL: those above. */
const char *hint_say(hint_voice *voice, hint_kind kind);

/** "tap_along". */
const char *hint_code(hint_kind kind);

#endif
