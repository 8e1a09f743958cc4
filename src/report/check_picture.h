/**
 * @file check_picture.h
 * What is drawn of a comparison: the minute with the learner's count, taps and respirations.
 */
#ifndef REPORT_CHECK_PICTURE_H
#define REPORT_CHECK_PICTURE_H

#include "src/report/check_view.h"
#include "src/report/picture.h"

/** The picture of a view whose pulse was checked; borrows from it. */
picture check_picture_of(const check_view *view);

#endif
