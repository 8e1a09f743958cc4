#include "speech.h"

#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

typedef struct voice {
    const char *name;
    const char *words_per_min;
} voice;

static const voice VOICES[] = {{"en", "150"},    {"en+f3", "175"}, {"de", "140"},
                               {"fr+m5", "160"}, {"es+f2", "190"}, {"en+m7", "110"}};

/* Long enough for a minute at the fastest of these speeds. */
static const char TEXT[] =
    "Warm the chest piece in your hand before you begin. Tell the person what you are "
    "going to do and why, and ask whether they are comfortable. Look for a clock with "
    "a "
    "second hand, or lay your watch where you can see it without moving. Find the "
    "space "
    "between the fifth and the sixth rib, in a line down from the middle of the collar "
    "bone. Hold the chest piece still. When the second hand reaches the top, begin to "
    "count, and keep on until it reaches the top again. Should you lose the thread, do "
    "not guess: wait for the next minute and start once more. Write the number down "
    "before you say anything, together with the time and whether the rhythm was even. "
    "If it was not, say how it differed, and count again. The window was open, and "
    "from "
    "the street came the noise of a tram, two children and a dog. Nobody in the room "
    "minded. The kettle had just boiled, so there was tea for everyone, and someone "
    "had "
    "brought a cake with plums. They spoke about the weather, about the train that had "
    "been late again, and about the film that was shown in the old cinema by the "
    "river. "
    "In the evening the rain stopped. The lamps along the water were lit one after the "
    "other, and a boat with a red sail came slowly up to the bridge and waited there.";

size_t speech_voices(void)
{
    return sizeof VOICES / sizeof *VOICES;
}

static bool run_espeak(const voice *v, const char *path)
{
    char program[] = "espeak-ng";
    char voice_option[] = "-v";
    char speed_option[] = "-s";
    char write_option[] = "-w";
    char name[16];
    char speed[16];
    char file[64];
    char text[sizeof TEXT];
    (void)snprintf(name, sizeof name, "%s", v->name);
    (void)snprintf(speed, sizeof speed, "%s", v->words_per_min);
    (void)snprintf(file, sizeof file, "%s", path);
    memcpy(text, TEXT, sizeof TEXT);
    char *arguments[] = {program,      voice_option, name, speed_option, speed,
                         write_option, file,         text, NULL};
    pid_t child = 0;
    int status = 0;
    return posix_spawnp(&child, program, NULL, NULL, arguments, environ) == 0 &&
           waitpid(child, &status, 0) == child && WIFEXITED(status) &&
           WEXITSTATUS(status) == 0;
}

bool speech_speak(size_t voice_index, sound *s, char *name, size_t size)
{
    const voice *v = &VOICES[voice_index];
    char path[] = "/tmp/accuracy-speech-XXXXXX";
    const int file = mkstemp(path);
    if (file < 0) {
        return false;
    }
    (void)close(file);
    (void)snprintf(name, size, "speech, voice %s, %s words", v->name, v->words_per_min);
    const bool good = run_espeak(v, path) && sound_read(s, path);
    (void)unlink(path);
    return good;
}
