#include "src/words/count_text.h"

#include "dsp/breath/respiration_pause.h"
#include "dsp/compare/reference_range.h"
#include "src/base/bytes.h"
#include "src/base/text.h"
#include "src/words/breath_text.h"
#include "src/words/cautions.h"
#include "src/words/event_text.h"
#include "src/words/pieces.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    TIMES_SHOWN = 8
};

static double age_of(const count_source *source)
{
    return source->age_known ? source->age_months : (double)NAN;
}

/* On the clock, whatever the first beat was called; whole and outward, as printed. */
static fm_range_place place_of(const count_source *source, const fm_event_count *c)
{
    const fm_reference_range *const by =
        event_text_judge(FM_EVENT_BEAT, age_of(source));
    double low = 0.0;
    double high = 0.0;
    event_text_range(c, &low, &high);
    return by == NULL || c->status == FM_REFUSED || isnan(c->rate_per_min)
               ? FM_RANGE_UNKNOWN
               : fm_range_place_between(by->low_per_min, by->high_per_min, low, high);
}

bool count_text_is_outside(const count_source *source, const fm_count *count)
{
    const fm_range_place place = place_of(source, &count->heart.count);
    return place == FM_RANGE_BELOW || place == FM_RANGE_ABOVE;
}

person_first count_text_person(const count_source *source, const fm_count *count)
{
    person_first p = person_first_none();
    p.age_months = age_of(source);
    if (count->heart.count.status != FM_REFUSED) {
        p.second_pulse = count->heart.count.rate_per_min;
    }
    if (count->breath.count.status != FM_REFUSED) {
        p.second_breaths = count->breath.count.rate_per_min;
    }
    return p;
}

bool count_text_is_worrying(const count_source *source, const fm_count *count)
{
    const person_first p = count_text_person(source, count);
    return breath_text_is_outside(&count->breath, age_of(source)) ||
           count->breath.n_pauses > 0 ||
           (count_is_uneven(count) && !count_is_with_breathing(count)) ||
           count_text_is_outside(source, count) || person_first_is_reached(&p);
}

/* ---- The line ---- */

static void print_repeat(const fm_rhythm *r, FILE *to)
{
    char words[PIECE_WORDS_BYTES] = "";
    piece_put_repeat(words, r);
    (void)fputs(words, to);
}

/* Was contact to the chest lost? Then the rhythm is told of what was heard. */
static bool was_lost(const fm_quality *q)
{
    for (size_t i = 0; i < q->n_gaps; i++) {
        if (q->gaps[i].reason == FM_REASON_CONTACT_LOST ||
            q->gaps[i].reason == FM_REASON_CONTACT_OR_PAUSE) {
            return true;
        }
    }
    return false;
}

