#include "src/report/count_text.h"

#include "dsp/reference_range.h"
#include "src/base/text.h"
#include "src/report/breath_text.h"
#include "src/report/reason_text.h"
#include "src/report/whole_range.h"

#include <math.h>
#include <string.h>

enum {
    TIMES_SHOWN = 8
};

/* Highest confidence put in words: above it, more digits would promise too much. */
static const double CONFIDENCE_SHOWN = 0.99;

static bool is_irregular(const fm_rhythm *r)
{
    return r->pattern == FM_PATTERN_OCCASIONALLY_IRREGULAR ||
           r->pattern == FM_PATTERN_REGULARLY_IRREGULAR ||
           r->pattern == FM_PATTERN_IRREGULARLY_IRREGULAR;
}

/* On the clock, whatever the first beat was called; whole and outward, as printed. */
static fm_range_place place_of(const fm_heart *h)
{
    const bool known = isfinite(h->rate_low_bpm) && isfinite(h->rate_high_bpm);
    if (h->status == FM_REFUSED || isnan(h->rate_bpm)) {
        return FM_RANGE_UNKNOWN;
    }
    return fm_range_place_between(
        COUNT_ADULT_LOW_BPM, COUNT_ADULT_HIGH_BPM,
        known ? whole_range_low(h->rate_low_bpm) : round(h->rate_bpm),
        known ? whole_range_high(h->rate_high_bpm) : round(h->rate_bpm));
}

bool count_text_is_outside(const fm_count *count)
{
    const fm_range_place place = place_of(&count->heart);
    return place == FM_RANGE_BELOW || place == FM_RANGE_ABOVE;
}

static bool is_uneven(const fm_count *count)
{
    return count->heart.status != FM_REFUSED &&
           (is_irregular(&count->rhythm) || count->rhythm.n_findings > 0);
}

bool count_text_is_worrying(const fm_count *count)
{
    return breath_text_is_outside(&count->breath) || is_uneven(count) ||
           count_text_is_outside(count);
}

/* ---- The line ---- */

static void print_confidence(double confidence, FILE *to)
{
    if (isnan(confidence)) {
        return;
    }
    if (confidence > CONFIDENCE_SHOWN) {
        (void)fprintf(to, ", confidence above %.2f", CONFIDENCE_SHOWN);
    } else {
        (void)fprintf(to, ", confidence %.2f", confidence);
    }
}

/* A whole minute's rate is a count, a short one's is an estimate to a tenth. */
static void print_rate(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_heart *const h = &count->heart;
    const double rate = count_source_rate(source, count, h->rate_bpm);
    const double low = count_source_rate(source, count, h->rate_low_bpm);
    const double high = count_source_rate(source, count, h->rate_high_bpm);
    if (isnan(rate)) {
        (void)fputs(", too few for a rate per minute", to);
        return;
    }
    (void)fprintf(to, " = %.*f per minute", count->window.full_minute ? 0 : 1, rate);
    if (isfinite(low) && isfinite(high)) {
        (void)fprintf(to, " (%.0f to %.0f)", whole_range_low(low),
                      whole_range_high(high));
    }
}

/* ", in groups of 2" for "2:2"; ", in groups of 3 beats and a pause (4:3)". */
static void print_repeat(const fm_rhythm *r, FILE *to)
{
    const char *const colon = strchr(r->repeat, ':');
    if (strcmp(r->repeat, "breathing") == 0) {
        (void)fputs(" with breathing", to);
    } else if (colon != NULL &&
               strncmp(r->repeat, colon + 1, (size_t)(colon - r->repeat)) == 0) {
        (void)fprintf(to, ", in groups of %s", colon + 1);
    } else if (colon != NULL) {
        (void)fprintf(to, ", in groups of %s beats and a pause (%s)", colon + 1,
                      r->repeat);
    }
}

