#include "src/port/utc.h"

#include <stddef.h>
#include <time.h>

void utc_now(char *out, int *offset_min)
{
    const time_t now = time(NULL);
    struct tm utc;
    struct tm local;
    (void)gmtime_r(&now, &utc);
    (void)localtime_r(&now, &local);
    (void)strftime(out, UTC_BYTES, "%Y-%m-%dT%H:%M:%SZ", &utc);
    if (offset_min != NULL) {
        const int days = local.tm_year != utc.tm_year ? local.tm_year - utc.tm_year
                                                      : local.tm_yday - utc.tm_yday;
        *offset_min = (days * 24 + local.tm_hour - utc.tm_hour) * 60 + local.tm_min -
                      utc.tm_min; /* the two are at most a day apart */
    }
}

void utc_name_now(char out[UTC_BYTES])
{
    const time_t now = time(NULL);
    struct tm local;
    (void)localtime_r(&now, &local);
    (void)strftime(out, UTC_BYTES, "%Y-%m-%d-%H%M%S", &local);
}
