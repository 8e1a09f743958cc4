/**
 * @file document_parts.h
 * Building the JSON documents: objects and lists that, once memory has run out, stay
 * failed, so that only the end needs a look.
 */
#ifndef DOCUMENT_PARTS_H
#define DOCUMENT_PARTS_H

#include "dsp/result.h"

#include <jansson.h>

/** One object in the making. Start it with document_start. */
typedef struct document_part {
    json_t *object; /**< owned until document_end */
    bool failed;
} document_part;

/** A new, empty object; failed without memory. */
document_part document_start(void);

/** Put a member in. Takes the value over, whatever the outcome; NULL counts as failed. */
void document_put(document_part *part, const char *key, json_t *value);

/** The finished object, a new reference; NULL when anything failed, nothing is left. */
json_t *document_end(document_part *part);

/**
 * Add an item to a list. Takes both over.
 *
 * @param array  NULL: failed before
 * @param item   NULL counts as failed
 * @return the list; NULL when it has failed, nothing is left
 */
json_t *document_append(json_t *array, json_t *item);

/** A list of times_s[0..n-1], seconds, to 1 ms. New reference; NULL without memory. */
json_t *document_times(const double *times_s, size_t n);

/** A list of findings[0..n-1]: kind, count, times_s. New reference; NULL without memory. */
json_t *document_findings(const fm_finding *findings, size_t n);

/** A list of pauses[0..n-1] of breathing: kind "pause", start_s, end_s. As above. */
json_t *document_pauses(const fm_breath_pause *pauses, size_t n);

/**
 * Any document of ours as text, with the members in the order they were put in and the
 * numbers as rounded at the build; one line, no line end.
 *
 * @return text, to be freed by the caller; NULL without memory
 */
char *document_format(const json_t *document);

/** The same with a line end, and with flags for json_dumps; takes the document over. NULL
 * gives NULL. */
char *document_format_line(json_t *document, size_t flags);

/** A time for a document: to 1 ms; null for NaN and infinities. New reference. */
json_t *document_time(double seconds);

/** A rate for a document: to 0.1; null for NaN and infinities. New reference. */
json_t *document_rate(double per_min);

/** A share or measure for a document, to so many decimals; null when not known. */
json_t *document_number(double value, int decimals);

/** Text of any bytes as JSON text: what is not UTF-8 is percent-escaped. */
json_t *document_text(const char *bytes);

#endif
