/**
 * @file device_source.h
 * A source that is an input of this computer, through PortAudio, listened to through an
 * output in the same stream where that is wanted.
 */
#ifndef CAPTURE_DEVICE_SOURCE_H
#define CAPTURE_DEVICE_SOURCE_H

#include "src/capture/source.h"

/** @return the source, not yet started and without its ring; NULL with err */
source *device_source_open(const capture_request *request, app_err *err);

#endif
