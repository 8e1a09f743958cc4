#include "src/document/taking_phase.h"

/* The page's words. Who is told of a count that failed has asked for what is shown. */
const char *const TAKING_WORDS[] = {
    [TAKING_ENDED] = "none",      [TAKING_SETTLING] = "settling",
    [TAKING_LEAD_IN] = "lead_in", [TAKING_RUNNING] = "running",
    [TAKING_GAPPED] = "gapped",   [TAKING_ENTRY] = "entry",
    [TAKING_STORING] = "entry",   [TAKING_TAIL] = "ending",
    [TAKING_BROKEN] = "broken",   [TAKING_COUNTING] = "counting",
    [TAKING_SHOWN] = "revealed",  [TAKING_FAILED] = "revealed"};
const char *const TAKING_ROOM_WORDS[] = {
    [TAKING_ENDED] = "none",       [TAKING_SETTLING] = "gathering",
    [TAKING_LEAD_IN] = "lead_in",  [TAKING_RUNNING] = "listening",
    [TAKING_GAPPED] = "listening", [TAKING_ENTRY] = "entering",
    [TAKING_STORING] = "entering", [TAKING_TAIL] = "entering",
    [TAKING_BROKEN] = "none",      [TAKING_COUNTING] = "entering",
    [TAKING_SHOWN] = "revealed",   [TAKING_FAILED] = "revealed"};
const char *const TAKING_ENTRY_WORDS[] = {"pulse", "second", "breath"};
