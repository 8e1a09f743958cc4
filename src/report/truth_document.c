#include "src/report/truth_document.h"

#include "src/report/count_document.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.truth/1";
static const char SUFFIX[] = ".truth.json";

void truth_document_free(truth_document *d)
{
    fm_truth_free(&d->truth);
    *d = (truth_document)TRUTH_NONE;
}

char *truth_document_path(const char *sound_path)
{
    const char *const slash = strrchr(sound_path, '/');
    const char *const name = slash != NULL ? slash + 1 : sound_path;
    const char *const dot = strrchr(name, '.');
    const size_t keep =
        dot != NULL && dot != name ? (size_t)(dot - sound_path) : strlen(sound_path);
    char *const path = malloc(keep + sizeof SUFFIX);
    if (path != NULL) {
        memcpy(path, sound_path, keep);
        memcpy(path + keep, SUFFIX, sizeof SUFFIX);
    }
    return path;
}

/* ---- Building: an object that failed once stays failed ---- */

struct builder {
    json_t *object;
    bool failed;
};

static void put(struct builder *b, const char *key, json_t *value)
{
    if (json_object_set_new(b->object, key, value) != 0) {
        b->failed = true;
    }
}

/* Takes item over; an array that failed becomes NULL. */
static json_t *append(json_t *array, json_t *item)
{
    if (array != NULL && json_array_append_new(array, item) == 0) {
        return array;
    }
    if (array == NULL) {
        json_decref(item);
    }
    json_decref(array);
    return NULL;
}

static json_t *times(const double *times_s, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = append(array, count_document_time(times_s[i]));
    }
    return array;
}

static json_t *indices(const size_t *index, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = append(array, json_integer((json_int_t)index[i]));
    }
    return array;
}

static json_t *findings(const fm_truth *t)
{
    json_t *array = json_array();
    for (size_t i = 0; i < t->n_findings; i++) {
        const fm_finding *const f = &t->findings[i];
        const size_t kept = f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES;
        struct builder b = {json_object(), false};
        put(&b, "kind", json_string(fm_finding_word(f->kind)));
        put(&b, "count", json_integer((json_int_t)f->count));
        put(&b, "times_s", times(f->times_s, kept));
        if (b.failed) {
            json_decref(b.object);
            b.object = NULL;
        }
        array = append(array, b.object);
    }
    return array;
}

/* A seed over 63 bits does not fit JSON's integers here: said as not known. */
static json_t *seed_value(const truth_document *d)
{
    const bool fits = d->composed && d->truth.seed <= (uint64_t)INT64_MAX;
    return fits ? json_integer((json_int_t)d->truth.seed) : json_null();
}

static json_t *text_or_null(const char *text)
{
    return text[0] != '\0' ? count_document_text(text) : json_null();
}

static json_t *rate_value(double rate_hz)
{
    return isfinite(rate_hz) ? json_integer((json_int_t)llround(rate_hz)) : json_null();
}

json_t *truth_document_build(const truth_document *d)
{
    const fm_truth *const t = &d->truth;
    struct builder b = {json_object(), false};
    put(&b, "schema", json_string(SCHEMA));
    put(&b, "s1_s", times(t->s1_s, t->n_s1));
    put(&b, "s2_s", times(t->s2_s, t->n_s2));
    put(&b, "inaudible_s1", indices(t->inaudible_s1, t->n_inaudible_s1));
    put(&b, "breath_starts_s", times(t->breath_starts_s, t->n_breaths));
    put(&b, "radial_s", t->has_radial ? times(t->radial_s, t->n_radial) : json_null());
    put(&b, "pattern",
        t->pattern_known ? json_string(fm_pattern_word(t->pattern)) : json_null());
    put(&b, "repeat", text_or_null(t->repeat));
    put(&b, "varies_with_breathing", json_boolean(t->varies_with_breathing));
    put(&b, "findings", findings(t));
    put(&b, "snr_db", count_document_number(t->snr_db, 2));
    put(&b, "breath_snr_db", count_document_number(t->breath_snr_db, 2));
    put(&b, "seed", seed_value(d));
    put(&b, "sample_rate_hz", rate_value(t->rate_hz));
    put(&b, "duration_s", count_document_time(t->duration_s));
    put(&b, "origin", json_string(d->composed ? "composed" : "annotated"));
    put(&b, "licence", text_or_null(d->licence));
    put(&b, "recipe", text_or_null(d->recipe));
    if (b.failed) {
        json_decref(b.object);
        return NULL;
    }
    return b.object;
}

char *truth_document_format(const truth_document *d)
{
    json_t *const document = truth_document_build(d);
    if (document == NULL) {
        return NULL;
    }
    char *const line = count_document_format(document);
    json_decref(document);
    if (line == NULL) {
        return NULL;
    }
    const size_t n = strlen(line);
    char *const text = realloc(line, n + 2);
    if (text == NULL) {
        free(line);
        return NULL;
    }
    text[n] = '\n';
    text[n + 1] = '\0';
    return text;
}