static void print_pattern(const fm_rhythm *r, FILE *to)
{
    if (r->pattern != FM_PATTERN_UNDETERMINED) {
        (void)fprintf(to, ", %s", fm_pattern_word(r->pattern));
        print_repeat(r, to);
        return;
    }
    (void)fputs(", rhythm undetermined", to);
    if (r->n_findings > 0) {
        (void)fprintf(to, " (%s)", fm_finding_word(r->findings[0].kind));
    }
}

/* Without its line end. */
static void print_pulse(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_heart *const h = &count->heart;
    char reason[REASON_TEXT_BYTES];
    (void)reason_text_format(h->reason, &h->reason_span, reason);
    if (h->status == FM_REFUSED) {
        (void)fprintf(to, "No count: %s.",
                      reason[0] != '\0' ? reason : "the sound cannot be counted");
        return;
    }
    const double length_s = count->window.end_s - count->window.start_s;
    if (length_s >= 60.0 && !count->window.full_minute) {
        (void)fprintf(to, "Apical pulse: %d beats in the %.0f s that could be used",
                      count_source_beats(source, count), h->usable_s);
    } else {
        (void)fprintf(to, "Apical pulse: %d in %.*f s",
                      count_source_beats(source, count),
                      count->window.full_minute ? 0 : 1, length_s);
    }
    print_rate(source, count, to);
    print_pattern(&count->rhythm, to);
    (void)fputs(h->status == FM_CAUTION ? ". With caution" : ". Counted", to);
    print_confidence(h->confidence, to);
    (void)fputs(".", to);
    if (h->status == FM_CAUTION && reason[0] != '\0') {
        (void)fprintf(to, " Doubt: %s.", reason);
    }
}

void count_text_print_line(const count_source *source, const fm_count *count, FILE *to)
{
    print_pulse(source, count, to);
    (void)fputc('\n', to);
}

void count_text_print_row(const count_source *source, const fm_count *count, FILE *to)
{
    (void)fprintf(to, "%8.1f to %8.1f s  ", count->window.start_s, count->window.end_s);
    print_pulse(source, count, to);
    breath_text_print_short(&count->breath, to);
    (void)fputc('\n', to);
}

/* ---- Details ---- */

static void print_label(const char *label, FILE *to)
{
    (void)fprintf(to, "  %-14s", label);
}

static void print_where(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_window *const w = &count->window;
    print_label("Recording", to);
    text_print_clean(source->name, to);
    (void)fputs(", ", to);
    if (isfinite(source->duration_s)) {
        (void)fprintf(to, "%.1f s, ", source->duration_s);
    }
    (void)fprintf(to, "%.0f Hz", source->rate_hz);
    if (source->channels > 1) {
        (void)fprintf(to, ", channel %d of %d%s", source->channel, source->channels,
                      source->channel_chosen ? ", chosen as the best" : "");
    }
    (void)fputs(source->truncated ? ", cut short\n" : "\n", to);
    print_label("Window", to);
    (void)fprintf(to, "%.2f s to %.2f s, ", w->start_s, w->end_s);
    switch (source->convention) {
    case FM_CONVENTION_ONE:
        (void)fputs("from the first beat, which is called one", to);
        break;
    case FM_CONVENTION_ZERO:
        (void)fputs("from the first beat, which is called zero", to);
        break;
    case FM_CONVENTION_CLOCK:
    case FM_CONVENTION_COUNT:
    default:
        (void)fputs("on the clock: the first beat heard is one", to);
        break;
    }
    (void)fputc('\n', to);
}

static void print_short_label(const fm_count *count, FILE *to)
{
    const double length_s = count->window.end_s - count->window.start_s;
    if (count->window.full_minute) {
        return;
    }
    print_label("Short count", to);
    if (length_s > 59.999) {
        (void)fprintf(
            to,
            "%.0f s of this minute could be used: not a full-minute count; the\n"
            "               rate leaves the rest out\n",
            count->heart.usable_s);
    } else {
        (void)fputs("less than a full minute: an apical pulse is counted for 60 s\n",
                    to);
    }
}

