#include "src/document/document_parts.h"

#include "src/base/json_text.h"
#include "src/base/text.h"

#include <math.h>
#include <stdlib.h>

/* A double carries 15 significant decimal digits exactly there and back. */
enum {
    SIGNIFICANT_DIGITS = 15
};

document_part document_start(void)
{
    json_t *const object = json_object();
    return (document_part){object, object == NULL};
}

void document_put(document_part *part, const char *key, json_t *value)
{
    if (part->failed) {
        json_decref(value);
    } else if (json_object_set_new(part->object, key, value) != 0) {
        part->failed = true;
    }
}

json_t *document_end(document_part *part)
{
    if (!part->failed) {
        return part->object;
    }
    json_decref(part->object);
    part->object = NULL;
    return NULL;
}

json_t *document_append(json_t *array, json_t *item)
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

json_t *document_times(const double *times_s, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = document_append(array, document_time(times_s[i]));
    }
    return array;
}

json_t *document_short_counts(const fm_short_count *counts, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        if (counts[i].n_windows == 0) {
            continue;
        }
        document_part part = document_start();
        document_put(&part, "seconds", json_integer(counts[i].seconds));
        document_put(&part, "windows", json_integer((json_int_t)counts[i].n_windows));
        document_put(&part, "min", document_rate(counts[i].min_per_min));
        document_put(&part, "max", document_rate(counts[i].max_per_min));
        document_put(&part, "mean", document_rate(counts[i].mean_per_min));
        array = document_append(array, document_end(&part));
    }
    return array;
}

json_t *document_findings(const fm_finding *findings, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        const fm_finding *const f = &findings[i];
        const size_t kept = f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES;
        document_part part = document_start();
        document_put(&part, "kind", json_string(fm_finding_word(f->kind)));
        document_put(&part, "count", json_integer((json_int_t)f->count));
        document_put(&part, "times_s", document_times(f->times_s, kept));
        array = document_append(array, document_end(&part));
    }
    return array;
}

json_t *document_pauses(const fm_breath_pause *pauses, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        document_part part = document_start();
        document_put(&part, "kind", json_string("pause"));
        document_put(&part, "start_s", document_time(pauses[i].start_s));
        document_put(&part, "end_s", document_time(pauses[i].end_s));
        array = document_append(array, document_end(&part));
    }
    return array;
}

/* ---- Values ---- */

json_t *document_number(double value, int decimals)
{
    if (!isfinite(value)) {
        return json_null();
    }
    const double scale = pow(10.0, decimals);
    /* Adding zero turns -0 into 0. */
    return json_real(round(value * scale) / scale + 0.0);
}

json_t *document_time(double seconds)
{
    return document_number(seconds, 3);
}

json_t *document_rate(double per_min)
{
    return document_number(per_min, 1);
}

json_t *document_text(const char *bytes)
{
    char *const plain = text_escape_name(bytes);
    json_t *const text = plain != NULL ? json_string(plain) : NULL;
    free(plain);
    return text;
}

char *document_format(const json_t *document)
{
    return json_text_of(document, JSON_REAL_PRECISION(SIGNIFICANT_DIGITS));
}

char *document_format_line(json_t *document, size_t flags)
{
    char *const line =
        json_text_of(document, flags | JSON_REAL_PRECISION(SIGNIFICANT_DIGITS));
    char *const text = line != NULL ? text_join(line, "\n", "") : NULL;
    json_decref(document);
    free(line);
    return text;
}
