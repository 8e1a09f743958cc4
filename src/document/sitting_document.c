/* The sitting document: keeping it and writing it. */
#include "src/document/sitting_document.h"

#include "src/document/document_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.sitting/1";

sitting_document sitting_document_none(void)
{
    return (sitting_document){.channel = 1,
                              .rate_hz = (double)NAN,
                              .convention = FM_CONVENTION_CLOCK,
                              .site = FM_SITE_APICAL,
                              .ticks = true,
                              .age_months = (double)NAN,
                              .tolerance_per_min = (double)NAN,
                              .deficit_per_min = (double)NAN};
}

void sitting_document_free(sitting_document *d)
{
    free(d->windows);
    free(d->gaps);
    free(d->taps_s);
    *d = sitting_document_none();
}

/* Room for one more in a list that doubles; NULL when full or without memory. */
static void *grow(void *list, size_t n, size_t max, size_t size)
{
    const bool full = n > 0 && (n & (n - 1)) == 0;
    if (n >= max) {
        return NULL;
    }
    if (n > 0 && !full) {
        return list;
    }
    return realloc(list, (n == 0 ? 1 : 2 * n) * size);
}

bool sitting_document_add_window(sitting_document *d, const sitting_window *w)
{
    sitting_window *const list =
        grow(d->windows, d->n_windows, SITTING_WINDOWS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->windows = list;
    list[d->n_windows++] = *w;
    return true;
}

bool sitting_document_add_gap(sitting_document *d, const sitting_gap *g)
{
    sitting_gap *const list = grow(d->gaps, d->n_gaps, SITTING_GAPS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->gaps = list;
    list[d->n_gaps++] = *g;
    return true;
}

bool sitting_document_add_tap(sitting_document *d, double time_s)
{
    double *const list = grow(d->taps_s, d->n_taps, SITTING_TAPS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->taps_s = list;
    list[d->n_taps++] = time_s;
    return true;
}

const sitting_window *sitting_document_window(const sitting_document *d,
                                              sitting_kind kind)
{
    for (size_t i = d->n_windows; i > 0; i--) {
        const sitting_window *const w = &d->windows[i - 1];
        if (w->kind == kind && !w->set_aside) {
            return w;
        }
    }
    return NULL;
}

double sitting_document_missing_s(const sitting_document *d,
                                  double start_s,
                                  double end_s)
{
    double missing_s = 0.0;
    for (size_t i = 0; i < d->n_gaps; i++) {
        const double from_s = fmax(start_s, d->gaps[i].start_s);
        const double to_s = fmin(end_s, d->gaps[i].start_s + d->gaps[i].length_s);
        missing_s += fmax(0.0, to_s - from_s);
    }
    return missing_s;
}

/* ---- Writing ---- */

/* To a millionth: finer than half a sample at any rate up to 192 kHz. */
static json_t *exact(double seconds)
{
    return document_number(seconds, 6);
}

static json_t *windows_part(const sitting_document *d)
{
    json_t *array = json_array();
    for (size_t i = 0; i < d->n_windows; i++) {
        const sitting_window *const w = &d->windows[i];
        document_part b = document_start();
        document_put(&b, "kind",
                     json_string(w->kind == SITTING_PULSE ? "pulse" : "breath"));
        document_put(&b, "start_s", exact(w->start_s));
        document_put(&b, "end_s", exact(w->end_s));
        document_put(&b, "set_aside", json_boolean(w->set_aside));
        if (w->lost_length_s > 0.0) {
            document_part lost = document_start();
            document_put(&lost, "start_s", exact(w->lost_start_s));
            document_put(&lost, "length_s", exact(w->lost_length_s));
            document_put(&b, "contact_lost", document_end(&lost));
            document_put(&b, "moved",
                         w->moved == SITTING_NO_ANSWER
                             ? json_null()
                             : json_boolean(w->moved == SITTING_YES));
        }
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *gaps_part(const sitting_document *d)
{
    json_t *array = json_array();
    for (size_t i = 0; i < d->n_gaps; i++) {
        const sitting_gap *const g = &d->gaps[i];
        document_part b = document_start();
        document_put(&b, "start_s", exact(g->start_s));
        document_put(&b, "length_s", exact(g->length_s));
        document_put(&b, "cause", json_string(g->cause));
        array = document_append(array, document_end(&b));
    }
    return array;
}

static json_t *entry_part(const sitting_entry *e)
{
    if (!e->given) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "entered", json_integer(e->entered));
    document_put(&b, "seconds", json_integer(e->seconds));
    document_put(&b, "entered_utc", json_string(e->entered_utc));
    return document_end(&b);
}

static json_t *manual_part(const sitting_document *d)
{
    if (!d->pulse.given && !d->breath.given && !d->second.given) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "pulse", entry_part(&d->pulse));
    document_put(&b, "breath", entry_part(&d->breath));
    document_put(&b, "second_examiner", entry_part(&d->second));
    return document_end(&b);
}

static json_t *taps_part(const sitting_document *d)
{
    json_t *array = json_array();
    for (size_t i = 0; i < d->n_taps; i++) {
        array = document_append(array, exact(d->taps_s[i]));
    }
    return array;
}

static json_t *method_part(fm_breath_method method)
{
    switch (method) {
    case FM_BREATH_WATCHED:
        return json_string("watched");
    case FM_BREATH_LISTENED:
        return json_string("listened");
    case FM_BREATH_NOT_SAID:
    default:
        return json_null();
    }
}

static json_t *build(const sitting_document *d)
{
    document_part b = document_start();
    document_put(&b, "schema", json_string(SCHEMA));
    document_put(&b, "engine", json_string(d->engine));
    document_put(&b, "started_utc", json_string(d->started_utc));
    document_put(&b, "input", document_text(d->input));
    document_put(&b, "channel", json_integer(d->channel));
    document_put(&b, "sample_rate_hz", json_integer((json_int_t)llround(d->rate_hz)));
    document_put(&b, "gain_db", document_number(d->gain_db, 2));
    document_put(&b, "site",
                 json_string(d->site == FM_SITE_RADIAL ? "radial" : "apical"));
    document_put(&b, "convention", json_string(fm_convention_word(d->convention)));
    document_put(&b, "ticks", json_boolean(d->ticks));
    document_put(&b, "checked", json_boolean(d->checked));
    document_put(&b, "sealed", json_boolean(d->sealed));
    document_put(&b, "windows", windows_part(d));
    document_put(&b, "gaps", gaps_part(d));
    document_put(&b, "manual", manual_part(d));
    document_put(&b, "second_asked", json_boolean(d->second_asked));
    document_put(&b, "breath_method", method_part(d->method));
    document_put(&b, "taps_s", taps_part(d));
    document_put(&b, "tap_delay_s", exact(d->tap_delay_s));
    document_put(&b, "age_months", document_number(d->age_months, 2));
    document_put(&b, "tolerance_per_min", document_number(d->tolerance_per_min, 2));
    document_put(&b, "deficit_per_min", document_number(d->deficit_per_min, 1));
    return document_end(&b);
}

char *sitting_document_format(const sitting_document *d)
{
    return document_format_line(build(d));
}
