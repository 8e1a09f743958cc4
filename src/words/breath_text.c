#include "src/words/breath_text.h"

#include "src/base/text.h"
#include "src/words/event_text.h"

#include <math.h>
#include <string.h>

/* Below this quality a cue is not named as one that was there: ours, no source. */
static const double CUE_SHOWN = 0.25;

static const char BY_HAND[] = "watch the chest and count for a full minute";

struct sentence {
    const char *what;
    const char *advice;
};

static const struct sentence SENTENCES[FM_REASON_COUNT] = {
    [FM_REASON_NONE] = {"", ""},
    [FM_REASON_TOO_SHORT] = {"too few whole breaths", "record at least a full minute"},
    [FM_REASON_TOO_QUIET] = {"too quiet for breath sounds", BY_HAND},
    [FM_REASON_CLIPPED] = {"overloaded sound",
                           "turn the recording level down and record again"},
    [FM_REASON_FRICTION] = {"friction sounds like breathing",
                            "hold the chest piece still, clear of clothing"},
    [FM_REASON_SPEECH_OR_MUSIC] = {"speech or music covers the breathing",
                                   "nobody speaks while respirations are counted"},
    [FM_REASON_TONE] = {"a steady tone or hum covers the breathing",
                        "move away from machines and chargers and record again"},
    [FM_REASON_NO_PERIODICITY] = {"no repeating breath was found", BY_HAND},
    [FM_REASON_RATE_AMBIGUOUS] = {"what is heard fits a rate and also its half or "
                                  "double",
                                  BY_HAND},
    [FM_REASON_GAP] = {"sound is missing", "record again without a break"},
    [FM_REASON_ESTIMATORS_DISAGREE] = {"the signs of breathing disagree", BY_HAND},
    [FM_REASON_NO_BREATH_CUE] = {"no breathing could be made out", BY_HAND},
    [FM_REASON_CONTACT_LOST] = {"nothing was heard", "did the chest piece lift?"},
    [FM_REASON_CONTACT_OR_PAUSE] = {"nothing was heard", "did the chest piece lift?"},
    [FM_REASON_NO_HEART] = {"no heart was heard", BY_HAND},
    [FM_REASON_BREATH_COVERS_HEART] = {"breathing covers the heart", BY_HAND},
    [FM_REASON_HEART_ALONE] =
        {"no breath sound was heard, only how breathing moves the "
         "heart sounds",
         BY_HAND},
    [FM_REASON_CHILD] = {"a child's breathing is told less surely", BY_HAND},
};

const char *breath_text_reason(fm_reason reason, char out[BREATH_REASON_BYTES])
{
    static const struct sentence UNKNOWN = {"an unknown reason", BY_HAND};
    const unsigned k = (unsigned)reason;
    const struct sentence *const s = k < FM_REASON_COUNT ? &SENTENCES[k] : &UNKNOWN;
    out[0] = '\0';
    if (reason != FM_REASON_NONE) {
        (void)snprintf(out, BREATH_REASON_BYTES, "%s: %s", s->what, s->advice);
    }
    return out;
}

const char *breath_text_cues(const fm_breath *b, char *out, size_t bytes)
{
    size_t n = 0;
    size_t total = 0;
    out[0] = '\0';
    for (int k = 0; k < FM_CUE_COUNT; k++) {
        total += b->cue_quality[k] >= CUE_SHOWN ? 1U : 0U;
    }
    for (int k = 0; k < FM_CUE_COUNT; k++) {
        if (!(b->cue_quality[k] >= CUE_SHOWN)) {
            continue;
        }
        const char *const last = n + 1 == total ? " and " : ", ";
        text_add(out, bytes, "%s%s", n == 0 ? "" : last, fm_cue_word((fm_cue)k));
        n++;
    }
    return out;
}

