/**
 * @file said.h
 * The document of a count with the sentences that belong to it.
 */
#ifndef WORDS_SAID_H
#define WORDS_SAID_H

#include "src/document/count_document.h"

/** As count_document_build; a new reference, NULL without memory. */
json_t *said_count(const count_source *source, const fm_count *count);

#endif
