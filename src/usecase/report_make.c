#include "src/usecase/report_make.h"

#include "dsp/compare/reference_range.h"
#include "src/base/text.h"
#include "src/picture/picture.h"
#include "src/sheet/report_page.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/progress_make.h"
#include "src/usecase/report_strip.h"
#include "src/usecase/sound_digest.h"
#include "src/words/charted_line.h"
#include "src/words/first_look.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROWS_MOST = 25
};

/* ---- The ranges ---- */

static void add_range(char *out, const char *what, const fm_reference_range *r)
{
    text_add(out, REPORT_RANGES_BYTES, "%s, %s: %.0f-%.0f per minute (%s; %s%s).\n",
             what, r->age_band, r->low_per_min, r->high_per_min, r->meaning, r->source,
             r->from_memory ? ", from memory" : "");
}

const char *report_ranges(const entry *e, char out[REPORT_RANGES_BYTES])
{
    const bool aged = isfinite(e->age_months);
    const double months = aged ? e->age_months : FM_AGE_ADULT_MONTHS;
    fm_reference_range pulse;
    fm_reference_range breaths;
    out[0] = '\0';
    if (e->beats != ENTRY_NO_WHOLE &&
        fm_reference_range_find(FM_EVENT_BEAT, months, &pulse) == FM_OK) {
        add_range(out, "Pulse", &pulse);
    }
    if (e->breaths != ENTRY_NO_WHOLE &&
        fm_reference_range_find(FM_EVENT_BREATH, months, &breaths) == FM_OK) {
        add_range(out, "Respirations", &breaths);
    }
    text_add(out, REPORT_RANGES_BYTES, "%sContext decides; follow local protocol.",
             aged ? "" : "No age was given: the adult's. ");
    return out;
}

/* ---- A sitting ---- */

static check_request request_of(const entry *e)
{
    check_request r = check_request_default(e->recording);
    const bool could_not = e->could_not != ENTRY_NO_WHOLE;
    const bool no_breaths = e->breath_could_not != ENTRY_NO_WHOLE;
    r.pulse.asked = e->beats != ENTRY_NO_WHOLE || could_not;
    if (r.pulse.asked) {
        r.pulse.manual.entered = could_not ? 0 : e->beats;
        r.pulse.manual.could_not = could_not;
        r.pulse.words = own_words_of(e, false);
        r.pulse.manual.seconds = e->seconds;
    }
    if (strcmp(e->site, fm_site_word(FM_SITE_RADIAL)) == 0) {
        r.pulse.manual.site = FM_SITE_RADIAL;
    }
    for (int i = 0; i < FM_CONVENTION_COUNT; i++) {
        if (strcmp(e->convention, fm_convention_word((fm_convention)i)) == 0) {
            r.analyse.convention = (fm_convention)i;
        }
    }
    r.analyse.age_known = isfinite(e->age_months);
    r.analyse.age_months = e->age_months;
    r.pulse.tolerance_per_min = e->tolerance_per_min;
    r.use_truth = strcmp(e->judged_against, "device") != 0;
    /* Watched by the clock, an infant's have no second count, here neither. */
    r.watched = e->breaths != ENTRY_NO_WHOLE && e->counted_utc[0] != '\0' &&
                e->device_breath_status[0] == '\0';
    r.watched_breaths = r.watched ? e->breaths : 0;
    r.breaths.asked = (e->breaths != ENTRY_NO_WHOLE && !r.watched) || no_breaths;
    if (r.breaths.asked) {
        r.breaths.manual.entered = no_breaths ? 0 : e->breaths;
        r.breaths.manual.could_not = no_breaths;
        r.breaths.words = own_words_of(e, true);
        r.breaths.manual.seconds = e->breath_seconds;
    }
    return r;
}

/* What has the name now may be another sound than was counted then. */
static bool is_the_sound(const entry *e, app_err *err)
{
    char digits[DIGEST_TEXT_BYTES];
    return e->sound_blake2b[0] == '\0' ||
           (sound_digest_of_file(e->recording, digits, err) &&
            (strcmp(digits, e->sound_blake2b) == 0 ||
             app_err_set(err, APP_UNREADABLE,
                         "%s is another sound than the one that was counted for this "
                         "row",
                         e->recording)));
}

/* Does it come to what the row says of the second count? */
static bool is_the_count(const entry *e, const check_view *view, app_err *err)
{
    const fm_heart *const h = &view->count->heart;
    if (view->comparison == NULL || e->device_beats == ENTRY_NO_WHOLE ||
        (fm_is_known(&h->count) && (int)h->count.n == e->device_beats)) {
        return true;
    }
    return app_err_set(err, APP_UNREADABLE,
                       "the second count of what has the name %s now is not the %d of "
                       "this row: it may be another sound, other seconds of it, or "
                       "another version's count",
                       e->recording, e->device_beats);
}

