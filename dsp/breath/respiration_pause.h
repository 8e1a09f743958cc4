/**
 * @file respiration_pause.h
 * From which length a stretch without a breath is named a pause at an age, and the
 * pauses of a result that are named there.
 *
 * Source: from 10 s in adults and where no age is given: the limit of sleep laboratories
 *         for a stop of the flow (American Academy of Sleep Medicine, scoring manual);
 *         from memory until read. From 20 s in infants (under 1 year): American Academy
 *         of Pediatrics, apnoea of infancy, 20 s or less with a change of colour or
 *         limpness; from memory until read. From 1 to 17 years: the adults' limit, which
 *         names more; no source.
 */
#ifndef FM_RESPIRATION_PAUSE_H
#define FM_RESPIRATION_PAUSE_H

#include "dsp/result.h"

#define FM_BREATH_PAUSE_S        10.0 /**< adults and no age; see above */
#define FM_BREATH_PAUSE_INFANT_S 20.0 /**< under FM_BREATH_INFANT_MONTHS; see above */
#define FM_BREATH_INFANT_MONTHS  12.0

/**
 * The shortest stretch that is named a pause, s.
 *
 * @param age_months  0 up; NaN: no age is given
 */
double fm_breath_pause_from_s(double age_months);

/** Who set that limit, for people; constant, never NULL. */
const char *fm_breath_pause_source(double age_months);

/**
 * Keeps the pauses of pauses[0..n-1] that are named at an age, in their order.
 *
 * @return how many are left at the front
 */
size_t fm_breath_pauses_keep(fm_breath_pause *pauses, size_t n, double age_months);

/**
 * The same for a result: where no pause is left, breathing 'with pauses' becomes
 * 'uneven'. Doing it twice changes nothing more.
 */
void fm_breath_name_pauses(fm_breath *breath, double age_months);

#endif
