#include "src/picture/picture_words.h"

#include "src/document/count_document.h"
#include "src/document/whole_range.h"
#include "src/picture/svg.h"
#include "src/words/breath_text.h"
#include "src/words/pieces.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    TIMES_SHOWN = 8, /* more are told as first and last */
    RANGE_BYTES = 2 * SVG_NUMBER_BYTES + 8
};

#define SPACE "\xC2\xA0" /* one that does not break */

static void put(picture_words *w, const char *format, ...) APP_PRINTF_LIKE(2, 3);
static void row(picture_words *w, const char *label, const char *format, ...)
    APP_PRINTF_LIKE(3, 4);

/* Adds to the paragraph. */
static void put(picture_words *w, const char *format, ...)
{
    const size_t n = strlen(w->sentences);
    va_list args;
    va_start(args, format);
    (void)vsnprintf(w->sentences + n, sizeof w->sentences - n, format, args);
    va_end(args);
}

/* A new row; the last row again when there are too many. */
static void row(picture_words *w, const char *label, const char *format, ...)
{
    w->n_rows += w->n_rows < PICTURE_ROWS_MAX;
    picture_row *const r = &w->rows[w->n_rows - 1];
    va_list args;
    va_start(args, format);
    (void)snprintf(r->label, sizeof r->label, "%s", label);
    (void)vsnprintf(r->value, sizeof r->value, format, args);
    va_end(args);
}

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
#define NUMBER_WORD(n) number_word(n, (char[SVG_NUMBER_BYTES]){0})

/* Where a sentence starts that is put together in small letters. */
static char *begin_sentence(picture_words *w)
{
    put(w, "%s", w->sentences[0] != '\0' ? " " : "");
    return w->sentences + strlen(w->sentences);
}

/* " (70-72)", whole numbers outward as in the text; nothing where it says no more. */
static const char *range_text(char out[RANGE_BYTES],
                              double low,
                              double high,
                              double middle)
{
    const double from = whole_range_low(low);
    const double to = whole_range_high(high);
    out[0] = '\0';
    if (isfinite(from) && isfinite(to) && (from < middle || to > middle)) {
        (void)snprintf(out, RANGE_BYTES, " (%s-%s)", SVG_NUMBER(from, 0),
                       SVG_NUMBER(to, 0));
    }
    return out;
}
#define RANGE(low, high, middle) range_text((char[RANGE_BYTES]){0}, low, high, middle)

static void add_count_row(const picture *p, picture_words *w)
{
    const fm_count *c = p->count;
    const count_source as_counted = {.convention = p->convention};
    if (!fm_is_known(&c->heart.count)) {
        row(w, "fullminute", "no count");
        return;
    }
    const int beats = count_source_beats(&as_counted, c);
    const double rate = count_source_rate(&as_counted, c, c->heart.count.rate_per_min);
    const char *const range = RANGE(
        count_source_rate(&as_counted, c, c->heart.count.rate_low_per_min),
        count_source_rate(&as_counted, c, c->heart.count.rate_high_per_min), rate);
    if (c->heart.count.window.full_minute) {
        row(w, "fullminute", "%d beat%s%s%s", beats, beats == 1 ? "" : "s", range,
            c->heart.count.status == FM_CAUTION ? ", in doubt" : " in the full minute");
        return;
    }
    row(w, "fullminute", "%d beat%s found in %s s", beats, beats == 1 ? "" : "s",
        SVG_NUMBER(c->heart.count.window.end_s - c->heart.count.window.start_s, 1));
    if (isfinite(rate)) {
        row(w, "", "%s%s per minute, by their spacing", SVG_NUMBER(rate, 1), range);
    } else {
        row(w, "", "too few for a rate");
    }
}

static void add_learner_rows(const picture *p, picture_words *w)
{
    const fm_comparison *c = p->comparison;
    const char *site = c->manual.site == FM_SITE_RADIAL ? ", at the wrist" : "";
    if (c->manual.could_not) {
        row(w, "You", "could not count%s", site);
    } else if (c->manual.seconds == 60) {
        row(w, "You", "%d beats in 60 s%s", c->manual.entered, site);
    } else {
        row(w, "You", "%d beats in %d s: %s per minute%s", c->manual.entered,
            c->manual.seconds, SVG_NUMBER(c->manual_per_min, 0), site);
    }
    if (!c->reference_known) {
        return;
    }
    if (c->at_wrist) {
        row(w, "known", "%d beats in %d s, %d reach the wrist", c->apex_beats,
            c->manual.seconds, c->counted);
    } else if (c->against_truth) {
        row(w, "known", "%d beats in %d s", c->counted, c->manual.seconds);
    } else if (c->manual.seconds != 60) {
        row(w, "same seconds", "%d beats: %s%s per minute", c->counted,
            SVG_NUMBER(c->per_min, 0),
            RANGE(c->low_per_min, c->high_per_min, c->per_min));
    }
}

