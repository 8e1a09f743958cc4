/* What the terminal says where a sentence names a hint: the one table of its options' names
 * in sentences that the page has, too. */
#include "src/command/command.h"

const char *const TERMINAL_HINTS[HINT_COUNT] = {
    [HINT_NONE] = "",
    [HINT_CHANNEL] = "--channel",
    [HINT_INPUT_CHANNEL] = "--input-channel",
    [HINT_START] = "--start",
    [HINT_BREATH_WINDOW] = "--breath-window",
    [HINT_ADDRESS] = "--address",
    [HINT_PORT] = "; give another --port, or leave it out",
    [HINT_LOGBOOK] = "; choose another place with --logbook",
    [HINT_NO_LOGBOOK] = "; 'fullminute logbook new' begins one",
    [HINT_LEARNER] = " with --learner",
    [HINT_INPUT_FILE] = ": --input file:PATH",
    [HINT_NO_SITTING] = "; --no-sitting leaves it out",
    [HINT_NO_TRUTH] = " ('check' leaves it out with --no-truth)",
    [HINT_WITH_COPIES] = ", then give --with-copies to remove it as well",
    [HINT_INPUT_GONE] =
        (": plug it in, name another with --input, or find it again with "
         "'fullminute sources --find'"),
    [HINT_STETHOSCOPE] = " (--listen stethoscope)",
    [HINT_RECORDING] = "; name a place with --recording",
    [HINT_AGE_RANGE] = " (--age)",
    [HINT_TOLERANCE] = " (--tolerance N)",
    [HINT_BREATH_TOLERANCE] = " (--breath-tolerance N)",
    [HINT_AGE] = "give --age",
    [HINT_SECONDS_15] = "say --seconds 15",
    [HINT_SECONDS_30] = "say --seconds 30",
    [HINT_CHECK_PULSE] = "count the pulse of the same recording: --manual N.",
    [HINT_TAP_ALONG] =
        "tap along as you count and add --taps FILE: it names what slipped.",
    [HINT_TAP_AGAIN] =
        "count another uneven rhythm, or this one again with --taps FILE.",
    [HINT_TRUTH_DOUBTED] =
        "see whose NAME.truth.json it is, or compare without it (--no-truth).",
};
