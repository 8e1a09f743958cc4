/**
 * @file report_strip.h
 * The sound strip of a compared minute, drawn from its recording.
 */
#ifndef USECASE_REPORT_STRIP_H
#define USECASE_REPORT_STRIP_H

#include "src/document/check_view.h"

/** SVG, to be freed; NULL when the recording cannot be read or without memory. */
char *report_strip_draw(const char *recording, const check_view *view);

#endif
