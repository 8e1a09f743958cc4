/**
 * @file said.h
 * The documents of a count and of a comparison with the sentences that belong to them.
 */
#ifndef WORDS_SAID_H
#define WORDS_SAID_H

#include "src/document/check_document.h"

/** As count_document_build and check_document_build; NULL without memory. */
json_t *said_count(const count_source *source, const fm_count *count);
json_t *said_check(const check_view *view);

#endif
