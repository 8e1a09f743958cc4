#include "src/usecase/remembered.h"

#include <math.h>
#include <string.h>

const device *remembered_input(const settings *s,
                               const devices *d,
                               bool *known,
                               app_err *err)
{
    const char *const key = settings_text(s, SETTINGS_INPUT);
    *known = key != NULL && key[0] != '\0';
    for (size_t i = 0; *known && i < d->n; i++) {
        if (d->list[i].inputs > 0 && strcmp(d->list[i].key, key) == 0) {
            return &d->list[i];
        }
    }
    if (*known) {
        (void)app_err_set(err, APP_USAGE, "the remembered input %s is not here", key);
        (void)app_err_hint(err, HINT_NONE, HINT_INPUT_GONE);
    }
    return NULL;
}

double remembered_tap_delay_s(const settings *s, const char *key)
{
    const double delay_s = settings_number_of(s, SETTINGS_TAP_DELAY_S, key);
    return isfinite(delay_s) ? delay_s : 0.0;
}
