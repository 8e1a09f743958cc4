#include "src/usecase/placement_check.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const placement_advice ADVICE[FM_PLACEMENT_FINDINGS] = {
    [FM_PLACEMENT_READY] = {"Ready: the heart is heard.",
                            "Leave the chest piece where it is and start the count."},
    [FM_PLACEMENT_TOO_QUIET] =
        {"Too quiet: no heart is heard over the background.",
         "Press the chest piece gently and move it a finger's width, then try again. "
         "If "
         "it is the right place, turn the input up in the system's sound settings, and "
         "see that it is not muted."},
    [FM_PLACEMENT_FRICTION] =
        {"There is rubbing, or a voice, over the heart.",
         "Lay the chest piece on bare skin, hold it still with two fingers, keep the "
         "tubing or cable off clothes, and let nobody speak. Then try again."},
    [FM_PLACEMENT_CLIPPING] =
        {"Too loud: the sound is cut off at the top.",
         "Turn the input down in the system's sound settings until the peak stays "
         "under "
         "-6 dBFS, and switch off any 'microphone boost'. Then try again."},
    [FM_PLACEMENT_VOICE_PROCESSING] =
        {"Voice processing seems to be on: the computer treats the sound as speech and "
         "takes the heart away.",
         "Turn off noise suppression, echo cancellation and automatic gain for this "
         "input, in the system's sound settings or in the device's own program. Close "
         "programs for calls. Then try again."},
    [FM_PLACEMENT_WIRELESS_CALL] =
        {"This sounds like a wireless microphone for calls: the low sounds, where the "
         "heart is, are lost.",
         "Use the cable. If there is none, choose another input: no setting brings the "
         "low sounds back."},
    [FM_PLACEMENT_BUILT_IN] = {
        "This sounds like a built-in microphone: it hears the room, and seldom hears a "
        "heart.",
        "Connect the chest piece's own microphone and choose it as the input."}};

placement_advice placement_advise(fm_placement_finding finding)
{
    return ADVICE[finding];
}

static bool holds(const char *text, const char *word)
{
    const size_t n = strlen(word);
    for (; *text != '\0'; text++) {
        size_t i = 0;
        while (i < n && tolower((unsigned char)text[i]) == word[i]) {
            i++;
        }
        if (i == n) {
            return true;
        }
    }
    return false;
}

bool placement_name_has(const char *name, const char *const *words)
{
    for (; *words != NULL; words++) {
        if (holds(name, *words)) {
            return true;
        }
    }
    return false;
}

fm_placement_hints placement_hints(const char *name)
{
    /* Words that systems put into such names; from memory. */
    static const char *const wireless[] = {
        "bluetooth",    "bluez",        "hands-free", "handsfree",
        "headset_head", "headset-head", "wireless",   NULL};
    static const char *const built_in[] = {"built-in",  "builtin",          "internal",
                                           "webcam",    "camera",           "dmic",
                                           "mic array", "microphone array", NULL};
    return (fm_placement_hints){.named_wireless = placement_name_has(name, wireless),
                                .named_built_in = placement_name_has(name, built_in)};
}

void placement_meter_line(const fm_placement_frame *last, char *out, size_t bytes)
{
    const double lowest_dbfs = -90.0;
    const double share =
        1.0 - fmin(fmax(last->level_dbfs, lowest_dbfs), 0.0) / lowest_dbfs;
    const int cells = (int)lround(share * PLACING_BAR_CELLS);
    char bar[PLACING_BAR_CELLS + 1];
    for (int i = 0; i < PLACING_BAR_CELLS; i++) {
        bar[i] = i < cells ? '#' : ' ';
    }
    bar[PLACING_BAR_CELLS] = '\0';
    (void)snprintf(out, bytes, "%4.0f dBFS [%s] peak %4.0f",
                   fmax(last->level_dbfs, lowest_dbfs), bar,
                   fmax(last->peak_dbfs, lowest_dbfs));
}

const char *placement_hint(const fm_placement_measures *m)
{
    const fm_placement_spread *const low = &m->density_db[FM_PLACEMENT_LOW];
    const fm_placement_spread *const rub = &m->density_db[FM_PLACEMENT_RUB];
    /* The limits of dsp/heart/placement_decide.c, rounded: a hint, not the finding. */
    if (m->clipped > 0.0) {
        return "too loud: turn it down";
    }
    if (low->p90 < -95.0 && (isnan(rub->p90) || rub->p90 < -95.0)) {
        return "very quiet";
    }
    if (low->p90 - rub->p98 < 18.0 && rub->p98 > -95.0) {
        return "rubbing, voices, room";
    }
    return low->p90 - low->p10 > 9.0 ? "comes and goes: good" : "even sound";
}