const char *breath_text_pattern(fm_breath_pattern pattern,
                                bool full_minute,
                                char out[BREATH_PATTERN_BYTES])
{
    static const char *const AFTER[FM_BREATH_PATTERN_COUNT] = {
        [FM_BREATH_PATTERN_UNDETERMINED] =
            ": it cannot be told from this sound, watch the chest",
        [FM_BREATH_PATTERN_EVEN] =
            " spacing in %s; it says nothing of depth and effort: look",
        [FM_BREATH_PATTERN_UNEVEN] = ", one minute is too short to say more",
        [FM_BREATH_PATTERN_WITH_PAUSES] = " in %s",
        [FM_BREATH_PATTERN_WAXING] = ": two whole swells were heard in %s",
    };
    const char *const seconds = full_minute ? "this minute" : "these seconds";
    const unsigned k = (unsigned)pattern;
    const int n =
        snprintf(out, BREATH_PATTERN_BYTES, "%s", fm_breath_pattern_word(pattern));
    const char *const after = AFTER[k < FM_BREATH_PATTERN_COUNT ? k : 0];
    const char *const place = strstr(after, "%s");
    const int before = (int)(place != NULL ? (size_t)(place - after) : strlen(after));
    (void)snprintf(out + n, BREATH_PATTERN_BYTES - (size_t)n, "%.*s%s%s", before, after,
                   place != NULL ? seconds : "", place != NULL ? place + 2 : "");
    return out;
}

const char *breath_text_pauses(const fm_breath_pause *pauses,
                               size_t n,
                               bool known,
                               char out[BREATH_PAUSES_BYTES])
{
    out[0] = '\0';
    for (size_t i = 0; i < n && i < FM_BREATH_PAUSES_MAX; i++) {
        const char *const first =
            known ? "the breathing paused" : "no breath was heard";
        text_add(out, BREATH_PAUSES_BYTES, "%s from %.0f s to %.0f s",
                 i == 0       ? first
                 : i + 1 == n ? " and"
                              : ",",
                 pauses[i].start_s, pauses[i].end_s);
    }
    if (out[0] != '\0' && !known) {
        text_add(out, BREATH_PAUSES_BYTES, ": look at the chest");
    }
    return out;
}

bool breath_text_own_window(const fm_count *count)
{
    return fabs(count->breath.count.window.start_s -
                count->heart.count.window.start_s) > 0.001 ||
           fabs(count->breath.count.window.end_s - count->heart.count.window.end_s) >
               0.001;
}

const char *breath_text_where(const fm_count *count)
{
    const double after_s =
        count->breath.count.window.start_s - count->heart.count.window.end_s;
    return !breath_text_own_window(count) ? "in the same seconds as the pulse"
           : fabs(after_s) < 0.001        ? "the minute after the pulse's"
                                          : "a window of their own";
}

bool breath_text_is_outside(const fm_breath *b, double age_months)
{
    const fm_reference_range *const by = event_text_judge(FM_EVENT_BREATH, age_months);
    double low = 0.0;
    double high = 0.0;
    event_text_range(&b->count, &low, &high);
    return by != NULL && b->count.status != FM_REFUSED &&
           isfinite(b->count.rate_per_min) &&
           (high < by->low_per_min || low > by->high_per_min);
}

static double half_width(const fm_breath *b)
{
    return 0.5 * (b->count.rate_high_per_min - b->count.rate_low_per_min);
}

/* Too uncertain for one number, which would be read as if it were known. */
static bool has_no_one_number(const fm_breath *b)
{
    return isfinite(b->count.rate_per_min) &&
           isgreater(half_width(b), BREATH_NUMBER_HALF_WIDTH);
}

/* Sentences begin with a capital; ours are ASCII. */
static int capital(char letter)
{
    return letter >= 'a' && letter <= 'z' ? letter - 'a' + 'A' : letter;
}

/* " No breath was heard from 27 s to 41 s: look at the chest." */
static void print_pauses(const fm_breath *b, FILE *to)
{
    char pauses[BREATH_PAUSES_BYTES];
    breath_text_pauses(b->pauses, b->n_pauses, false, pauses);
    if (pauses[0] != '\0') {
        const int first = capital(pauses[0]);
        (void)fprintf(to, " %c%s.", first, pauses + 1);
    }
}

