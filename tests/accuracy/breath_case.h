/**
 * @file breath_case.h
 * Recordings whose breaths are known: composed ones, composed ones whose breath lengths
 * are those of real people, the manikin's sounds at several speeds, and real chests.
 */
#ifndef ACCURACY_BREATH_CASE_H
#define ACCURACY_BREATH_CASE_H

#include "analyse.h"
#include "truth.h"

#include "dsp/fullminute_compose.h"

#include <stdint.h>

/** Rows of the tables. */
enum {
    BREATH_LOUD,       /**< composed, breath sound 15 dB and more over the rest */
    BREATH_SOFT,       /**< composed, 0 to 15 dB */
    BREATH_HEART_ONLY, /**< composed, no breath sound; heart sounds and intervals modulated */
    BREATH_NONE,       /**< composed, nothing breathes: to be refused */
    BREATH_CYCLES, /**< composed with real breath lengths, 10 dB and more */
    BREATH_MANIKIN,
    BREATH_CHEST, /**< real chests; the rate from an ECG's intervals, where they tell */
    BREATH_REAL,  /**< real breathing; the rate as a list states it */
    BREATH_KINDS,
    BREATH_SPEEDS = 5
};

/** How long a manikin's mixture is. */
typedef enum breath_length {
    BREATH_AS_HEART, /**< as the heart track, 15 s */
    BREATH_AS_BOTH,  /**< until both tracks are over: 25 s at 0.6 times, else 15 s */
    BREATH_MINUTE    /**< both repeated to 60 s, the breath in whole breaths */
} breath_length;

/** Rows of breath-cycles.csv: lengths of successive breaths of one person. */
typedef struct breath_rows {
    size_t n;
    size_t *first; /**< first[0..n]: where each row begins in length_s */
    double *length_s;
} breath_rows;

/** A stretch of a real recording and its rate. */
typedef struct breath_real {
    char path[512];
    double true_per_min;
    double start_s;
    double seconds;
} breath_real;

/** A list of such; free items. */
typedef struct breath_list {
    size_t n;
    breath_real *items;
} breath_list;

/** One recording and its truth. */
typedef struct breath_case {
    char name[80];
    int kind;
    sound sound;    /**< free with sound_free */
    double start_s; /**< where the window begins in the sound */
    double window_s;
    double true_per_min; /**< a whole minute: breaths begun in it; else the rate */
    double snr_db;       /**< breath over the rest, 100-1000 Hz; NaN: none, not known */
    double speed;        /**< manikin: times the original; else 1 */
    int beats;           /**< S1 begun in the window; composed only */
    size_t n_starts;     /**< 0 where only the rate is known */
    double starts_s[FM_BREATHS_MAX]; /**< breaths begun in the window */
} breath_case;

/** "breath 15 dB and better", ...; never NULL. */
const char *breath_kind_word(int kind);

/** The speeds of the manikin's breath: 0.6, 1, 1.5, 2.5, 4. */
double breath_speed(int i);

/** Reads the rows; false and a line on stderr when it cannot. */
bool breath_rows_read(breath_rows *rows, const char *path);

/** Frees what is inside. */
void breath_rows_free(breath_rows *rows);

/** How many rows have at least n breaths. */
size_t breath_rows_with(const breath_rows *rows, size_t n);

/** A recipe's recording and truth; c->window_s is set before. */
bool breath_case_of(const fm_recipe *r, breath_case *c);

/** The composed recording of a seed; kind by seed modulo 4. */
bool breath_case_composed(uint64_t seed, breath_case *c);

/**
 * The same seed's heart for a whole minute beside a breath sound so loud; everything else
 * of it unchanged.
 *
 * @param breath_snr_db  over the rest, 100-1000 Hz; not finite: no breath sound at all
 */
bool breath_case_beside(uint64_t seed, double breath_snr_db, breath_case *c);

/**
 * A recording with the breath lengths of row i (counted among those of six breaths and
 * more), joined with other rows of a mean within 15 % until 65 s, lengths unchanged.
 *
 * @param cut  only the first 10 to 30 s of it, as short files are
 */
bool breath_case_cycles(
    const breath_rows *rows, size_t i, uint64_t seed, bool cut, breath_case *c);

/**
 * Manikin triple i (1..48) with its breath at a speed, mixed with the heart unchanged.
 *
 * @param rate_per_min  of the lung track at speed 1
 */
bool breath_case_manikin(const char *folder,
                         int i,
                         double rate_per_min,
                         double speed,
                         breath_length length,
                         breath_case *c);

/** A real recording; true_per_min is NaN where its ECG's intervals do not tell. */
bool breath_case_chest(const recording *r, breath_case *c);

/** Reads a list: CSV without header, path, rate a minute, start and length in s, further
 * columns left alone; false and a line on stderr when it cannot. */
bool breath_list_read(breath_list *list, const char *path);

/** Item i of a list; its name is the end of path@start+seconds. */
bool breath_case_real(const breath_list *list, size_t i, breath_case *c);

#endif