/* "you 15, known 14 in 60 s" */
static void add_own_breaths_row(const fm_comparison *c,
                                bool own_window,
                                picture_words *w)
{
    static const char LABEL[] = "respirations";
    const fm_manual *const m = &c->manual;
    char from[SVG_NUMBER_BYTES + 8] = "";
    const char *const who = c->against_truth ? "known" : "fullminute";
    const char *const doubt = c->doubtful ? ", in doubt" : "";
    if (!c->reference_known) {
        row(w, LABEL, "you %d in %d s; no count", m->entered, m->seconds);
        return;
    }
    if (!c->against_truth &&
        c->high_per_min - c->low_per_min > 2.0 * BREATH_NUMBER_HALF_WIDTH) {
        row(w, LABEL, "you %d in %d s; fullminute %s to %s per minute", m->entered,
            m->seconds, SVG_NUMBER(whole_range_low(c->low_per_min), 0),
            SVG_NUMBER(whole_range_high(c->high_per_min), 0));
        return;
    }
    if (own_window) {
        (void)snprintf(from, sizeof from, " from %s s", SVG_NUMBER(c->start_s, 0));
    }
    if (m->seconds == 60) {
        row(w, LABEL, "you %d, %s %s%s in 60 s%s%s", m->entered, who,
            SVG_NUMBER(c->per_min, 0),
            RANGE(c->low_per_min, c->high_per_min, c->per_min), from, doubt);
        return;
    }
    row(w, LABEL, "you %d, %s %d in %d s%s%s", m->entered, who, c->counted, m->seconds,
        from, doubt);
}

/* "16 (15-17) in the full minute"; nothing where they were refused or not looked for. */
static void add_breaths_row(const fm_count *count, picture_words *w)
{
    static const char LABEL[] = "respirations";
    const fm_event_count *const b = &count->breath.count;
    if (!fm_is_known(b) || !isfinite(b->rate_per_min)) {
        return;
    }
    if (b->rate_high_per_min - b->rate_low_per_min > 2.0 * BREATH_NUMBER_HALF_WIDTH) {
        row(w, LABEL, "%s to %s per minute: no one number",
            SVG_NUMBER(whole_range_low(b->rate_low_per_min), 0),
            SVG_NUMBER(whole_range_high(b->rate_high_per_min), 0));
        return;
    }
    const char *const range =
        RANGE(b->rate_low_per_min, b->rate_high_per_min, b->rate_per_min);
    const char *const doubt = b->status == FM_CAUTION ? ", in doubt" : "";
    const char *const number =
        SVG_NUMBER(b->rate_per_min, b->window.full_minute ? 0 : 1);
    if (breath_text_own_window(count)) {
        row(w, LABEL, "%s%s per minute, %s s to %s s%s", number, range,
            SVG_NUMBER(b->window.start_s, 0), SVG_NUMBER(b->window.end_s, 0), doubt);
    } else {
        row(w, LABEL, "%s%s %s%s", number, range,
            b->window.full_minute ? "in the full minute" : "per minute", doubt);
    }
}

/* "one at 16 s, two at 41 s", or the first and the last of many. */
static void put_times(picture_words *w, const double *times_s, size_t n)
{
    if (n > TIMES_SHOWN) {
        put(w, "the first at %s" SPACE "s, the last at %s" SPACE "s",
            SVG_NUMBER(times_s[0], 0), SVG_NUMBER(times_s[n - 1], 0));
        return;
    }
    for (size_t i = 0; i < n;) {
        size_t same = 1;
        while (i + same < n && lround(times_s[i + same]) == lround(times_s[i])) {
            same++;
        }
        put(w, "%s%s at %s" SPACE "s", i > 0 ? ", " : "", NUMBER_WORD(same),
            SVG_NUMBER(times_s[i], 0));
        i += same;
    }
}

static void put_some_at(picture_words *w,
                        const char *one,
                        const char *many,
                        const double *times_s,
                        size_t n)
{
    put(w, "%s %s", NUMBER_WORD(n), n == 1 ? one : many);
    if (n == 1) {
        put(w, " at %s" SPACE "s", SVG_NUMBER(times_s[0], 0));
    } else if (n > 1) {
        put(w, ": ");
        put_times(w, times_s, n);
    }
}

