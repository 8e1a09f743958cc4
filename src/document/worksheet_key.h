/**
 * @file worksheet_key.h
 * What a worksheet's key holds: for each item what is true of its seconds. As a document,
 * "fullminute.worksheet/1", which is only ever written sealed (src/port/sealed.h).
 */
#ifndef DOCUMENT_WORKSHEET_KEY_H
#define DOCUMENT_WORKSHEET_KEY_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    WORKSHEET_ITEMS_MOST = 99,
    WORKSHEET_SECONDS = 60,
    WORKSHEET_WORD_BYTES = 48,
    WORKSHEET_NAME_BYTES = 256,
    WORKSHEET_RECIPE_BYTES = 1024,
    WORKSHEET_UNKNOWN = -1
};

/** What counting so many seconds and multiplying can give, over every whole second. */
typedef struct worksheet_short {
    int low_per_min, high_per_min;
} worksheet_short;

/** One item. Numbers that are not known are WORKSHEET_UNKNOWN. */
typedef struct worksheet_item {
    char item[WORKSHEET_WORD_BYTES];     /**< "item-01" */
    char source[WORKSHEET_NAME_BYTES];   /**< the recording it was made from */
    char recipe[WORKSHEET_RECIPE_BYTES]; /**< what composed it; shown afterwards */
    char pattern[WORKSHEET_WORD_BYTES];  /**< "regular" ...; "" not known */
    char repeat[WORKSHEET_WORD_BYTES];
    int beats;
    int early;   /**< early beats among them */
    int breaths; /**< begun in the seconds */
    int wrist;   /**< pulses at the wrist */
    worksheet_short by_15_s, by_30_s;
} worksheet_item;

/** A whole key. Start from zero, free with worksheet_key_free. */
typedef struct worksheet_key {
    char made_utc[WORKSHEET_WORD_BYTES];
    size_t n;
    worksheet_item *items; /**< owned */
} worksheet_key;

void worksheet_key_free(worksheet_key *k);

/** The item of that name; NULL: none. */
const worksheet_item *worksheet_key_find(const worksheet_key *k, const char *item);

/** As text, to be freed; NULL without memory. */
char *worksheet_key_format(const worksheet_key *k);

/** From text; false with err APP_UNREADABLE. */
bool worksheet_key_parse(const char *text, size_t n, worksheet_key *k, app_err *err);

#endif
