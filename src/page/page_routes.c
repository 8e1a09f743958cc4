/* What may be asked for, and of whom. */
#include "src/page/page_private.h"

#include <string.h>

#define GET(path, run, on)                                                             \
    {                                                                                  \
        "GET", path, run, on, 0, NULL                                                  \
    }
#define POST(path, run, on)                                                            \
    {                                                                                  \
        "POST", path, run, on, PAGE_BODY_BYTES, NULL                                   \
    }
#define CHANGE(path, change)                                                           \
    {                                                                                  \
        "POST", path, page_live_change, PAGE_SITTING, PAGE_BODY_BYTES, change          \
    }

const page_route PAGE_ROUTES[] = {
    GET("/open", page_home, PAGE_AT_ONCE),
    GET("/", page_index, PAGE_AT_ONCE),
    GET("/api/clock", page_clock, PAGE_AT_ONCE),
    GET("/api/about", page_about, PAGE_AT_ONCE),
    GET("/api/live/inputs", page_live_inputs, PAGE_SITTING),
    GET("/api/live/events", page_live_events, PAGE_AT_ONCE),
    GET("/api/live/reveal", page_live_reveal, PAGE_SITTING),
    POST("/api/live/open", page_live_open, PAGE_SITTING),
    CHANGE("/api/live/start", live_sitting_start),
    CHANGE("/api/live/again", live_sitting_again),
    CHANGE("/api/live/keep", live_sitting_keep),
    CHANGE("/api/live/keep_moved", live_sitting_keep_moved),
    CHANGE("/api/live/keep_still", live_sitting_keep_still),
    POST("/api/live/stop", page_live_stop, PAGE_SITTING),
    POST("/api/live/tap", page_live_tap, PAGE_SITTING),
    POST("/api/live/enter", page_live_enter, PAGE_SITTING),
    GET("/api/practice", page_practice_list, PAGE_AT_ONCE),
    POST("/api/practice/begin", page_practice_begin, PAGE_LONG),
    GET("/api/practice/sound", page_practice_sound, PAGE_LONG),
    POST("/api/practice/enter", page_practice_enter, PAGE_LONG),
    GET("/api/recordings", page_listen_list, PAGE_AT_ONCE),
    GET("/api/recordings/#/sound", page_listen_sound, PAGE_LONG),
    GET("/api/recordings/#/marks", page_listen_marks, PAGE_LONG),
    {"POST", "/api/recordings", page_listen_drop, PAGE_LONG, PAGE_UPLOAD_BYTES, NULL},
    POST("/api/compose", page_listen_compose, PAGE_LONG),
    GET("/api/logbook", page_logbook_list, PAGE_LONG),
    GET("/report/row/#", page_logbook_report, PAGE_LONG),
    GET("/report/learner", page_logbook_report, PAGE_LONG),
    POST("/api/shared/open", page_shared_open, PAGE_AT_ONCE),
    GET("/api/shared/events", page_shared_events, PAGE_AT_ONCE),
    POST("/api/shared/start", page_shared_start, PAGE_AT_ONCE),
    POST("/api/shared/reveal", page_shared_reveal, PAGE_AT_ONCE),
    POST("/api/shared/again", page_shared_again, PAGE_AT_ONCE),
    POST("/api/shared/end", page_shared_end, PAGE_AT_ONCE),
    {NULL, NULL, NULL, PAGE_AT_ONCE, 0, NULL},
};

enum {
    SEAT_BODY_BYTES = 16384
};

const page_route PAGE_SEAT_ROUTES[] = {
    {"GET", "/", page_seat_page, PAGE_AT_ONCE, 0, NULL},
    {"GET", "/api/clock", page_clock, PAGE_AT_ONCE, 0, NULL},
    {"GET", "/api/events", page_seat_events, PAGE_AT_ONCE, 0, NULL},
    {"POST", "/api/seat", page_seat_take, PAGE_AT_ONCE, SEAT_BODY_BYTES, NULL},
    {"POST", "/api/enter", page_seat_enter, PAGE_AT_ONCE, SEAT_BODY_BYTES, NULL},
    {"POST", "/api/taps", page_seat_taps, PAGE_AT_ONCE, SEAT_BODY_BYTES, NULL},
    {NULL, NULL, NULL, PAGE_AT_ONCE, 0, NULL},
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
