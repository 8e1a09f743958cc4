/**
 * @file check_picture.h
 * What is drawn of a comparison: the minute with the learner's count, taps and respirations.
 */
#ifndef PICTURE_CHECK_PICTURE_H
#define PICTURE_CHECK_PICTURE_H

#include "src/picture/picture.h"
#include "src/document/check_view.h"

/** The picture of a view whose pulse was checked; borrows from it. */
picture check_picture_of(const check_view *view);

#endif
