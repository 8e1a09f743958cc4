#include "src/picture/picture_words.h"

#include "src/picture/svg.h"
#include "src/report/count_document.h"
#include "src/report/whole_range.h"
#include "src/words/breath_text.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TIMES_SHOWN = 8, /* more are told as first and last */
    RANGE_BYTES = 2 * SVG_NUMBER_BYTES + 8
};

static const char *number_word(size_t n, char out[SVG_NUMBER_BYTES])
{
    static const char *const words[] = {"no",    "one",  "two", "three",
                                        "four",  "five", "six", "seven",
                                        "eight", "nine", "ten"};
    if (n < sizeof words / sizeof words[0]) {
        return words[n];
    }
    return svg_number_text(out, (double)n, 0);
}

static void put_seconds(svg *text, double t_s)
{
    svg_number(text, t_s, 0);
    svg_raw(text, "\xC2\xA0s"); /* a space that does not break */
}

static void begin_sentence(svg *text)
{
    if (text->n_bytes > 0) {
        svg_raw(text, " ");
    }
}

/* Sentences are put together in small letters; the first becomes a capital. */
static void capital_at(svg *text, size_t at)
{
    if (!text->failed && at < text->n_bytes && text->text[at] >= 'a' &&
        text->text[at] <= 'z') {
        text->text[at] = (char)(text->text[at] - 'a' + 'A');
    }
}

/* Room for the value of a new row; the last row's again when there are too many. */
static char *add_row(picture_words *w, const char *label)
{
    w->n_rows += w->n_rows < PICTURE_ROWS_MAX;
    picture_row *row = &w->rows[w->n_rows - 1];
    (void)snprintf(row->label, sizeof row->label, "%s", label);
    return row->value;
}

/* " (70-72)", whole numbers outward as in the text; nothing where it says no more. */
static const char *range_text(char out[RANGE_BYTES],
                              double low,
                              double high,
                              double middle)
{
    char a[SVG_NUMBER_BYTES];
    char b[SVG_NUMBER_BYTES];
    const double from = whole_range_low(low);
    const double to = whole_range_high(high);
    out[0] = '\0';
    if (isfinite(from) && isfinite(to) && (from < middle || to > middle)) {
        (void)snprintf(out, RANGE_BYTES, " (%s-%s)", svg_number_text(a, from, 0),
                       svg_number_text(b, to, 0));
    }
    return out;
}

static void add_count_row(const picture *p, picture_words *w)
{
    const fm_count *c = p->count;
    const count_source as_counted = {.convention = p->convention};
    char range[RANGE_BYTES];
    char number[SVG_NUMBER_BYTES];
    char seconds[SVG_NUMBER_BYTES];
    if (!fm_is_known(&c->heart.count)) {
        (void)snprintf(add_row(w, "fullminute"), PICTURE_VALUE_BYTES, "no count");
        return;
    }
    const int beats = count_source_beats(&as_counted, c);
    const double rate = count_source_rate(&as_counted, c, c->heart.count.rate_per_min);
    range_text(
        range, count_source_rate(&as_counted, c, c->heart.count.rate_low_per_min),
        count_source_rate(&as_counted, c, c->heart.count.rate_high_per_min), rate);
    const char *doubt = c->heart.count.status == FM_CAUTION ? ", in doubt" : "";
    if (c->heart.count.window.full_minute) {
        (void)snprintf(add_row(w, "fullminute"), PICTURE_VALUE_BYTES, "%d%s%s", beats,
                       range, doubt[0] != '\0' ? doubt : " in the full minute");
        return;
    }
    (void)snprintf(
        add_row(w, "fullminute"), PICTURE_VALUE_BYTES, "%d found in %s s", beats,
        svg_number_text(
            seconds, c->heart.count.window.end_s - c->heart.count.window.start_s, 1));
    if (isfinite(rate)) {
        (void)snprintf(add_row(w, ""), PICTURE_VALUE_BYTES, "%s%s per minute",
                       svg_number_text(number, rate, 1), range);
    } else {
        (void)snprintf(add_row(w, ""), PICTURE_VALUE_BYTES, "too few for a rate");
    }
}