static void print_pattern(const fm_count *count, FILE *to)
{
    const fm_rhythm *const r = &count->rhythm;
    const fm_event_count *const c = &count->heart.count;
    if (c->status == FM_CAUTION && !was_lost(&c->quality)) {
        (void)fputs(", rhythm not named", to);
        return;
    }
    if (r->pattern != FM_PATTERN_UNDETERMINED) {
        (void)fprintf(to, ", %s", fm_pattern_word(r->pattern));
        print_repeat(r, to);
        if (was_lost(&c->quality)) {
            (void)fprintf(to, " in the %.0f s heard", c->usable_s);
        }
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
    const fm_event_count *const c = &count->heart.count;
    const fm_window *const w = &c->window;
    char reason[REASON_TEXT_BYTES];
    (void)reason_text_format(c->reason, &c->reason_span, reason);
    if (c->status == FM_REFUSED) {
        (void)fprintf(to, "No count: %s.",
                      reason[0] != '\0' ? reason : "the sound cannot be counted");
        return;
    }
    const double length_s = w->end_s - w->start_s;
    if (length_s >= 60.0 && !w->full_minute) {
        (void)fprintf(to, "Apical pulse: %d beats in the %.0f s that could be used",
                      count_source_beats(source, count), c->usable_s);
    } else {
        (void)fprintf(to, "Apical pulse: %d %sin ", count_source_beats(source, count),
                      w->full_minute ? "" : "beats ");
        event_text_length(length_s, to);
    }
    event_text_rate(count_source_rate(source, count, c->rate_per_min),
                    count_source_rate(source, count, c->rate_low_per_min),
                    count_source_rate(source, count, c->rate_high_per_min),
                    w->full_minute, to);
    print_pattern(count, to);
    event_text_end(c, ". Counted", reason, to);
}

void count_text_print_line(const count_source *source, const fm_count *count, FILE *to)
{
    print_pulse(source, count, to);
    (void)fputc('\n', to);
}

void count_text_print_row(const count_source *source, const fm_count *count, FILE *to)
{
    (void)fprintf(to, "%8.1f to %8.1f s  ", count->heart.count.window.start_s,
                  count->heart.count.window.end_s);
    print_pulse(source, count, to);
    breath_text_print_short(&count->breath, to);
    (void)fputc('\n', to);
}

/* ---- Details ---- */

static void print_where(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_window *const w = &count->heart.count.window;
    event_text_label("Recording", to);
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
    event_text_label("Window", to);
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

static void print_short_label(const fm_event_count *c, FILE *to)
{
    if (c->window.full_minute) {
        return;
    }
    event_text_label("Short count", to);
    if (c->window.end_s - c->window.start_s > 59.999) {
        (void)fprintf(
            to,
            "%.0f s of this minute could be used: not a full-minute count; the\n"
            "               rate leaves the rest out\n",
            c->usable_s);
    } else {
        (void)fputs("less than a full minute: an apical pulse is counted for 60 s\n",
                    to);
    }
}

static void print_finding(const fm_finding *f, FILE *to)
{
    event_text_label("", to);
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
    return count->heart.count.window.end_s - count->heart.count.window.start_s < 20.0 ||
           count->rhythm.n_intervals < 15;
}

static void print_rhythm(const fm_count *count, FILE *to)
{
    const fm_rhythm *const r = &count->rhythm;
    event_text_label("Rhythm", to);
    if (count->heart.count.status == FM_CAUTION) {
        (void)fputs("not named, because the count itself is in doubt\n", to);
        return;
    }
    (void)fputs(fm_pattern_word(r->pattern), to);
    if (r->pattern != FM_PATTERN_UNDETERMINED) {
        print_repeat(r, to);
        if (was_lost(&count->heart.count.quality)) {
            (void)fprintf(to, " in the %.0f s heard", count->heart.count.usable_s);
        }
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
        event_text_label("", to);
        (void)fprintf(to, "unusable: %s\n",
                      reason_text_format(whole.reason, &whole, sentence));
    }
}

static void print_quality(const count_source *source, const fm_count *count, FILE *to)
{
    const fm_quality *const q = &count->heart.count.quality;
    event_text_label("Sound", to);
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
        char sentence[REASON_TEXT_BYTES];
        event_text_label("", to);
        (void)fprintf(to, "%s\n", reason_text_gap(&q->gaps[i], sentence));
    }
    print_unusable(q, to);
    if (source->not_numbers > 0) {
        event_text_label("", to);
        (void)fprintf(to, "%lld samples are not numbers and count as missing\n",
                      (long long)source->not_numbers);
    }
    if (count->heart.count.status != FM_REFUSED && count->heart.band == FM_BAND_HIGH) {
        event_text_label("", to);
        (void)fputs("a small microphone, it seems: little sound below 150 Hz, so the\n"
                    "                heart was counted from 150 to 450 Hz\n",
                    to);
    }
}

/* ---- Cautions ---- */

static void add_edge(const count_source *source, const fm_event_count *c, lines *to)
{
    const fm_reference_range *const by =
        event_text_judge(FM_EVENT_BEAT, age_of(source));
    char line[PIECE_WORDS_BYTES] = "";
    if (by != NULL && place_of(source, c) == FM_RANGE_EDGE) {
        piece_put_edge(line, c->rate_low_per_min, c->rate_high_per_min, by,
                       fm_reference_range_is_centiles(by)
                           ? ", the 1st to 99th centile at this age"
                           : ", the usual range of a resting adult");
        lines_break(to);
        lines_add(to, 0, "%s.", line);
    }
}

static void add_outside(const count_source *source,
                        const fm_count *count,
                        hint_voice *voice,
                        lines *to)
{
    const fm_reference_range *const by =
        event_text_judge(FM_EVENT_BEAT, age_of(source));
    if (breath_text_is_outside(&count->breath, age_of(source))) {
        lines_break(to);
        lines_add(to, 0,
                  "Outside the range: 12 to 20 respirations per minute are usual in a "
                  "resting adult. Children breathe faster%s; effort, fever and knowing "
                  "that one is watched move it. Context decides.",
                  hint_say(voice, HINT_AGE_RANGE));
    }
    if (!count_text_is_outside(source, count)) {
        return;
    }
    lines_break(to);
    if (by != NULL && fm_reference_range_is_centiles(by)) {
        lines_add(
            to, 0,
            "Outside the range: %.0f to %.0f per minute, %s (1st to 99th centile; "
            "%s). Effort, fever and medicines move it; that explains a number and "
            "does not replace counting again.",
            by->low_per_min, by->high_per_min, by->age_band, by->source);
        return;
    }
    lines_add(
        to, 0,
        "Outside the range: 60 to 100 per minute is usual in a resting adult. "
        "Other ages have other ranges%s, and effort, fever, fitness and medicines "
        "move it; that explains a number and does not replace counting again.",
        hint_say(voice, HINT_AGE_RANGE));
}

/* A child's row that nobody has read says nothing, and that is said. */
static void add_no_verdict(const count_source *source, lines *to)
{
    const bool pulse = event_text_judge(FM_EVENT_BEAT, age_of(source)) != NULL;
    if (source->age_known &&
        (!pulse || event_text_judge(FM_EVENT_BREATH, source->age_months) == NULL)) {
        lines_break(to);
        lines_add(to, 0,
                  "At this age %s not judged: nobody has read the table's row in its "
                  "source. See the local chart.",
                  pulse ? "respirations are" : "the numbers are");
    }
}

static void add_no_count(lines *to)
{
    lines_break(to);
    lines_add(to, 0,
              "No count is not a normal finding: count by hand for a full minute.");
}

/* Each paragraph behind an empty line. */
static void print_lines(lines *from, FILE *to)
{
    char *const text = bytes_take(from, NULL);
    if (text != NULL && text[0] != '\0') {
        (void)fprintf(to, "\n%s", text);
    }
    free(text);
}

static void print_cautions(const count_source *source,
                           const fm_count *count,
                           hint_voice *voice,
                           FILE *to)
{
    const fm_heart *const h = &count->heart;
    const cautions found = {.uneven = count_is_uneven(count),
                            .with_breathing = count_is_with_breathing(count),
                            .unsure = h->count.status == FM_CAUTION,
                            .pulse_outside = count_text_is_outside(source, count),
                            .breaths_outside =
                                breath_text_is_outside(&count->breath, age_of(source)),
                            .range_said = true};
    lines all = BYTES_NONE;
    add_outside(source, count, voice, &all);
    add_no_verdict(source, &all);
    add_edge(source, &h->count, &all);
    cautions_add(&found, &all);
    if (!found.pulse_outside && !found.breaths_outside &&
        h->count.status != FM_REFUSED && count->rhythm.pattern == FM_PATTERN_REGULAR) {
        char spacing[PIECE_WORDS_BYTES] = "";
        piece_put_spacing(spacing, &h->count);
        lines_break(&all);
        lines_add(&all, 0, "%s", spacing + 1);
    }
    if (h->count.status == FM_REFUSED) {
        add_no_count(&all);
    }
    print_lines(&all, to);
}

void count_text_print_cautions(bool any_refused, bool any_worrying, FILE *to)
{
    const cautions worrying = {.pulse_outside = any_worrying, .range_said = true};
    lines all = BYTES_NONE;
    cautions_add(&worrying, &all);
    if (any_refused) {
        add_no_count(&all);
    }
    print_lines(&all, to);
}

void count_text_print(const count_source *source,
                      const fm_count *count,
                      hint_voice *voice,
                      FILE *to)
{
    const person_first p = count_text_person(source, count);
    lines above = BYTES_NONE;
    person_first_add(&p, &above);
    char *const first = bytes_take(&above, NULL);
    (void)fputs(first != NULL ? first : "", to);
    free(first);
    count_text_print_line(source, count, to);
    breath_text_print_line(count, to);
    print_where(source, count, to);
    if (count->heart.count.status != FM_REFUSED) {
        print_short_label(&count->heart.count, to);
        print_rhythm(count, to);
    }
    print_quality(source, count, to);
    breath_text_print_details(count, to);
    if (count->breath.n_pauses > 0) {
        event_text_label("", to);
        (void)fprintf(to, "a pause is named from %s\n",
                      fm_breath_pause_source(age_of(source)));
    }
    print_cautions(source, count, voice, to);
    (void)fputs("\nFor learning and research; not a medical device.\n", to);
}
