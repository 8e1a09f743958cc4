#include "src/document/truth_document.h"

#include "src/document/document_parts.h"

#include <math.h>

static const char SCHEMA[] = "fullminute.truth/1";

void truth_document_free(truth_document *d)
{
    fm_truth_free(&d->truth);
    *d = (truth_document)TRUTH_NONE;
}

static json_t *indices(const size_t *index, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = document_append(array, json_integer((json_int_t)index[i]));
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
    return text[0] != '\0' ? document_text(text) : json_null();
}

static json_t *rate_value(double rate_hz)
{
    return isfinite(rate_hz) ? json_integer((json_int_t)llround(rate_hz)) : json_null();
}

json_t *truth_document_build(const truth_document *d)
{
    const fm_truth *const t = &d->truth;
    document_part b = document_start();
    document_put(&b, "schema", json_string(SCHEMA));
    document_put(&b, "s1_s", document_times(t->s1_s, t->n_s1));
    document_put(&b, "s2_s", document_times(t->s2_s, t->n_s2));
    document_put(&b, "inaudible_s1", indices(t->inaudible_s1, t->n_inaudible_s1));
    document_put(&b, "breath_starts_s",
                 document_times(t->breath_starts_s, t->n_breaths));
    document_put(&b, "breath_pattern",
                 t->breathing_known
                     ? json_string(fm_breath_pattern_word(t->breath_pattern))
                     : json_null());
    document_put(&b, "breath_findings",
                 document_pauses(t->breath_pauses, t->n_breath_pauses));
    document_put(&b, "radial_s",
                 t->has_radial ? document_times(t->radial_s, t->n_radial)
                               : json_null());
    document_put(&b, "pattern",
                 t->pattern_known ? json_string(fm_pattern_word(t->pattern))
                                  : json_null());
    document_put(&b, "repeat", text_or_null(t->repeat));
    document_put(&b, "varies_with_breathing", json_boolean(t->varies_with_breathing));
    document_put(&b, "findings", document_findings(t->findings, t->n_findings));
    if (t->contact_lost.length_s > 0.0) {
        document_part lost = document_start();
        document_put(&lost, "start_s", document_time(t->contact_lost.start_s));
        document_put(&lost, "length_s", document_time(t->contact_lost.length_s));
        document_put(&b, "contact_lost", document_end(&lost));
    }
    document_put(&b, "snr_db", document_number(t->snr_db, 2));
    document_put(&b, "breath_snr_db", document_number(t->breath_snr_db, 2));
    document_put(&b, "seed", seed_value(d));
    document_put(&b, "sample_rate_hz", rate_value(t->rate_hz));
    document_put(&b, "duration_s", document_time(t->duration_s));
    document_put(&b, "origin", json_string(d->composed ? "composed" : "annotated"));
    document_put(&b, "licence", text_or_null(d->licence));
    document_put(&b, "recipe", text_or_null(d->recipe));
    document_put(&b, "sound_blake2b", text_or_null(d->sound));
    return document_end(&b);
}

char *truth_document_format(const truth_document *d)
{
    return document_format_line(truth_document_build(d));
}