static void add_learner_rows(const picture *p, picture_words *w)
{
    const fm_comparison *c = p->comparison;
    char number[SVG_NUMBER_BYTES];
    char range[RANGE_BYTES];
    const char *site = c->manual.site == FM_SITE_RADIAL ? ", at the wrist" : "";
    if (c->manual.seconds == 60) {
        (void)snprintf(add_row(w, "You"), PICTURE_VALUE_BYTES, "%d%s",
                       c->manual.entered, site);
    } else {
        (void)snprintf(add_row(w, "You"), PICTURE_VALUE_BYTES,
                       "%d in %d s: %s per minute%s", c->manual.entered,
                       c->manual.seconds, svg_number_text(number, c->manual_per_min, 0),
                       site);
    }
    if (!c->reference_known) {
        return;
    }
    range_text(range, c->low_per_min, c->high_per_min, c->per_min);
    if (c->at_wrist) {
        (void)snprintf(add_row(w, "known beats"), PICTURE_VALUE_BYTES,
                       "%d in %d s, %d reach the wrist", c->apex_beats,
                       c->manual.seconds, c->counted);
    } else if (c->against_truth) {
        (void)snprintf(add_row(w, "known beats"), PICTURE_VALUE_BYTES, "%d in %d s",
                       c->counted, c->manual.seconds);
    } else if (c->manual.seconds != 60) {
        (void)snprintf(add_row(w, "same seconds"), PICTURE_VALUE_BYTES,
                       "%d: %s%s per minute", c->counted,
                       svg_number_text(number, c->per_min, 0), range);
    }
}

/* "you 15, known 14 in 60 s" */
static void add_own_breaths_row(const fm_comparison *c,
                                bool own_window,
                                picture_words *w)
{
    char from[SVG_NUMBER_BYTES + 8] = "";
    char start[SVG_NUMBER_BYTES];
    char number[SVG_NUMBER_BYTES];
    char range[RANGE_BYTES];
    if (!c->reference_known) {
        (void)snprintf(add_row(w, "respirations"), PICTURE_VALUE_BYTES,
                       "you %d in %d s; no count", c->manual.entered,
                       c->manual.seconds);
        return;
    }
    if (!c->against_truth &&
        c->high_per_min - c->low_per_min > 2.0 * BREATH_NUMBER_HALF_WIDTH) {
        (void)snprintf(add_row(w, "respirations"), PICTURE_VALUE_BYTES,
                       "you %d in %d s; fullminute %s to %s per minute",
                       c->manual.entered, c->manual.seconds,
                       svg_number_text(start, whole_range_low(c->low_per_min), 0),
                       svg_number_text(number, whole_range_high(c->high_per_min), 0));
        return;
    }
    if (own_window) {
        (void)snprintf(from, sizeof from, " from %s s",
                       svg_number_text(start, c->start_s, 0));
    }
    range_text(range, c->low_per_min, c->high_per_min, c->per_min);
    if (c->manual.seconds == 60) {
        (void)snprintf(add_row(w, "respirations"), PICTURE_VALUE_BYTES,
                       "you %d, %s %s%s in 60 s%s%s", c->manual.entered,
                       c->against_truth ? "known" : "fullminute",
                       svg_number_text(number, c->per_min, 0), range, from,
                       c->doubtful ? ", in doubt" : "");
        return;
    }
    (void)snprintf(add_row(w, "respirations"), PICTURE_VALUE_BYTES,
                   "you %d, %s %d in %d s%s%s", c->manual.entered,
                   c->against_truth ? "known" : "fullminute", c->counted,
                   c->manual.seconds, from, c->doubtful ? ", in doubt" : "");
}

/* "16 (15-17) in the full minute"; nothing where they were refused or not looked for. */
static void add_breaths_row(const fm_count *count, picture_words *w)
{
    const fm_breath *const b = &count->breath;
    char number[SVG_NUMBER_BYTES];
    char from[SVG_NUMBER_BYTES];
    char to[SVG_NUMBER_BYTES];
    char range[RANGE_BYTES];
    if (!fm_is_known(&b->count) || !isfinite(b->count.rate_per_min)) {
        return;
    }
    if (b->count.rate_high_per_min - b->count.rate_low_per_min >
        2.0 * BREATH_NUMBER_HALF_WIDTH) {
        (void)snprintf(
            add_row(w, "respirations"), PICTURE_VALUE_BYTES,
            "%s to %s per minute: no one number",
            svg_number_text(from, whole_range_low(b->count.rate_low_per_min), 0),
            svg_number_text(to, whole_range_high(b->count.rate_high_per_min), 0));
        return;
    }
    range_text(range, b->count.rate_low_per_min, b->count.rate_high_per_min,
               b->count.rate_per_min);
    char *const value = add_row(w, "respirations");
    const char *const doubt = b->count.status == FM_CAUTION ? ", in doubt" : "";
    svg_number_text(number, b->count.rate_per_min, b->count.window.full_minute ? 0 : 1);
    if (breath_text_own_window(count)) {
        (void)snprintf(value, PICTURE_VALUE_BYTES, "%s%s per minute, %s s to %s s%s",
                       number, range, svg_number_text(from, b->count.window.start_s, 0),
                       svg_number_text(to, b->count.window.end_s, 0), doubt);
    } else {
        (void)snprintf(
            value, PICTURE_VALUE_BYTES, "%s%s %s%s", number, range,
            b->count.window.full_minute ? "in the full minute" : "per minute", doubt);
    }
}

