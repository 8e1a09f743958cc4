/**
 * @file entry.h
 * One row of the logbook: one counted sitting of one learner. Three groups of fields:
 *   ENTERED   what the learner entered, committed before anything else is known; a row's
 *             entered fields never change
 *   COUNTED   what the second count said, filled once, afterwards
 *   ADDED     what may be added later: the other signs of the same set, a note
 *
 * Texts are UTF-8, "" where nothing is known; a number that is not known is
 * ENTRY_NO_WHOLE or NaN. Times are UTC, "2026-11-25T14:05:00Z".
 */
#ifndef DOCUMENT_ENTRY_H
#define DOCUMENT_ENTRY_H

#include "src/base/field.h"

#include <limits.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    ENTRY_NO_WHOLE = INT_MIN,
    ENTRY_LEARNER_BYTES = 25, /**< 24 bytes: initials or a nickname */
    ENTRY_UTC_BYTES = 21,
    ENTRY_WORD_BYTES = 32,
    ENTRY_TEXT_BYTES = 256,
    ENTRY_DIGEST_BYTES = 65, /**< 64 hexadecimal digits, as src/usecase/sound_digest */
    ENTRY_PATH_BYTES = 1024
};

/*
 * Every field but the row's number: group, kind, member, and what it is: the size of a text,
 * the words of one with few, the least and the most of a number. The member's name is the
 * column's, in the database, in CSV and in JSON. What a number can be and the words: from the
 * trade's sheets (common practice, no source), wide enough for what a person may meet.
 */
#define ENTRY_FIELDS(TEXT, WORD, WHOLE, REAL)                                          \
    TEXT(ENTERED, learner, ENTRY_LEARNER_BYTES)                                        \
    TEXT(ENTERED, entered_utc, ENTRY_UTC_BYTES)                                        \
    WHOLE(ENTERED, offset_min, -14 * 60, 14 * 60) /* local time less UTC */            \
    WHOLE(ENTERED, attempt, 1, 1000000)           /* 1: the first at this recording */ \
    WORD(ENTERED, site, SITES)                    /* apical, radial, other */          \
    WORD(ENTERED, wrist, WRISTS)                  /* left, right */                    \
    TEXT(ENTERED, strength, ENTRY_WORD_BYTES)                                          \
    WHOLE(ENTERED, beats, 1, 400)                                                      \
    WHOLE(ENTERED, seconds, 15, 60) /* 15, 30 or 60 */                                 \
    WORD(ENTERED, convention, CONVENTIONS)                                             \
    WORD(ENTERED, rhythm, RHYTHMS)      /* as the learner judged it */                 \
    WHOLE(ENTERED, wrist_beats, 0, 400) /* a second examiner's, the same minute */     \
    WHOLE(ENTERED, breaths, 0, 200)                                                    \
    WHOLE(ENTERED, breath_seconds, 15, 60)                                             \
    WORD(ENTERED, breath_method, METHODS)                                              \
    WORD(ENTERED, breath_rhythm, BREATH_RHYTHMS)                                       \
    TEXT(ENTERED, breath_depth, ENTRY_WORD_BYTES)                                      \
    TEXT(ENTERED, breath_effort, ENTRY_WORD_BYTES)                                     \
    TEXT(ENTERED, posture, ENTRY_WORD_BYTES)                                           \
    TEXT(ENTERED, context, ENTRY_WORD_BYTES)                                           \
    REAL(ENTERED, age_months, 0, 150 * 12)                                             \
    TEXT(ENTERED, recording, ENTRY_PATH_BYTES)                                         \
    WHOLE(ENTERED, own_recording, 0, 1) /* 1: recorded by a live sitting */            \
    TEXT(COUNTED, counted_utc, ENTRY_UTC_BYTES)                                        \
    TEXT(COUNTED, engine, ENTRY_WORD_BYTES)                                            \
    TEXT(COUNTED, device_status, ENTRY_WORD_BYTES)                                     \
    WHOLE(COUNTED, device_beats, 0, 2000)                                              \
    REAL(COUNTED, device_per_min, -1e6, 1e6)                                           \
    REAL(COUNTED, device_low_per_min, -1e6, 1e6)                                       \
    REAL(COUNTED, device_high_per_min, -1e6, 1e6)                                      \
    REAL(COUNTED, confidence, 0, 1)                                                    \
    TEXT(COUNTED, device_rhythm, ENTRY_WORD_BYTES)                                     \
    REAL(COUNTED, quality, 0, 1)                                                       \
    TEXT(COUNTED, judged_against, ENTRY_WORD_BYTES) /* device, truth */                \
    REAL(COUNTED, reference_per_min, -1e6, 1e6)     /* of the learner's own seconds */ \
    REAL(COUNTED, difference_per_min, -1e6, 1e6)                                       \
    TEXT(COUNTED, verdict, ENTRY_WORD_BYTES)                                           \
    REAL(COUNTED, tolerance_per_min, -1e6, 1e6)                                        \
    TEXT(COUNTED, slip, ENTRY_WORD_BYTES)                                              \
    REAL(COUNTED, deficit_per_min, -1e6, 1e6)                                          \
    TEXT(COUNTED, device_breath_status, ENTRY_WORD_BYTES)                              \
    REAL(COUNTED, device_breath_per_min, -1e6, 1e6)                                    \
    TEXT(COUNTED, device_breath_pattern, ENTRY_WORD_BYTES)                             \
    TEXT(COUNTED, device_breath_pauses,                                                \
         ENTRY_TEXT_BYTES) /* "27.5-41.5, 50.0-61.2", s */                             \
    REAL(COUNTED, breath_reference_per_min, -1e6, 1e6)                                 \
    REAL(COUNTED, breath_difference_per_min, -1e6, 1e6)                                \
    TEXT(COUNTED, breath_verdict, ENTRY_WORD_BYTES)                                    \
    TEXT(COUNTED, sound_blake2b, ENTRY_DIGEST_BYTES) /* of what was counted */         \
    REAL(ADDED, temperature, 20, 115)                                                  \
    WORD(ADDED, temperature_unit, UNITS) /* F, C */                                    \
    TEXT(ADDED, temperature_site, ENTRY_WORD_BYTES)                                    \
    WHOLE(ADDED, systolic_mmhg, 20, 320)                                               \
    WHOLE(ADDED, diastolic_mmhg, 0, 250)                                               \
    WHOLE(ADDED, palpated_mmhg, 20, 320) /* where the pulse disappeared */             \
    TEXT(ADDED, cuff, ENTRY_WORD_BYTES)                                                \
    TEXT(ADDED, pressure_posture, ENTRY_WORD_BYTES)                                    \
    WHOLE(ADDED, saturation_percent, 0, 100)                                           \
    WHOLE(ADDED, pain_of_10, 0, 10)                                                    \
    TEXT(ADDED, reported_to, ENTRY_WORD_BYTES)                                         \
    TEXT(ADDED, reported_at, ENTRY_WORD_BYTES)                                         \
    TEXT(ADDED, note, ENTRY_TEXT_BYTES)                                                \
    WHOLE(ENTERED, could_not, 1, 1) /* it could not be counted: beats is not known */  \
    WHOLE(ENTERED, breath_could_not, 1, 1)                                             \
    TEXT(ENTERED, running, ENTRY_WORD_BYTES) /* "18,36,53", noted at 15, 30, 45 s */   \
    TEXT(ENTERED, breath_running, ENTRY_WORD_BYTES)

