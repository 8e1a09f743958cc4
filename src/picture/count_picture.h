/**
 * @file count_picture.h
 * The picture of one counted window, with the numbers as the person counts them.
 */
#ifndef PICTURE_COUNT_PICTURE_H
#define PICTURE_COUNT_PICTURE_H

#include "src/document/count_document.h"

/** As SVG text, to be freed by the caller; NULL without memory. */
char *count_picture_format(const count_source *source, const fm_count *count);

#endif