/* "one at 16 s, two at 41 s", or the first and the last of many. */
static void put_times(svg *text, const double *times_s, size_t n)
{
    char word[SVG_NUMBER_BYTES];
    if (n > TIMES_SHOWN) {
        svg_raw(text, "the first at ");
        put_seconds(text, times_s[0]);
        svg_raw(text, ", the last at ");
        put_seconds(text, times_s[n - 1]);
        return;
    }
    for (size_t i = 0; i < n;) {
        size_t same = 1;
        while (i + same < n && lround(times_s[i + same]) == lround(times_s[i])) {
            same++;
        }
        svg_raw(text, i > 0 ? ", " : "");
        svg_raw(text, number_word(same, word));
        svg_raw(text, " at ");
        put_seconds(text, times_s[i]);
        i += same;
    }
}

static void put_some_at(
    svg *text, const char *one, const char *many, const double *times_s, size_t n)
{
    char word[SVG_NUMBER_BYTES];
    svg_raw(text, number_word(n, word));
    svg_raw(text, " ");
    svg_raw(text, n == 1 ? one : many);
    if (n == 1) {
        svg_raw(text, " at ");
        put_seconds(text, times_s[0]);
    } else if (n > 1) {
        svg_raw(text, ": ");
        put_times(text, times_s, n);
    }
}

static void put_taps(svg *text, const fm_taps *taps)
{
    begin_sentence(text);
    const size_t first = text->n_bytes;
    if (taps->n_not_tapped == 0 && taps->n_extra == 0) {
        svg_raw(text, taps->n_matched > 0 ? "every beat tapped, no tap too many."
                                          : "no taps.");
    } else {
        put_some_at(text, "beat not tapped", "beats not tapped", taps->not_tapped_s,
                    taps->n_not_tapped);
        svg_raw(text, "; ");
        put_some_at(text, "extra tap", "extra taps", taps->extra_s, taps->n_extra);
        svg_raw(text, ".");
    }
    capital_at(text, first);
    if (taps->lag_known) {
        begin_sentence(text);
        svg_raw(text, "Taps came ");
        svg_number(text, fabs(taps->lag_s) * 1000.0, 0);
        svg_raw(text, taps->lag_s < 0.0 ? " ms before S1" : " ms after S1");
        if (isfinite(taps->lag_sd_s)) {
            svg_raw(text, ", give or take ");
            svg_number(text, taps->lag_sd_s * 1000.0, 0);
            svg_raw(text, " ms");
        }
        svg_raw(text, ".");
    }
    if (taps->lost) {
        begin_sentence(text);
        svg_raw(text, "From ");
        put_seconds(text, taps->lost_from_s);
        svg_raw(text, " to ");
        put_seconds(text, taps->lost_until_s);
        svg_raw(text, " taps and beats did not match.");
    }
}

static void put_findings(svg *text, const fm_rhythm *r)
{
    static const char *const one[FM_FINDING_KIND_COUNT] = {
        [FM_FINDING_EARLY_BEATS] = "early beat",
        [FM_FINDING_PAUSES] = "pause",
        [FM_FINDING_RATE_CHANGE] = "sudden rate change",
        [FM_FINDING_FAST_RUN] = "run of fast beats",
    };
    static const char *const many[FM_FINDING_KIND_COUNT] = {
        [FM_FINDING_EARLY_BEATS] = "early beats",
        [FM_FINDING_PAUSES] = "pauses",
        [FM_FINDING_RATE_CHANGE] = "sudden rate changes",
        [FM_FINDING_FAST_RUN] = "runs of fast beats",
    };
    char word[SVG_NUMBER_BYTES];
    for (size_t i = 0; i < r->n_findings && i < FM_FINDINGS_MAX; i++) {
        const fm_finding *f = &r->findings[i];
        if ((unsigned)f->kind >= FM_FINDING_KIND_COUNT) {
            continue;
        }
        svg_raw(text, i == 0 ? ": " : ", ");
        svg_raw(text, number_word(f->count, word));
        svg_raw(text, " ");
        svg_raw(text, f->count == 1 ? one[f->kind] : many[f->kind]);
    }
}

/* "2:2" is groups of 2; "4:3" is groups of 3 beats and a pause. */
static void put_repeat(svg *text, const fm_rhythm *r)
{
    const char *colon = strchr(r->repeat, ':');
    if (strcmp(r->repeat, "breathing") == 0) {
        svg_raw(text, ", in step with the breathing");
    } else if (colon != NULL) {
        const size_t n = (size_t)(colon - r->repeat);
        const bool even =
            strlen(colon + 1) == n && strncmp(r->repeat, colon + 1, n) == 0;
        svg_raw(text, ", in groups of ");
        svg_raw(text, colon + 1);
        svg_raw(text, even ? " beats" : " beats and a pause");
    } else if (r->varies_with_breathing) {
        svg_raw(text, ", varies with breathing");
    }
}