static void print_finding(const fm_finding *f, FILE *to)
{
    print_label("", to);
    (void)fprintf(to, "%s: %zu, at", fm_finding_word(f->kind), f->count);
    const size_t kept = f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES;
    const size_t shown = kept < TIMES_SHOWN ? kept : TIMES_SHOWN;
    for (size_t i = 0; i < shown; i++) {
        (void)fprintf(to, "%s %.1f", i > 0 ? "," : "", f->times_s[i]);
    }
    (void)fprintf(to, " s%s\n", f->count > shown ? " and later" : "");
}

/* Under 20 s or 15 intervals no pattern is named. */
static bool too_few_for_a_pattern(const fm_count *count)
{
    return count->window.end_s - count->window.start_s < 20.0 ||
           count->rhythm.n_intervals < 15;
}

static void print_rhythm(const fm_count *count, FILE *to)
{
    const fm_rhythm *const r = &count->rhythm;
    print_label("Rhythm", to);
    (void)fputs(fm_pattern_word(r->pattern), to);
    if (r->pattern != FM_PATTERN_UNDETERMINED) {
        print_repeat(r, to);
    } else if (too_few_for_a_pattern(count)) {
        (void)fputs(": under 20 s or 15 intervals are too few to tell", to);
    } else if (r->n_findings == 0) {
        (void)fputs(": listen again for a full minute", to);
    }
    if (r->varies_with_breathing && strcmp(r->repeat, "breathing") != 0) {
        (void)fputs(", varies with breathing", to);
    }
    if (isfinite(r->mean_interval_s)) {
        (void)fprintf(to, "; mean interval %.2f s", r->mean_interval_s);
    }
    (void)fputc('\n', to);
    for (size_t i = 0; i < r->n_findings; i++) {
        print_finding(&r->findings[i], to);
    }
}

/* Stretches of one cause that overlap or touch are told as one. */
static void print_unusable(const fm_quality *q, FILE *to)
{
    for (size_t i = 0; i < q->n_unusable;) {
        char sentence[REASON_TEXT_BYTES];
        fm_span whole = q->unusable[i];
        for (i++; i < q->n_unusable && q->unusable[i].reason == whole.reason &&
                  q->unusable[i].start_s <= whole.start_s + whole.length_s + 0.01;
             i++) {
            const double end_s = fmax(whole.start_s + whole.length_s,
                                      q->unusable[i].start_s + q->unusable[i].length_s);
            whole.length_s = end_s - whole.start_s;
        }
        print_label("", to);
        (void)fprintf(to, "unusable: %s\n",
                      reason_text_format(whole.reason, &whole, sentence));
    }
}

static void print_quality(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_quality *const q = &count->quality;
    print_label("Sound", to);
    if (isfinite(q->overall)) {
        (void)fprintf(to, "usable: %.2f of 1, ", q->overall);
    }
    if (isfinite(q->level_dbfs)) {
        (void)fprintf(to, "level %.0f dBFS", q->level_dbfs);
    } else {
        (void)fputs("digital silence", to);
    }
    if (q->clipped_fraction > 0.0) {
        (void)fprintf(to, ", %.2g %% of it overloaded", 100.0 * q->clipped_fraction);
    }
    (void)fputc('\n', to);
    for (size_t i = 0; i < q->n_gaps; i++) {
        print_label("", to);
        (void)fprintf(to, "sound is missing from %.0f s to %.0f s\n",
                      q->gaps[i].start_s, q->gaps[i].start_s + q->gaps[i].length_s);
    }
    print_unusable(q, to);
    if (source->not_numbers > 0) {
        print_label("", to);
        (void)fprintf(to, "%lld samples are not numbers and count as missing\n",
                      (long long)source->not_numbers);
    }
    if (count->heart.status != FM_REFUSED && count->heart.band == FM_BAND_HIGH) {
        print_label("", to);
        (void)fputs("a small microphone, it seems: little sound below 150 Hz, so the\n"
                    "                heart was counted from 150 to 450 Hz\n",
                    to);
    }
}

