/**
 * @file truth_beside.h
 * The truth that lies beside a recording, NAME.truth.json, and whether it is of that
 * recording: a truth of another one would judge every count wrongly.
 */
#ifndef USECASE_TRUTH_BESIDE_H
#define USECASE_TRUTH_BESIDE_H

#include "src/base/error.h"
#include "src/document/truth_document.h"

/** What was found. */
typedef enum truth_found {
    TRUTH_FOUND_NONE,   /**< nothing lies there */
    TRUTH_FOUND_FITS,   /**< length and rate fit, as far as they are said */
    TRUTH_FOUND_PROVEN, /**< its digest is that of this sound */
    TRUTH_FOUND_ANOTHER /**< length, rate or digest are those of another sound */
} truth_found;

/**
 * Does a truth fit a recording? Its rate and its length where it says them, and the digest
 * of the sound where it carries one.
 *
 * @return false with err as sound_file_open or reading it says: nothing is known then
 */
bool truth_beside_look(const truth_document *d,
                       const char *sound_path,
                       truth_found *found,
                       app_err *err);

/**
 * Is a truth that is not proven in doubt beside a sure count of the same whole minute?
 *
 * @param known_per_min  by the truth
 * @param low_per_min,high_per_min  the range that holds the sure count; NaN: false
 */
bool truth_beside_is_doubtful(truth_found found,
                              double known_per_min,
                              double low_per_min,
                              double high_per_min);

/**
 * The same as truth_beside_look, where a truth of another sound is an error.
 *
 * @param path  the truth's own, for errors
 * @return false with err APP_UNREADABLE: it is of another recording; or what
 *         sound_file_open says
 */
bool truth_beside_fits(const truth_document *d,
                       const char *path,
                       const char *sound_path,
                       truth_found *found,
                       app_err *err);

/**
 * Look for it, read it, and see whether it fits.
 *
 * @param[out] d  filled where found; for truth_document_free
 * @return false with err as above, or as truth_document_read
 */
bool truth_beside_read(const char *sound_path,
                       truth_document *d,
                       truth_found *found,
                       app_err *err);

#endif
