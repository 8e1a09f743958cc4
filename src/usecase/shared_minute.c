#include "src/usecase/shared_minute.h"

#include "dsp/compare/compare.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double PER_S = 1e6;

static int64_t at_of(double seconds)
{
    return llround(seconds * PER_S);
}

/* What is found of the recording stays here, unsaid, until it is told. */
static void gather(shared_minute *m, int seconds, int truth)
{
    m->taking = (taking){.steps = {{TAKING_PULSE, seconds, .window = true}},
                         .n_steps = 1,
                         .rate_hz = PER_S};
    taking_begin(&m->taking);
    m->seconds = seconds;
    m->truth = truth;
    m->version++;
}

void shared_minute_begin(shared_minute *m, int seconds, int truth)
{
    memset(m, 0, sizeof *m);
    gather(m, seconds, truth);
}

void shared_minute_anew(shared_minute *m, int seconds, int truth)
{
    for (size_t i = 0; i < m->n_seats; i++) {
        shared_seat *const s = &m->seats[i];
        s->entered = false;
        s->count = 0;
        s->rhythm[0] = '\0';
        s->n_taps = 0;
    }
    gather(m, seconds, truth);
}

bool shared_minute_start(shared_minute *m, double start_s)
{
    if (!taking_tell(&m->taking, TAKING_START, at_of(start_s))) {
        return false;
    }
    m->start_s = start_s;
    m->version++;
    return true;
}

bool shared_minute_step(shared_minute *m, double now_s)
{
    const bool changed = taking_tell(&m->taking, TAKING_TIME, at_of(now_s));
    m->version += changed;
    return changed;
}

/* ---- Seats ---- */

static shared_seat *seat_at(shared_minute *m, int seat)
{
    return seat >= 1 && (size_t)seat <= m->n_seats ? &m->seats[seat - 1] : NULL;
}

/* Whatever somebody has made there stays theirs. */
static bool may_be_given(const shared_seat *s, double now_s)
{
    return s->here == 0 && !s->entered && s->n_taps == 0 &&
           now_s - s->since_s >= SHARED_SEAT_KEPT_S;
}

/* The one that was left longest ago; of one address, or of any. */
static shared_seat *find_left(shared_minute *m, const uint32_t *from, double now_s)
{
    shared_seat *left = NULL;
    for (size_t i = 0; i < m->n_seats; i++) {
        shared_seat *const s = &m->seats[i];
        if (may_be_given(s, now_s) && (from == NULL || s->from == *from) &&
            (left == NULL || s->since_s < left->since_s)) {
            left = s;
        }
    }
    return left;
}

static size_t n_from(const shared_minute *m, uint32_t from)
{
    size_t n = 0;
    for (size_t i = 0; i < m->n_seats; i++) {
        n += m->seats[i].from == from;
    }
    return n;
}

int shared_minute_sit(shared_minute *m, const char *secret, uint32_t from, double now_s)
{
    const bool share = n_from(m, from) >= SHARED_SEATS_ADDRESS_MOST;
    shared_seat *s = NULL;
    if (share || m->n_seats == SHARED_SEATS_MOST) {
        s = find_left(m, share ? &from : NULL, now_s);
    } else {
        s = &m->seats[m->n_seats++];
    }
    if (s == NULL) {
        return share ? SHARED_ADDRESS_FULL : SHARED_FULL;
    }
    *s = (shared_seat){.from = from, .since_s = now_s};
    (void)snprintf(s->secret, sizeof s->secret, "%s", secret);
    m->version++;
    return (int)(s - m->seats) + 1;
}

void shared_minute_presence(shared_minute *m, int seat, bool here, double now_s)
{
    shared_seat *const s = seat_at(m, seat);
    if (s == NULL) {
        return;
    }
    s->here += here ? 1 : s->here > 0 ? -1 : 0;
    s->seen = s->seen || here;
    s->since_s = now_s;
    m->version++;
}

int shared_minute_seat_of(const shared_minute *m, const char *secret)
{
    int found = 0;
    if (secret == NULL || strlen(secret) != SHARED_SECRET_BYTES - 1) {
        return 0;
    }
    for (size_t i = 0; i < m->n_seats; i++) {
        unsigned char differs = 0;
        for (size_t k = 0; k < SHARED_SECRET_BYTES - 1; k++) {
            differs |= (unsigned char)(secret[k] ^ m->seats[i].secret[k]);
        }
        found = differs == 0 ? (int)i + 1 : found;
    }
    return found;
}

