/* The usual case in one call: 16 bit samples at 4000 Hz on standard input, counted. */
#include <fullminute/fullminute.h>

#include <stdio.h>

static int16_t raw[64 * 4000];
static float samples[64 * 4000];
static fm_count count;

int main(void)
{
    const size_t n = fread(raw, sizeof *raw, sizeof raw / sizeof *raw, stdin);
    for (size_t i = 0; i < n; i++) {
        samples[i] = (float)raw[i] / 32768.0F; /* full scale is +/-1 */
    }
    const fm_status status = fm_count_samples(samples, n, 4000.0, &count);
    if (status != FM_OK || !fm_is_known(&count.heart.count)) {
        (void)printf("not counted: %s, %s\n", fm_status_text(status),
                     fm_reason_code(count.heart.count.reason));
        return 1;
    }
    (void)printf("%s: %zu beats\n", fm_version(), count.heart.count.n);
    return 0;
}
