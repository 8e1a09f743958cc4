/**
 * @file shared_minute.h
 * A minute that a room counts together: one recording is heard in the room, every seat
 * enters a count of its own, then the answers are shown together, without names, beside
 * what is true, and each seat its own comparison. The only place that decides what a seat
 * or the room may see, and when. No sound and no network in it, and no clock: moments are
 * handed in.
 *
 * Nobody is ranked. A seat that has gone keeps its number, its taps and its answer, and
 * whoever holds its secret may come back to it.
 */
#ifndef USECASE_SHARED_MINUTE_H
#define USECASE_SHARED_MINUTE_H

#include "src/base/error.h"
#include "src/usecase/taking.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** As long as a phone may take to come back before its empty seat may be another's, s. Ours:
 *  a page that is loaded again is back within three. */
#define SHARED_SEAT_KEPT_S 10.0

enum {
    SHARED_SEATS_MOST = 99,
    SHARED_SEATS_ADDRESS_MOST = 33, /**< a third: nobody can take them all */
    SHARED_SECRET_BYTES = 33,
    SHARED_TAPS_MOST = 400,
    SHARED_RHYTHM_BYTES = 32,
    SHARED_COULD_NOT = -1 /**< a seat's count that says so */
};

/** One seat. */
typedef struct shared_seat {
    char secret[SHARED_SECRET_BYTES];
    uint32_t from;  /**< the address that took it, as a number */
    int here;       /**< pages that are open on it now */
    bool seen;      /**< one ever was: until then the room does not list it */
    double since_s; /**< nobody has been there since */
    bool entered;
    int count;
    char rhythm[SHARED_RHYTHM_BYTES];
    size_t n_taps;
    double taps_s[SHARED_TAPS_MOST]; /**< from the start of the minute */
} shared_seat;

/** The whole. Opaque to those who only show it; start it with shared_minute_begin. */
typedef struct shared_minute {
    taking
        taking; /**< the room's, in millionths of a second; each seat enters for itself */
    int seconds; /**< 15, 30 or 60 */
    double start_s;
    int truth; /**< beats in those seconds */
    size_t n_seats;
    shared_seat seats[SHARED_SEATS_MOST];
    int version; /**< goes up with every change */
} shared_minute;

/** Nobody is there yet. */
void shared_minute_begin(shared_minute *m, int seconds, int truth);

/** Another minute for the same seats: answers and taps go. */
void shared_minute_anew(shared_minute *m, int seconds, int truth);

/** Time goes on. @return true when the phase has changed */
bool shared_minute_step(shared_minute *m, double now_s);

/** The minute starts at that moment; false: it is not the time for it. */
bool shared_minute_start(shared_minute *m, double start_s);

/** What shared_minute_sit says where it gives none. */
enum {
    SHARED_FULL = 0,
    SHARED_ADDRESS_FULL = -1 /**< that address has its share */
};

/**
 * A seat with that secret: a new one, or, where all are taken, one that nobody has been at
 * for SHARED_SEAT_KEPT_S and that holds neither taps nor an answer.
 *
 * @param from   the address that asks, as a number; only whether two are alike is looked at
 * @return its number from 1, or one of the above
 */
int shared_minute_sit(shared_minute *m,
                      const char *secret,
                      uint32_t from,
                      double now_s);

/** A page was opened at that seat, or closed; no such seat: nothing. */
void shared_minute_presence(shared_minute *m, int seat, bool here, double now_s);

/** The seat of that secret; 0: none. Takes as long whatever it is. */
int shared_minute_seat_of(const shared_minute *m, const char *secret);

/**
 * A seat's answer, a count or SHARED_COULD_NOT; until the reveal a later one takes its place.
 *
 * @return false with err APP_USAGE: too early, too late, nobody counts that much
 */
bool shared_minute_enter(
    shared_minute *m, int seat, int count, const char *rhythm, app_err *err);

/** A seat's taps so far; a list shorter than what is known is a late one and is left. */
bool shared_minute_tap(shared_minute *m, int seat, const double *taps_s, size_t n);

/** Show the answers; false: the minute is not over. */
bool shared_minute_reveal(shared_minute *m);

/** What the room may see: {phase, seconds, seats [{seat, state, here}], start_s, answers
 *  [..], could_not, truth} -- the last three only once revealed: the counts in ascending
 *  order, and how many said that they could not count. */
json_t *shared_minute_room(const shared_minute *m);

/** What one seat may see: {phase, seconds, seat, start_s, entered, count, n_taps, answers,
 *  could_not, truth, difference}; again the last four only once revealed, and count and
 *  difference only of who counted. */
json_t *shared_minute_own(const shared_minute *m, int seat);

#endif
