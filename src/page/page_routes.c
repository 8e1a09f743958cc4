/* What may be asked for, and of whom. */
#include "src/page/page_private.h"

#include <string.h>

const page_route PAGE_ROUTES[] = {
    {"GET", "/open", page_home, 0, NULL},
    {"GET", "/", page_index, 0, NULL},
    {"GET", "/api/clock", page_clock, 0, NULL},
    {"GET", "/api/about", page_about, 0, NULL},
    {"GET", "/api/live/inputs", page_live_inputs, 0, NULL},
    {"GET", "/api/live/events", page_live_events, 0, NULL},
    {"GET", "/api/live/reveal", page_live_reveal, 0, NULL},
    {"POST", "/api/live/open", page_live_open, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/live/start", page_live_change, PAGE_BODY_BYTES, live_sitting_start},
    {"POST", "/api/live/again", page_live_change, PAGE_BODY_BYTES, live_sitting_again},
    {"POST", "/api/live/keep", page_live_change, PAGE_BODY_BYTES, live_sitting_keep},
    {"POST", "/api/live/keep_moved", page_live_change, PAGE_BODY_BYTES,
     live_sitting_keep_moved},
    {"POST", "/api/live/keep_still", page_live_change, PAGE_BODY_BYTES,
     live_sitting_keep_still},
    {"POST", "/api/live/stop", page_live_stop, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/live/tap", page_live_tap, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/live/enter", page_live_enter, PAGE_BODY_BYTES, NULL},
    {"GET", "/api/practice", page_practice_list, 0, NULL},
    {"POST", "/api/practice/begin", page_practice_begin, PAGE_BODY_BYTES, NULL},
    {"GET", "/api/practice/sound", page_practice_sound, 0, NULL},
    {"POST", "/api/practice/enter", page_practice_enter, PAGE_BODY_BYTES, NULL},
    {"GET", "/api/recordings", page_listen_list, 0, NULL},
    {"GET", "/api/recordings/#/sound", page_listen_sound, 0, NULL},
    {"GET", "/api/recordings/#/marks", page_listen_marks, 0, NULL},
    {"POST", "/api/recordings", page_listen_drop, PAGE_UPLOAD_BYTES, NULL},
    {"POST", "/api/compose", page_listen_compose, PAGE_BODY_BYTES, NULL},
    {"GET", "/api/logbook", page_logbook_list, 0, NULL},
    {"GET", "/report/row/#", page_logbook_report, 0, NULL},
    {"GET", "/report/learner", page_logbook_report, 0, NULL},
    {"POST", "/api/shared/open", page_shared_open, PAGE_BODY_BYTES, NULL},
    {"GET", "/api/shared/events", page_shared_events, 0, NULL},
    {"POST", "/api/shared/start", page_shared_start, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/shared/reveal", page_shared_reveal, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/shared/again", page_shared_again, PAGE_BODY_BYTES, NULL},
    {"POST", "/api/shared/end", page_shared_end, PAGE_BODY_BYTES, NULL},
    {NULL, NULL, NULL, 0, NULL},
};

enum {
    SEAT_BODY_BYTES = 16384
};

const page_route PAGE_SEAT_ROUTES[] = {
    {"GET", "/", page_seat_page, 0, NULL},
    {"GET", "/api/clock", page_clock, 0, NULL},
    {"GET", "/api/events", page_seat_events, 0, NULL},
    {"POST", "/api/seat", page_seat_take, SEAT_BODY_BYTES, NULL},
    {"POST", "/api/enter", page_seat_enter, SEAT_BODY_BYTES, NULL},
    {"POST", "/api/taps", page_seat_taps, SEAT_BODY_BYTES, NULL},
    {NULL, NULL, NULL, 0, NULL},
};

enum {
    NUMBER_MOST = 1000000,
    DIGITS_MOST = 7
};

/* "#" in a pattern stands for a number. */
static bool fits(const char *pattern, const char *path, long *number)
{
    *number = -1;
    while (*pattern != '\0' && *pattern != '#') {
        if (*pattern++ != *path++) {
            return false;
        }
    }
    if (*pattern == '\0') {
        return *path == '\0';
    }
    size_t digits = 0;
    long value = 0;
    while (path[digits] >= '0' && path[digits] <= '9' && value < NUMBER_MOST) {
        value = 10 * value + (path[digits] - '0');
        digits++;
    }
    long ignored = 0;
    const bool ok = digits > 0 && digits <= DIGITS_MOST &&
                    fits(pattern + 1, path + digits, &ignored);
    *number = ok ? value : -1;
    return ok;
}

const page_route *page_route_find(const page_route *routes,
                                  const char *method,
                                  const char *path,
                                  long *number,
                                  bool *known)
{
    *known = false;
    *number = -1;
    for (const page_route *a = routes; a->method != NULL; a++) {
        long n = -1;
        if (fits(a->path, path, &n)) {
            *known = true;
            if (strcmp(a->method, method) == 0) {
                *number = n;
                return a;
            }
        }
    }
    return NULL;
}
