/**
 * @file find_source.h
 * Which input is the chest piece? All are listened to, first at rest, then while its
 * diaphragm is rubbed gently with a finger; the one that jumps is it.
 */
#ifndef USECASE_FIND_SOURCE_H
#define USECASE_FIND_SOURCE_H

#include "dsp/heart/placement.h"

#include <stdbool.h>
#include <stddef.h>

#define FIND_REST_S 3.0
#define FIND_RUB_S  5.0

/** One input's two stretches. */
typedef struct find_candidate {
    bool measured; /**< false: it could not be opened, or nothing came */
    bool is_default;
    fm_placement_measures rest;
    fm_placement_measures rub;
} find_candidate;

/**
 * The one that jumps. Inputs that are one and the same under two names jump alike: then
 * the system's default wins, else the first.
 *
 * @return its index in list[0..n-1]; -1: none jumped
 */
int find_source_pick(const find_candidate *list, size_t n);

#endif
