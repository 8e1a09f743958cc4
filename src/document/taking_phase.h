/**
 * @file taking_phase.h
 * How far the taking of a count is (src/usecase/taking.h), for whoever shows it, and the page's
 * words for it.
 */
#ifndef DOCUMENT_TAKING_PHASE_H
#define DOCUMENT_TAKING_PHASE_H

/** How far it is, and with that what is wanted. */
typedef enum taking_phase {
    TAKING_ENDED = 0, /**< not begun, or stopped before it was entered: nothing */
    TAKING_SETTLING,  /**< place the chest piece, take a seat: TAKING_START */
    TAKING_LEAD_IN,   /**< ticks */
    TAKING_RUNNING,   /**< the window */
    TAKING_GAPPED,    /**< it is over and lacks audio, or contact: again, or keep it */
    TAKING_ENTRY,     /**< a number: of taking_at */
    TAKING_STORING,   /**< store what was entered, then say TAKING_STORED, or not */
    TAKING_TAIL,      /**< a few more seconds are recorded after the window */
    TAKING_BROKEN,    /**< the input is gone or the disk is full: close it */
    TAKING_COUNTING, /**< every entry is stored: count, then say TAKING_COUNTED, or not */
    TAKING_SHOWN,    /**< show it */
    TAKING_FAILED    /**< it could not be counted: what is stored stays */
} taking_phase;

/** Whose number. */
typedef enum taking_entry {
    TAKING_PULSE,
    TAKING_SECOND, /**< the second examiner's, at the wrist */
    TAKING_BREATH
} taking_entry;

/** The page's words for a phase, of one person's count and of a room's; for an entry. */
extern const char *const TAKING_WORDS[];
extern const char *const TAKING_ROOM_WORDS[];
extern const char *const TAKING_ENTRY_WORDS[];

#endif