/* ---- Cautions ---- */

static void print_person_first(FILE *to)
{
    (void)fputs(
        "\nLook at the person first. Faint, breathless, chest pain, grey or confused:\n"
        "stop and call for help now. Otherwise count again at the apex for a full\n"
        "minute, and tell the instructor or the responsible clinician by local\n"
        "protocol, even if the person feels well. A friend you practise on: the\n"
        "finding is theirs, told privately, with the instructor.\n",
        to);
}

/* Nothing but the respirations. */
static void print_breathing_person_first(FILE *to)
{
    (void)fputs(
        "\nLook at the person first. Faint, breathless, chest pain, grey or confused:\n"
        "stop and call for help now. Otherwise watch the chest and count the\n"
        "respirations again for a full minute, and tell the instructor or the\n"
        "responsible clinician by local protocol, even if the person feels well.\n",
        to);
}

static void print_edge(const fm_heart *h, FILE *to)
{
    const double low = whole_range_low(h->rate_low_bpm);
    if (place_of(h) == FM_RANGE_EDGE) {
        (void)fprintf(to,
                      "\n%.0f-%.0f reaches the edge of 60-100, the usual range of a "
                      "resting adult:\ncount another full minute before you call it "
                      "%s.\n",
                      low, whole_range_high(h->rate_high_bpm),
                      low < COUNT_ADULT_LOW_BPM ? "low" : "high");
    }
}

static void print_regular(const fm_window *w, FILE *to)
{
    if (w->end_s - w->start_s >= 60.0) {
        (void)fputs("\nRegular means evenly spaced in this minute only", to);
    } else {
        (void)fprintf(to, "\nRegular means evenly spaced in these %.0f s only",
                      w->end_s - w->start_s);
    }
    (void)fputs("; it is not a check of the\nheart.\n", to);
}

static void print_cautions(const fm_count *count, FILE *to)
{
    const fm_heart *const h = &count->heart;
    if (breath_text_is_outside(&count->breath)) {
        (void)fputs(
            "\nOutside the range: 12 to 20 respirations per minute are usual in a\n"
            "resting adult. Children breathe faster (--age in 'check' knows their "
            "ranges);\n"
            "effort, fever and knowing that one is watched move it. Context decides.\n",
            to);
    }
    if (count_text_is_outside(count)) {
        (void)fputs(
            "\nOutside the range: 60 to 100 per minute is usual in a resting adult.\n"
            "Other ages have other ranges, and effort, fever, fitness and medicines\n"
            "move it; that explains a number and does not replace counting again.\n",
            to);
    }
    print_edge(h, to);
    if (is_uneven(count)) {
        (void)fputs(h->status == FM_CAUTION ? "\nPerhaps irregular." : "\nIrregular.",
                    to);
    }
    if (is_uneven(count) || count_text_is_outside(count)) {
        print_person_first(to);
    } else if (breath_text_is_outside(&count->breath)) {
        print_breathing_person_first(to);
    } else if (h->status != FM_REFUSED && count->rhythm.pattern == FM_PATTERN_REGULAR) {
        print_regular(&count->window, to);
    }
    if (h->status == FM_REFUSED) {
        count_text_print_cautions(true, false, to);
    }
}

void count_text_print_cautions(bool any_refused, bool any_worrying, FILE *to)
{
    if (any_worrying) {
        print_person_first(to);
    }
    if (any_refused) {
        (void)fputs(
            "\nNo count is not a normal finding: count by hand for a full minute.\n",
            to);
    }
}

void count_text_print(const count_source *source, const fm_count *count, FILE *to)
{
    count_text_print_line(source, count, to);
    breath_text_print_line(count, to);
    print_where(source, count, to);
    if (count->heart.status != FM_REFUSED) {
        print_short_label(count, to);
        print_rhythm(count, to);
    }
    print_quality(source, count, to);
    breath_text_print_details(count, to);
    print_cautions(count, to);
    (void)fputs("\nFor learning and research; not a medical device.\n", to);
}