static void print_count(const fm_count *count, FILE *to)
{
    const fm_breath *const b = &count->breath;
    char reason[BREATH_REASON_BYTES];
    breath_text_reason(b->count.reason, reason);
    if (b->count.status == FM_REFUSED) {
        const char *const why = reason[0] != '\0' ? reason : BY_HAND;
        const int first = capital(why[0]);
        (void)fprintf(to, "Respirations: no count. %c%s.", first, why + 1);
        return;
    }
    if (has_no_one_number(b)) {
        double low = 0.0;
        double high = 0.0;
        event_text_range(&b->count, &low, &high);
        (void)fprintf(
            to,
            "Respirations: between %.0f and %.0f per minute, too uncertain for "
            "one number: %s.",
            low, high, BY_HAND);
        return;
    }
    (void)fprintf(to, "Respirations: %d in ", (int)b->count.n);
    event_text_length(b->count.window.end_s - b->count.window.start_s, to);
    event_text_rate(b->count.rate_per_min, b->count.rate_low_per_min,
                    b->count.rate_high_per_min, b->count.window.full_minute, to);
    event_text_end(&b->count,
                   isgreater(half_width(b), BREATH_COUNTED_HALF_WIDTH) ? ". Estimated"
                                                                       : ". Counted",
                   reason, to);
}

void breath_text_print_line(const fm_count *count, FILE *to)
{
    print_count(count, to);
    print_pauses(&count->breath, to);
    (void)fputc('\n', to);
}

void breath_text_print_short(const fm_breath *b, FILE *to)
{
    if (b->count.status == FM_REFUSED) {
        (void)fputs(" Respirations: no count.", to);
    } else if (has_no_one_number(b)) {
        double low = 0.0;
        double high = 0.0;
        event_text_range(&b->count, &low, &high);
        (void)fprintf(to, " Respirations: between %.0f and %.0f per minute.", low,
                      high);
    } else if (isfinite(b->count.rate_per_min)) {
        (void)fprintf(to, " Respirations: %.*f per minute%s.",
                      b->count.window.full_minute ? 0 : 1, b->count.rate_per_min,
                      b->count.status == FM_CAUTION ? ", with caution" : "");
    } else {
        (void)fprintf(to, " Respirations: %d.", (int)b->count.n);
    }
    print_pauses(b, to);
}

/* Of a refused count only what is vouched for all the same. */
static void print_pattern(const fm_breath *b, FILE *to)
{
    char pattern[BREATH_PATTERN_BYTES];
    if (b->count.status != FM_REFUSED || b->pattern != FM_BREATH_PATTERN_UNDETERMINED) {
        event_text_label("Breathing", to);
        (void)fprintf(
            to, "%s\n",
            breath_text_pattern(b->pattern, b->count.window.full_minute, pattern));
    }
}

void breath_text_print_details(const fm_count *count, FILE *to)
{
    const fm_breath *const b = &count->breath;
    char cues[BREATH_REASON_BYTES];
    event_text_label("Respirations", to);
    if (breath_text_own_window(count)) {
        (void)fprintf(to, "%.2f s to %.2f s, ", b->count.window.start_s,
                      b->count.window.end_s);
    }
    (void)fputs(breath_text_where(count), to);
    if (b->count.status == FM_REFUSED) {
        (void)fputc('\n', to);
        print_pattern(b, to);
        return;
    }
    if (!b->count.window.full_minute) {
        (void)fputs("; not a full minute", to);
    }
    breath_text_cues(b, cues, sizeof cues);
    if (cues[0] != '\0') {
        (void)fputc('\n', to);
        event_text_label("", to);
        (void)fprintf(to, "from %s", cues);
    }
    (void)fputs("\n", to);
    print_pattern(b, to);
    event_text_label("", to);
    (void)fputs("one inspiration and one expiration are one respiration\n", to);
}
