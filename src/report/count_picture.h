/**
 * @file count_picture.h
 * The picture of one counted window, with the numbers as the person counts them.
 */
#ifndef REPORT_COUNT_PICTURE_H
#define REPORT_COUNT_PICTURE_H

#include "src/base/error.h"
#include "src/report/count_document.h"

/** As SVG text, to be freed by the caller; NULL without memory. */
char *count_picture_format(const count_source *source, const fm_count *count);

/** As a file; errors as picture_write. */
bool count_picture_write(const count_source *source,
                         const fm_count *count,
                         const char *path,
                         bool force,
                         app_err *err);

#endif
