/**
 * @file pieces.h
 * Small pieces of text that the words of a count and of a comparison share.
 */
#ifndef WORDS_PIECES_H
#define WORDS_PIECES_H

#include "src/base/text.h"
#include "src/document/check_view.h"
#include "src/words/check_slip.h"

enum {
    PIECE_NUMBER_BYTES = 32,
    PIECE_RANGE_BYTES = 64,
    PIECE_WORDS_BYTES = 1024
};

/** "58-62 reaches the edge of 60-100NAME: count another full minute before you call it low" */
void piece_put_edge(char out[PIECE_WORDS_BYTES],
                    double low,
                    double high,
                    const fm_reference_range *judge,
                    const char *name);

/** " Even spacing in this minute only, not a check of the heart.": beside the regular rhythm
 * of a count. */
void piece_put_spacing(char out[PIECE_WORDS_BYTES], const fm_event_count *c);

/** Appends to a text of PIECE_WORDS_BYTES; what does not fit is cut. */
#define PIECE_PUT(out, ...) text_add((out), PIECE_WORDS_BYTES, __VA_ARGS__)

/** "72", or "71.6" where it is no whole number. Returns out, as do the next three. */
const char *piece_number(double value, char out[PIECE_NUMBER_BYTES]);

/** "70-72" in whole beats that hold the range, "71" where both are the same. */
const char *piece_range(double low, double high, char out[PIECE_RANGE_BYTES]);

/** "71", or "71 (70-72)" where more than one count is possible. */
const char *piece_number_in_range(double value,
                                  double low,
                                  double high,
                                  char out[PIECE_RANGE_BYTES]);

/** "no beats", "one beat", "four beats", "12 beats". */
const char *piece_counted(size_t n,
                          const char *one,
                          const char *many,
                          char out[PIECE_RANGE_BYTES]);

/** The same in a place of their own, for as long as the block goes on. */
#define PIECE_NUMBER(value)    piece_number(value, (char[PIECE_NUMBER_BYTES]){0})
#define PIECE_RANGE(low, high) piece_range(low, high, (char[PIECE_RANGE_BYTES]){0})
#define PIECE_NUMBER_IN_RANGE(value, low, high)                                        \
    piece_number_in_range(value, low, high, (char[PIECE_RANGE_BYTES]){0})
#define PIECE_COUNTED(n, one, many)                                                    \
    piece_counted(n, one, many, (char[PIECE_RANGE_BYTES]){0})

/** "early beat" or "early beats": n findings of that kind. */
const char *piece_finding(fm_finding_kind kind, size_t n);

/** Appends ", in step with breathing", ", in groups of 2" for "2:2" or ", in groups of 3
 * beats and a pause (4:3)", or nothing. */
void piece_put_repeat(char out[PIECE_WORDS_BYTES], const fm_rhythm *r);

/** Makes a small first letter a capital. */
void piece_capital(char *text);

/** Appends " at 16 s, 36 s and 41 s (2)", or the first and the last of many. */
void piece_put_times(char out[PIECE_WORDS_BYTES], const double *times_s, size_t n);

#endif
