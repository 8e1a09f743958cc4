#include "src/command/age.h"

#include "dsp/compare/reference_range.h"
#include "src/base/text.h"

#include <string.h>

bool age_read(const char *text, void *member, app_err *err)
{
    double *const months = member;
    char digits[16];
    const size_t n = strlen(text);
    const bool in_months = n > 0 && text[n - 1] == 'm';
    const bool in_years = n > 0 && text[n - 1] == 'y';
    const size_t kept = in_months || in_years ? n - 1 : n;
    double value = 0.0;
    if (kept < sizeof digits) {
        memcpy(digits, text, kept);
        digits[kept] = '\0';
        if (text_to_double(digits, &value)) {
            if (!in_months && value <= 0.0 && value >= 0.0) {
                return app_err_set(err, APP_USAGE,
                                   "--age %s: under two years give months ('8m'); '0m' "
                                   "is the day of birth",
                                   text);
            }
            *months = in_months ? value : 12.0 * value;
            if (*months >= 0.0 && *months <= FM_AGE_MAX_MONTHS) {
                return true;
            }
        }
    }
    return app_err_set(
        err, APP_USAGE,
        "--age %s: give years from 0 to %.0f ('34', '2.5'), or months as "
        "'6m'",
        text, FM_AGE_MAX_MONTHS / 12.0);
}