/* A doubtful count's rhythm is not named, here as in the text; heard_s: what it was heard in. */
static void put_rhythm(svg *text, const fm_rhythm *r, double heard_s, bool doubtful)
{
    begin_sentence(text);
    if (doubtful) {
        svg_raw(text, "Rhythm not named, because the count itself is in doubt.");
        return;
    }
    const size_t first = text->n_bytes;
    if (r->pattern == FM_PATTERN_UNDETERMINED) {
        svg_raw(text, "pattern ");
    }
    svg_raw(text, fm_pattern_word(r->pattern));
    put_findings(text, r);
    put_repeat(text, r);
    svg_raw(text, ".");
    capital_at(text, first);
    if (r->pattern == FM_PATTERN_IRREGULARLY_IRREGULAR) {
        svg_raw(text,
                " There is no basic interval to call a beat early or late against.");
    }
    if (r->pattern == FM_PATTERN_REGULAR) {
        char words[80] = " Even spacing in this minute only, not a check of the heart.";
        if (heard_s < 59.5) {
            (void)snprintf(
                words, sizeof words,
                " Even spacing in these %.0f s only, not a check of the heart.",
                heard_s);
        }
        svg_raw(text, words);
    }
}

static void put_refusal(svg *text, const char *reason)
{
    const size_t first = text->n_bytes;
    if (reason[0] != '\0') {
        svg_raw(text, reason);
        capital_at(text, first);
        svg_raw(text, ". ");
    }
    svg_raw(text, "No count is not a normal finding: count by hand.");
}

static void put_reason(svg *text, const fm_heart *h)
{
    char reason[REASON_TEXT_BYTES];
    reason_text_format(h->count.reason, &h->count.reason_span, reason);
    begin_sentence(text);
    if (h->count.status == FM_REFUSED) {
        put_refusal(text, reason);
        return;
    }
    svg_raw(text, "In doubt");
    svg_raw(text, reason[0] != '\0' ? ": " : "");
    svg_raw(text, reason);
    svg_raw(text, ".");
}

/* A short count, or a minute with a gap, is always called so. */
static void put_shortness(svg *text, const fm_window *w)
{
    if (!w->full_minute) {
        begin_sentence(text);
        svg_raw(text,
                w->end_s - w->start_s >= 60.0
                    ? "Not a full minute: some of it could not be heard, and no beat "
                      "is made up there."
                    : "A short count, not a full minute.");
    }
}

/* The same words as the text's. */
static void put_pauses(svg *text, const picture *p)
{
    char pauses[BREATH_PAUSES_BYTES];
    breath_text_pauses(p->pauses, p->n_pauses, p->pauses_known, pauses);
    if (pauses[0] != '\0') {
        begin_sentence(text);
        const size_t first = text->n_bytes;
        svg_raw(text, pauses);
        svg_raw(text, ".");
        capital_at(text, first);
    }
}

/* A pause is told above; even breathing, or breathing that cannot be told, is the text's. */
static void put_breathing(svg *text, const picture *p)
{
    if (p->breathing == FM_BREATH_PATTERN_UNEVEN ||
        p->breathing == FM_BREATH_PATTERN_WAXING) {
        begin_sentence(text);
        svg_raw(text, "Breathing ");
        svg_raw(text, fm_breath_pattern_word(p->breathing));
        svg_raw(text, ".");
    }
}

void picture_words_make(const picture *p, picture_words *words)
{
    const fm_heart *h = &p->count->heart;
    *words = (picture_words){0};
    if (p->comparison != NULL) {
        add_learner_rows(p, words);
    }
    add_count_row(p, words);
    if (p->breaths != NULL) {
        add_own_breaths_row(p->breaths, breath_text_own_window(p->count), words);
    } else if (p->comparison == NULL) {
        add_breaths_row(p->count, words); /* else they are sealed: not entered yet */
    }
    svg text;
    svg_init(&text);
    if (p->sentence != NULL) {
        svg_raw(&text, p->sentence);
    }
    if (h->count.status != FM_COUNTED) {
        put_reason(&text, h);
    }
    const bool refused = h->count.status == FM_REFUSED;
    const bool on_known = p->comparison != NULL && p->comparison->against_truth;
    if (!refused) {
        put_shortness(&text, &p->count->heart.count.window);
    }
    if (p->taps != NULL && (!refused || on_known)) {
        put_taps(&text, p->taps);
    }
    if (!refused) {
        put_rhythm(&text, &p->count->rhythm, h->count.usable_s,
                   h->count.status == FM_CAUTION);
    }
    put_pauses(&text, p);
    put_breathing(&text, p);
    words->sentences = svg_take(&text, NULL);
}

void picture_words_free(picture_words *words)
{
    free(words->sentences);
    *words = (picture_words){0};
}