/* The comparison once more; NULL with err: not, or not that of this row. */
static checked_count *compare_again(const entry *e, app_err *err)
{
    const check_request r = request_of(e);
    checked_count *const c = is_the_sound(e, err) ? checked_count_make(&r, err) : NULL;
    if (c != NULL && !is_the_count(e, checked_count_view(c), err)) {
        checked_count_free(c);
        return NULL;
    }
    return c;
}

static char *draw(const check_view *view)
{
    const picture p = check_picture_of(view);
    return picture_format(&p, NULL);
}

static char *page_of(const entry *e, const check_view *view, const char *why, size_t *n)
{
    char heading[64];
    char charted[CHARTED_LINE_BYTES];
    char ranges[REPORT_RANGES_BYTES];
    (void)snprintf(heading, sizeof heading, "Row %lld, %.10s, learner %s",
                   (long long)e->number, e->entered_utc, e->learner);
    const bool pulse = view != NULL && view->comparison != NULL;
    first_view *const comparison = view != NULL ? first_look_make(view) : NULL;
    char *const dial = pulse ? draw(view) : NULL;
    char *const strip = pulse ? report_strip_draw(e->recording, view) : NULL;
    const report_sitting s = {.heading = heading,
                              .charted = charted_line(e, charted),
                              .ranges = report_ranges(e, ranges),
                              .comparison = comparison,
                              .picture = dial,
                              .strip = strip,
                              .missing = why};
    /* Half a report is none. */
    const bool whole = (view == NULL || comparison != NULL) &&
                       (!pulse || (dial != NULL && strip != NULL));
    char *const page = whole ? report_page_sitting(&s, n) : NULL;
    free(comparison);
    free(dial);
    free(strip);
    return page;
}

char *report_make_sitting(logbook *l, int64_t number, size_t *n, app_err *err)
{
    entry e;
    app_err why = APP_ERR_NONE;
    char missing[APP_ERR_TEXT_BYTES + 64];
    if (!logbook_get(l, number, &e, err)) {
        return NULL;
    }
    checked_count *checked = NULL;
    if (e.counted_utc[0] == '\0') {
        (void)app_err_set(&why, APP_USAGE, "it was not counted by fullminute");
    } else {
        checked = compare_again(&e, &why);
    }
    /* Another time it may be compared; a page without it would say that it cannot be. */
    if (checked == NULL && (why.code == APP_INTERRUPTED || why.code == APP_FAILED)) {
        *err = why;
        return NULL;
    }
    (void)snprintf(missing, sizeof missing, "No comparison: %s.", why.text);
    char *const page = page_of(&e, checked != NULL ? checked_count_view(checked) : NULL,
                               checked != NULL ? NULL : missing, n);
    checked_count_free(checked);
    if (page == NULL) {
        (void)app_err_memory(err);
    }
    return page;
}

/* ---- A learner ---- */

enum {
    SECOND_BYTES = 384
};

typedef struct listing {
    char charted[ROWS_MOST][CHARTED_LINE_BYTES + 16];
    char second[ROWS_MOST][SECOND_BYTES];
    char verdict[ROWS_MOST][ENTRY_WORD_BYTES + 16];
    size_t n;
} listing;

static bool list_row(void *context, const entry *e)
{
    listing *const to = context;
    char line[CHARTED_LINE_BYTES];
    if (to->n == ROWS_MOST) {
        return true; /* another program has just added one */
    }
    (void)snprintf(to->charted[to->n], sizeof to->charted[0], "%.10s %s",
                   e->entered_utc, charted_line(e, line));
    if (isfinite(e->reference_per_min)) {
        (void)snprintf(to->second[to->n], sizeof to->second[0],
                       "second count of the same seconds: %.0f per minute",
                       e->reference_per_min);
    } else {
        (void)snprintf(to->second[to->n], sizeof to->second[0],
                       e->counted_utc[0] != '\0' ? "no second count to compare with"
                                                 : "not counted by fullminute");
    }
    if (e->device_breath_pauses[0] != '\0') {
        text_add(to->second[to->n], SECOND_BYTES, "; no breath heard, s: %s",
                 e->device_breath_pauses);
    }
    (void)snprintf(to->verdict[to->n], sizeof to->verdict[0], "%s%s", e->verdict,
                   e->attempt > 1 ? ", repeated" : "");
    to->n++;
    return true;
}

char *report_make_learner(logbook *l, const char *learner, size_t *n, app_err *err)
{
    progress p;
    const logbook_query newest = {learner, ROWS_MOST};
    report_row rows[ROWS_MOST];
    char *page = NULL;
    listing *const list = calloc(1, sizeof *list);
    if (list == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    if (progress_make(l, learner, (double)NAN, &p, err) &&
        logbook_each(l, &newest, list_row, list, err)) {
        for (size_t i = 0; i < list->n; i++) {
            const size_t from =
                list->n - 1 - i; /* read oldest first, shown newest first */
            rows[i] = (report_row){list->charted[from], list->second[from],
                                   list->verdict[from]};
        }
        page = report_page_learner(&p, rows, list->n, n);
        if (page == NULL) {
            (void)app_err_memory(err);
        }
    }
    progress_free(&p);
    free(list);
    return page;
}
