/**
 * @file entry_json.h
 * Rows as JSON: for programs, "fullminute.logbook/1", and as HL7 FHIR R4 Observations, for
 * the exercise of charting electronically.
 */
#ifndef DOCUMENT_ENTRY_JSON_H
#define DOCUMENT_ENTRY_JSON_H

#include "src/document/entry.h"

#include <jansson.h>

/** Every known field by its name, null where not known; a new reference or NULL. */
json_t *entry_json(const entry *e);

/** {"schema": "fullminute.logbook/1", "practice": true, "sessions": []}. */
json_t *entry_json_document(void);

/**
 * A FHIR R4 Bundle of type collection without entries; NULL without memory. Every
 * resource carries the security label HTEST ("test health data", HL7 v3 ActReason):
 * practice, no patient's data.
 */
json_t *entry_fhir_bundle(void);

/**
 * Add a row's Observations: pulse, respirations and the other signs, each with the
 * learner's own numbers; what the second count said is a component of its own.
 *
 * Source of the codes and units: HL7 FHIR R4 (4.0.1), vital signs profiles
 * (hl7.org/fhir/R4/observation-vitalsigns.html): 8867-4 heart rate, 9279-1 respiratory
 * rate, 8310-5 body temperature, 85354-9 blood pressure with 8480-6 systolic and 8462-4
 * diastolic, 2708-6 oxygen saturation; units by UCUM. Pain: LOINC 72514-3 (from memory).
 *
 * @return false without memory
 */
bool entry_fhir_add(json_t *bundle, const entry *e);

#endif