bool shared_minute_enter(
    shared_minute *m, int seat, int count, const char *rhythm, app_err *err)
{
    shared_seat *const s = seat_at(m, seat);
    const int most = FM_MANUAL_MAX * m->seconds / 60;
    if (s == NULL) {
        return app_err_set(err, APP_USAGE, "there is no such seat");
    }
    if (m->taking.phase == TAKING_SHOWN) {
        return app_err_set(err, APP_USAGE,
                           "the answers are shown: this minute is over");
    }
    if (m->taking.phase != TAKING_ENTRY) {
        return app_err_set(err, APP_USAGE, "the minute is not over yet: count on");
    }
    if (count != SHARED_COULD_NOT && (count < 1 || count > most)) {
        return app_err_set(err, APP_USAGE, "give a whole number from 1 to %d", most);
    }
    s->entered = true;
    s->count = count;
    (void)snprintf(s->rhythm, sizeof s->rhythm, "%s", rhythm);
    m->version++;
    return true;
}

bool shared_minute_tap(shared_minute *m, int seat, const double *taps_s, size_t n)
{
    shared_seat *const s = seat_at(m, seat);
    if (s == NULL ||
        (m->taking.phase != TAKING_RUNNING && m->taking.phase != TAKING_ENTRY)) {
        return false;
    }
    if (n < s->n_taps) {
        return true;
    }
    s->n_taps = 0;
    for (size_t i = 0; i < n && s->n_taps < SHARED_TAPS_MOST; i++) {
        if (taps_s[i] >= 0.0 && taps_s[i] < (double)m->seconds) {
            s->taps_s[s->n_taps++] = taps_s[i];
        }
    }
    return true;
}

bool shared_minute_reveal(shared_minute *m)
{
    /* The seats' answers stand here and go nowhere else, and the beats are known. */
    static const taking_event LAST[] = {TAKING_ENTERED, TAKING_STORED, TAKING_COUNTED};
    bool changed = true;
    for (size_t i = 0; i < sizeof LAST / sizeof LAST[0]; i++) {
        changed = changed && taking_tell(&m->taking, LAST[i], 0);
    }
    m->version += changed;
    return m->taking.phase == TAKING_SHOWN;
}

/* ---- What may be seen ---- */

static int ascending(const void *a, const void *b)
{
    const int p = *(const int *)a;
    const int q = *(const int *)b;
    return (p > q) - (p < q);
}

/* In order of size, so that nobody's place in the row tells their seat. */
static json_t *answers_of(const shared_minute *m)
{
    int counts[SHARED_SEATS_MOST];
    size_t n = 0;
    for (size_t i = 0; i < m->n_seats; i++) {
        if (m->seats[i].entered && m->seats[i].count != SHARED_COULD_NOT) {
            counts[n++] = m->seats[i].count;
        }
    }
    qsort(counts, n, sizeof counts[0], ascending);
    json_t *const list = json_array();
    for (size_t i = 0; i < n; i++) {
        (void)json_array_append_new(list, json_integer(counts[i]));
    }
    return list;
}

static int n_could_not(const shared_minute *m)
{
    int n = 0;
    for (size_t i = 0; i < m->n_seats; i++) {
        n += m->seats[i].entered && m->seats[i].count == SHARED_COULD_NOT;
    }
    return n;
}

static json_t *seats_of(const shared_minute *m)
{
    json_t *const list = json_array();
    for (size_t i = 0; i < m->n_seats; i++) {
        const shared_seat *const s = &m->seats[i];
        if (s->seen || s->entered || s->n_taps > 0) {
            (void)json_array_append_new(
                list, json_pack("{s:i,s:b,s:b}", "seat", (int)i + 1, "entered",
                                s->entered, "here", s->here > 0));
        }
    }
    return list;
}

static json_t *common(const shared_minute *m)
{
    json_t *const out =
        json_pack("{s:s,s:i}", "phase", TAKING_ROOM_WORDS[m->taking.phase], "seconds",
                  m->seconds);
    if (m->taking.phase != TAKING_SETTLING) {
        (void)json_object_set_new(out, "start_s", json_real(m->start_s));
    }
    if (m->taking.phase == TAKING_SHOWN) {
        (void)json_object_set_new(out, "truth", json_integer(m->truth));
        (void)json_object_set_new(out, "answers", answers_of(m));
        (void)json_object_set_new(out, "could_not", json_integer(n_could_not(m)));
    }
    return out;
}

json_t *shared_minute_room(const shared_minute *m)
{
    json_t *const out = common(m);
    (void)json_object_set_new(out, "seats", seats_of(m));
    return out;
}

json_t *shared_minute_own(const shared_minute *m, int seat)
{
    json_t *const out = common(m);
    const shared_seat *const s = &m->seats[seat - 1];
    (void)json_object_set_new(out, "seat", json_integer(seat));
    (void)json_object_set_new(out, "entered", json_boolean(s->entered));
    (void)json_object_set_new(out, "n_taps", json_integer((json_int_t)s->n_taps));
    const bool counted = s->entered && s->count != SHARED_COULD_NOT;
    if (counted) {
        (void)json_object_set_new(out, "count", json_integer(s->count));
        (void)json_object_set_new(out, "rhythm", json_string(s->rhythm));
    }
    if (counted && m->taking.phase == TAKING_SHOWN) {
        (void)json_object_set_new(out, "difference", json_integer(s->count - m->truth));
    }
    return out;
}
