#include "src/usecase/compose_bars.h"

#include "src/base/bytes.h"
#include "src/usecase/compose_make.h"

#include <math.h>
#include <stdio.h>

enum {
    LINE_BYTES = 64
};

static bool check(const compose_bars *b, app_err *err)
{
    if (b->n == 0 || b->n > COMPOSE_BARS_MOST) {
        return app_err_set(err, APP_USAGE, "write 1 to %d intervals",
                           COMPOSE_BARS_MOST);
    }
    for (size_t i = 0; i < b->n; i++) {
        if (!(b->intervals_s[i] >= COMPOSE_BARS_MIN_S &&
              b->intervals_s[i] <= COMPOSE_BARS_MAX_S)) {
            return app_err_set(err, APP_USAGE, "interval %zu: give %.2f to %.0f s",
                               i + 1, COMPOSE_BARS_MIN_S, COMPOSE_BARS_MAX_S);
        }
    }
    return true;
}

static fm_recipe recipe_of(const compose_bars *b)
{
    fm_recipe r = fm_recipe_default();
    r.rhythm = FM_COMPOSE_GIVEN;
    r.intervals_s = b->intervals_s;
    r.n_intervals = b->n;
    r.seconds = b->seconds;
    r.breaths_per_min = b->breaths_per_min;
    if (isfinite(b->noise_snr_db)) {
        r.noise[FM_COMPOSE_ROOM] = true;
        r.snr_db = b->noise_snr_db;
    }
    return r;
}

bool compose_bars_write(const compose_bars *b, const char *path, app_err *err)
{
    if (!check(b, err)) {
        return false;
    }
    const fm_recipe r = recipe_of(b);
    const char *const fault = fm_recipe_fault(&r);
    if (fault != NULL) {
        return app_err_set(err, APP_USAGE, "cannot compose it: %s", fault);
    }
    compose_make m;
    const bool ok =
        compose_make_open(&m, path, false, err) && compose_make_write(&m, &r, err);
    compose_make_close(&m);
    return ok;
}

/* Rows of equal intervals become one `repeat`. */
char *compose_bars_text(const compose_bars *b)
{
    bytes text = BYTES_NONE;
    char line[LINE_BYTES];
    bytes_add_text(&text, "# fullminute.rhythm/1\n");
    for (size_t i = 0; i < b->n;) {
        const long ms = lround(1000.0 * b->intervals_s[i]);
        size_t n = 1;
        while (i + n < b->n && lround(1000.0 * b->intervals_s[i + n]) == ms) {
            n++;
        }
        const double s = (double)ms / 1000.0;
        if (n > 2) {
            (void)snprintf(line, sizeof line, "repeat %zu\n  interval %.3f\nend\n", n,
                           s);
        } else {
            (void)snprintf(line, sizeof line, "interval %.3f\n", s);
            n = 1;
        }
        bytes_add_text(&text, line);
        i += n;
    }
    if (text.failed) {
        bytes_free(&text);
        return NULL;
    }
    return text.data;
}
