#include "src/usecase/listening.h"

#include "src/usecase/placement_check.h"

#include <stddef.h>

/* What systems call loudspeakers; from memory. */
static const char *const LOUDSPEAKERS[] = {"speaker", "hdmi", "displayport", NULL};

bool listening_output_check(const device *output, app_err *err)
{
    if (!placement_name_has(output->name, LOUDSPEAKERS)) {
        return true;
    }
    (void)app_err_set(
        err, APP_USAGE,
        "%s is a loudspeaker: the chest piece would hear it, and it would "
        "howl; plug in headphones, or listen with your own stethoscope",
        output->name);
    return app_err_hint(err, HINT_NONE, HINT_STETHOSCOPE);
}
