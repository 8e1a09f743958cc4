#include "src/sitting/listening.h"

#include "dsp/filter.h"
#include "dsp/random.h"
#include "src/sitting/placing_check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double NOISE_DBFS = -40.0; /* quiet in headphones */
static const double NOISE_LOW_HZ = 700.0;
static const double NOISE_HIGH_HZ = 3000.0;
static const double HEARD_DB = 4.0; /* ten frames of noise differ by 1 to 2 */
static const double RATE_MIN_HZ = 8000.0;

bool listening_way_of(const char *word, listening_way *out)
{
    if (strcmp(word, "headphones") == 0) {
        *out = LISTENING_HEADPHONES;
    } else if (strcmp(word, "stethoscope") == 0) {
        *out = LISTENING_STETHOSCOPE;
    } else {
        return false;
    }
    return true;
}

const char *listening_question(void)
{
    return "How do you listen: through this computer's headphones, or with your own "
           "stethoscope beside the chest piece?";
}

const char *listening_stethoscope_text(void)
{
    return "The two heads must not touch each other. If you tap along, tap on a key "
           "away "
           "from the chest piece: a knock on its table is heard as friction.";
}

bool listening_is_loudspeaker(const char *name)
{
    static const char *const words[] = {"speaker", "hdmi", "displayport", NULL};
    return placing_name_has(name, words);
}

bool listening_is_wireless(const char *name)
{
    return placing_hints(name).named_wireless;
}

bool listening_output_check(const device *output, app_err *err)
{
    return !listening_is_loudspeaker(output->name) ||
           app_err_set(
               err, APP_USAGE,
               "%s is a loudspeaker: the chest piece would hear it, and it would "
               "howl; plug in headphones, or listen with your own stethoscope "
               "(--listen stethoscope)",
               output->name);
}

double listening_latency_text(double latency_s,
                              const char *name,
                              char out[LISTENING_TEXT_BYTES])
{
    const bool wireless = listening_is_wireless(name);
    const bool known = isfinite(latency_s) && latency_s >= 0.0;
    const char *const late = "Your taps will lag; your count will not.";
    if (wireless && known) {
        (void)snprintf(
            out, LISTENING_TEXT_BYTES,
            "These headphones are wireless: you hear the heart at least %.0f "
            "ms late, and nobody knows how much more. %s",
            1000.0 * latency_s, late);
    } else if (wireless || !known) {
        (void)snprintf(out, LISTENING_TEXT_BYTES,
                       "You hear the heart late, and how late is not known. %s", late);
    } else if (latency_s > LISTENING_LATE_S) {
        (void)snprintf(
            out, LISTENING_TEXT_BYTES,
            "You hear the heart %.0f ms late, which is much. It is taken off "
            "your taps, but they will lag all the same; your count will not.",
            1000.0 * latency_s);
    } else {
        (void)snprintf(out, LISTENING_TEXT_BYTES,
                       "You hear the heart %.0f ms late. That is taken off your taps.",
                       1000.0 * latency_s);
    }
    return known ? latency_s : 0.0;
}

int64_t listening_test_samples(double rate_hz)
{
    return (int64_t)ceil((LISTENING_TEST_OFF_S + LISTENING_TEST_ON_S) * rate_hz);
}

bool listening_test_make(double rate_hz, float *out)
{
    fm_filter band;
    if (!(rate_hz >= RATE_MIN_HZ) ||
        fm_filter_init_bandpass(&band, 3, rate_hz, NOISE_LOW_HZ, NOISE_HIGH_HZ) !=
            FM_OK) {
        return false;
    }
    const int64_t n = listening_test_samples(rate_hz);
    const int64_t first = (int64_t)ceil(LISTENING_TEST_OFF_S * rate_hz);
    fm_random random = fm_random_init(1, 0);
    for (int64_t i = 0; i < n; i++) {
        out[i] = i < first ? 0.0F : (float)fm_random_normal(&random);
    }
    fm_filter_process(&band, out, out, (size_t)n);
    /* White noise of SD 1 leaves the band with this RMS. */
    const double rms = sqrt((NOISE_HIGH_HZ - NOISE_LOW_HZ) / (0.5 * rate_hz));
    const float gain = (float)(pow(10.0, NOISE_DBFS / 20.0) / rms);
    for (int64_t i = 0; i < n; i++) {
        out[i] *= gain;
    }
    return true;
}

bool listening_feeds_back(const fm_placing_measures *off, const fm_placing_measures *on)
{
    return on->density_db[FM_PLACING_RUB].p50 >
           off->density_db[FM_PLACING_RUB].p50 + HEARD_DB;
}

const char *listening_feedback_text(void)
{
    return "The chest piece hears what this computer plays: it would howl. Use closed "
           "headphones and turn them down, or listen with your own stethoscope.";
}

const char *listening_first_words(const settings *s)
{
    return settings_is(s, SETTINGS_SOUND_STAYS_TOLD)
               ? NULL
               : "Before the first recording: ask your friend. The sound stays on this "
                 "computer; nothing is sent anywhere. If you find something "
                 "unexpected, "
                 "it is theirs: tell them privately; the instructor only if they "
                 "agree, "
                 "unless it is urgent.";
}

bool listening_first_words_said(settings *s, app_err *err)
{
    return (settings_set(s, SETTINGS_SOUND_STAYS_TOLD, true) ||
            app_err_set(err, APP_FAILED, "out of memory")) &&
           settings_save(s, err);
}