static void put_taps(picture_words *w, const fm_taps *taps)
{
    char *const first = begin_sentence(w);
    if (taps->n_not_tapped == 0 && taps->n_extra == 0) {
        put(w,
            taps->n_matched > 0 ? "every beat tapped, no tap too many." : "no taps.");
    } else {
        put_some_at(w, "beat not tapped", "beats not tapped", taps->not_tapped_s,
                    taps->n_not_tapped);
        put(w, "; ");
        put_some_at(w, "extra tap", "extra taps", taps->extra_s, taps->n_extra);
        put(w, ".");
    }
    piece_capital(first);
    if (taps->lag_known) {
        put(w, " Taps came %s ms %s S1", SVG_NUMBER(fabs(taps->lag_s) * 1000.0, 0),
            taps->lag_s < 0.0 ? "before" : "after");
        if (isfinite(taps->lag_sd_s)) {
            put(w, ", give or take %s ms", SVG_NUMBER(taps->lag_sd_s * 1000.0, 0));
        }
        put(w, ".");
    }
    if (taps->lost) {
        put(w, " From %s" SPACE "s to %s" SPACE "s taps and beats did not match.",
            SVG_NUMBER(taps->lost_from_s, 0), SVG_NUMBER(taps->lost_until_s, 0));
    }
}

static void put_findings(picture_words *w, const fm_rhythm *r)
{
    for (size_t i = 0; i < r->n_findings && i < FM_FINDINGS_MAX; i++) {
        const fm_finding *f = &r->findings[i];
        if ((unsigned)f->kind < FM_FINDING_KIND_COUNT) {
            put(w, "%s%s %s", i == 0 ? ": " : ", ", NUMBER_WORD(f->count),
                piece_finding(f->kind, f->count));
        }
    }
}

/* A doubtful count's rhythm is not named, here as in the text. */
static void put_rhythm(picture_words *w, const fm_rhythm *r, const fm_event_count *c)
{
    char *const first = begin_sentence(w);
    if (c->status == FM_CAUTION) {
        put(w, "Rhythm not named, because the count itself is in doubt.");
        return;
    }
    put(w, "%s%s", r->pattern == FM_PATTERN_UNDETERMINED ? "pattern " : "",
        fm_pattern_word(r->pattern));
    put_findings(w, r);
    char repeat[PIECE_WORDS_BYTES] = "";
    piece_put_repeat(repeat, r);
    put(w, "%s%s", repeat,
        r->varies_with_breathing && repeat[0] == '\0' ? ", varies with breathing" : "");
    put(w, ".");
    piece_capital(first);
    if (r->pattern == FM_PATTERN_IRREGULARLY_IRREGULAR) {
        put(w, " There is no basic interval to call a beat early or late against.");
    }
    if (r->pattern == FM_PATTERN_REGULAR) {
        char spacing[PIECE_WORDS_BYTES] = "";
        piece_put_spacing(spacing, c);
        put(w, "%s", spacing);
    }
}

static void put_reason(picture_words *w, const fm_heart *h)
{
    char reason[REASON_TEXT_BYTES];
    reason_text_format(h->count.reason, &h->count.reason_span, reason);
    char *const first = begin_sentence(w);
    if (h->count.status == FM_REFUSED) {
        put(w, "%s%sNo count is not a normal finding: count by hand.", reason,
            reason[0] != '\0' ? ". " : "");
        piece_capital(first);
        return;
    }
    put(w, "In doubt%s%s.", reason[0] != '\0' ? ": " : "", reason);
}

/* A short count, or a minute with a gap, is always called so. */
static void put_shortness(picture_words *w, const fm_window *window)
{
    if (!window->full_minute) {
        (void)begin_sentence(w);
        put(w, window->end_s - window->start_s >= 60.0
                   ? "Not a full minute: some of it could not be heard, and no beat "
                     "is made up there."
                   : "A short count, not a full minute.");
    }
}

/* The same words as the text's. */
static void put_pauses(picture_words *w, const picture *p)
{
    char pauses[BREATH_PAUSES_BYTES];
    breath_text_pauses(p->pauses, p->n_pauses, p->pauses_known, pauses);
    if (pauses[0] != '\0') {
        piece_capital(pauses);
        (void)begin_sentence(w);
        put(w, "%s.", pauses);
    }
}

/* A pause is told above; even breathing, or breathing that cannot be told, is the text's. */
static void put_breathing(picture_words *w, const picture *p)
{
    if (p->breathing == FM_BREATH_PATTERN_UNEVEN ||
        p->breathing == FM_BREATH_PATTERN_WAXING) {
        (void)begin_sentence(w);
        put(w, "Breathing %s.", fm_breath_pattern_word(p->breathing));
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
    put(words, "%s", p->sentence != NULL ? p->sentence : "");
    if (h->count.status != FM_COUNTED) {
        put_reason(words, h);
    }
    const bool refused = h->count.status == FM_REFUSED;
    const bool on_known = p->comparison != NULL && p->comparison->against_truth;
    if (!refused) {
        put_shortness(words, &h->count.window);
    }
    if (p->taps != NULL && (!refused || on_known)) {
        put_taps(words, p->taps);
    }
    if (!refused) {
        put_rhythm(words, &p->count->rhythm, &h->count);
    }
    put_pauses(words, p);
    put_breathing(words, p);
}