/** One row. Plain value. */
typedef struct entry {
    int64_t number; /**< the row's; 0: not stored yet */
#define ENTRY_TEXT(group, name, bytes)     char name[bytes];
#define ENTRY_WORD(group, name, words)     char name[ENTRY_WORD_BYTES];
#define ENTRY_WHOLE(group, name, min, max) int name;
#define ENTRY_REAL(group, name, min, max)  double name;
    ENTRY_FIELDS(ENTRY_TEXT, ENTRY_WORD, ENTRY_WHOLE, ENTRY_REAL)
#undef ENTRY_TEXT
#undef ENTRY_WORD
#undef ENTRY_WHOLE
#undef ENTRY_REAL
} entry;

typedef enum entry_group {
    ENTRY_ENTERED,
    ENTRY_COUNTED,
    ENTRY_ADDED
} entry_group;

/** One field as the database, CSV and JSON see it. */
typedef struct entry_field {
    const char *name;
    entry_group group;
    field to; /**< FIELD_CHARS, FIELD_INT or FIELD_REAL of an entry */
} entry_field;

/** All fields, in order; entry_n_fields() of them. */
extern const entry_field ENTRY_FIELD[];
size_t entry_n_fields(void);

/** The field of that name; NULL: none. */
const entry_field *entry_field_named(const char *name);

/** Where nothing is known. */
entry entry_none(void);

/** A field of e. Texts: borrowed, "" when not known. */
const char *entry_text(const entry *e, const entry_field *f);
int entry_whole(const entry *e, const entry_field *f);
/** Of a FIELD_INT too; NaN when not known. */
double entry_number(const entry *e, const entry_field *f);

/** Is anything known of it? */
bool entry_has(const entry *e, const entry_field *f);

/**
 * Set a field from text, as CSV and the command line have it; "" sets it to not known.
 *
 * @return false: no number, too long, no UTF-8, a control character (a path may have both),
 *         or a word or number that the field cannot have; e is then unchanged
 */
bool entry_set(entry *e, const entry_field *f, const char *text);

enum {
    ENTRY_SHOWN_BYTES = ENTRY_PATH_BYTES
};

/** The field as text that entry_set takes back; "" when not known. */
const char *entry_show(const entry *e,
                       const entry_field *f,
                       char out[ENTRY_SHOWN_BYTES]);

enum {
    ENTRY_DOUBT_BYTES = 200
};

/**
 * What of the other signs cannot be: a temperature outside every living person's in its
 * unit (25 to 45 C, 77 to 113 F: ours, no source), a systolic pressure not above the
 * diastolic. A question for the one who typed it; "" where nothing is odd.
 *
 * @return out
 */
const char *entry_doubt(const entry *e, char out[ENTRY_DOUBT_BYTES]);

/** Sets a text field by member, cut at a whole character where it is too long. */
void entry_put(char *out, size_t bytes, const char *text);

/** The learner's pulse and respirations, per minute; NaN: not counted. */
double entry_per_min(const entry *e);
double entry_breath_per_min(const entry *e);

/** Is the text a time as entered_utc is? */
bool entry_is_utc(const char *text);

#endif
