#include "src/words/reason_text.h"

#include <math.h>
#include <stdio.h>

struct sentence {
    const char *what;
    const char *advice;
};

static const struct sentence SENTENCES[FM_REASON_COUNT] = {
    [FM_REASON_NONE] = {"", ""},
    [FM_REASON_TOO_SHORT] = {"too little sound to count from",
                             "record at least a full minute"},
    [FM_REASON_TOO_QUIET] =
        {"too quiet", "press the chest piece flat on bare skin at the apex, or turn "
                      "the recording level up"},
    [FM_REASON_CLIPPED] = {"overloaded sound",
                           "turn the recording level down and record again"},
    [FM_REASON_FRICTION] = {"friction or loud breathing",
                            "hold the chest piece still, and ask for quiet breathing"},
    [FM_REASON_SPEECH_OR_MUSIC] =
        {"speech or music", "find a quiet place and do not speak while recording"},
    [FM_REASON_TONE] = {"a steady tone or hum",
                        "move away from machines and chargers and record again"},
    [FM_REASON_NO_PERIODICITY] = {"no repeating heart sound found",
                                  "find the apex by ear first, then record there"},
    [FM_REASON_RATE_AMBIGUOUS] = {"the sounds fit a rate and also its half or double",
                                  "count by hand for a full minute"},
    [FM_REASON_GAP] = {"sound is missing", "record again without a break"},
    [FM_REASON_ESTIMATORS_DISAGREE] =
        {"two independent ways of counting disagree",
         "record again in a quieter place, or count by hand"},
    [FM_REASON_NO_BREATH_CUE] = {"no breathing could be made out",
                                 "watch the chest and count for a full minute"},
    [FM_REASON_CONTACT_LOST] = {"nothing was heard", "did the chest piece lift?"},
    [FM_REASON_CONTACT_OR_PAUSE] =
        {"no heartbeat was heard", "contact was lost or there was a pause. Look at the "
                                   "person, then listen again"},
    [FM_REASON_NO_HEART] = {"no heart was heard",
                            "find the apex by ear first, then record there"},
    [FM_REASON_BREATH_COVERS_HEART] =
        {"breathing covers the heart",
         "ask for quiet breathing, press the chest piece flat and record again"},
    [FM_REASON_HEART_ALONE] = {"only the heart was heard", "count it yourself"},
    [FM_REASON_CHILD] = {"a child's heart", "count it yourself"},
};

static const struct sentence *find(fm_reason reason)
{
    static const struct sentence UNKNOWN = {"an unknown reason", "count by hand"};
    const unsigned index = (unsigned)reason;
    return index < FM_REASON_COUNT ? &SENTENCES[index] : &UNKNOWN;
}

const char *reason_text_what(fm_reason reason)
{
    return find(reason)->what;
}

const char *reason_text_advice(fm_reason reason)
{
    return find(reason)->advice;
}

const char *reason_text_gap(const fm_span *span, char out[REASON_TEXT_BYTES])
{
    const double from_s = floor(span->start_s);
    const double to_s = ceil(span->start_s + span->length_s);
    if (span->reason == FM_REASON_CONTACT_LOST) {
        (void)snprintf(out, REASON_TEXT_BYTES, "from %.0f s to %.0f s %s: %s", from_s,
                       to_s, find(span->reason)->what, find(span->reason)->advice);
    } else if (span->reason == FM_REASON_CONTACT_OR_PAUSE) {
        (void)reason_text_format(span->reason, span, out);
    } else {
        (void)snprintf(out, REASON_TEXT_BYTES, "sound is missing from %.0f s to %.0f s",
                       span->start_s, span->start_s + span->length_s);
    }
    return out;
}

const char *reason_text_format(fm_reason reason,
                               const fm_span *span,
                               char out[REASON_TEXT_BYTES])
{
    const struct sentence *const s = find(reason);
    if (reason == FM_REASON_NONE) {
        out[0] = '\0';
    } else if (span != NULL && isfinite(span->start_s) && span->length_s > 0.0 &&
               isfinite(span->length_s)) {
        (void)snprintf(out, REASON_TEXT_BYTES, "%s from %.0f s to %.0f s: %s", s->what,
                       floor(span->start_s), ceil(span->start_s + span->length_s),
                       s->advice);
    } else {
        (void)snprintf(out, REASON_TEXT_BYTES, "%s: %s", s->what, s->advice);
    }
    return out;
}
