/**
 * @file paced_source.h
 * A source that gives a reader's samples at their own speed, every 10 ms what is due.
 */
#ifndef CAPTURE_PACED_SOURCE_H
#define CAPTURE_PACED_SOURCE_H

#include "src/capture/source.h"

/** @return the source, not yet started and without its ring; NULL with err */
source *paced_source_open(const capture_reader *reader, app_err *err);

#endif
