/**
 * @file truth_document.h
 * The truth beside a recording, NAME.truth.json, "fullminute.truth/1": written for
 * composed recordings, read for these and for annotated ones.
 *
 * Times are written to 1 ms. Members beside the contract's own, which a reader may
 * ignore and which a document may lack: repeat, varies_with_breathing, breath_snr_db,
 * duration_s, recipe, sound_blake2b; contact_lost {start_s, length_s} where the chest piece lifted;
 * breath_pattern and breath_findings (as in a count document; null and an empty list where
 * the breathing is not known). A number that is not known is null.
 */
#ifndef DOCUMENT_TRUTH_DOCUMENT_H
#define DOCUMENT_TRUTH_DOCUMENT_H

#include "dsp/fullminute_compose.h"
#include "src/base/error.h"

#include <jansson.h>

enum {
    TRUTH_LICENCE_BYTES = 64,
    TRUTH_RECIPE_BYTES = 1024,
    TRUTH_SOUND_BYTES = 65
};

/** A truth and what is known of it beside its numbers. Start it as TRUTH_NONE. */
typedef struct truth_document {
    fm_truth truth;                    /**< its arrays are owned */
    bool composed;                     /**< false: annotated; has then no seed */
    char licence[TRUTH_LICENCE_BYTES]; /**< "" when not said */
    char recipe[TRUTH_RECIPE_BYTES];   /**< options that compose it; "" when not said */
    char sound[TRUTH_SOUND_BYTES]; /**< digest of its sound, 64 hexadecimal digits, as
                                        src/usecase/sound_digest; "" when not said */
} truth_document;

#define TRUTH_NONE                                                                     \
    {                                                                                  \
        .composed = true                                                               \
    }

/** Frees what is inside; d is then empty. */
void truth_document_free(truth_document *d);

/**
 * The document as a JSON value.
 *
 * @return a new reference, for json_decref; NULL without memory
 */
json_t *truth_document_build(const truth_document *d);

/**
 * The document as text, with a line end.
 *
 * @return text to be freed by the caller; NULL without memory
 */
char *truth_document_format(const truth_document *d);

/**
 * Read and check a document: schema, ascending finite times at or after 0, indices that
 * exist, known words.
 *
 * @param name    what errors call it
 * @param bytes   bytes[0..n-1], any bytes
 * @param[out] d  filled; TRUTH_NONE on failure
 * @return false with err APP_UNREADABLE: the file, and what is wrong with it
 */
bool truth_document_parse(
    const char *name, const char *bytes, size_t n, truth_document *d, app_err *err);

#endif
