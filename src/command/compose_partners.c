#include "src/command/compose_options.h"

#include <stdio.h>
#include <string.h>

/* One option that needs another: given at all, or with one of these words. */
struct partner {
    const char *option;
    const char *other;
    const char *words; /* parted by commas; "": any value will do */
};

#define EARLY "premature,bigeminy,trigeminy,quadrigeminy"

static const struct partner PARTNERS[] = {
    {"events", "rhythm", "premature,pauses"},
    {"coupling", "rhythm", EARLY},
    {"compensation", "rhythm", EARLY},
    {"in-a-row", "rhythm", "premature"},
    {"early-s1", "rhythm", EARLY},
    {"flutter", "rhythm", "flutter"},
    {"conduct-least", "rhythm", "flutter"},
    {"conduct-most", "rhythm", "flutter"},
    {"age", "rhythm", "sinus-arrhythmia"},
    {"group", "rhythm", "dropped"},
    {"creep", "rhythm", "dropped"},
    {"spread", "rhythm", "fibrillation"},
    {"pause", "rhythm", "pauses"},
    {"drift", "rhythm", "drift"},
    {"change-at", "rhythm", "rate-change,fast-run"},
    {"change-bpm", "rhythm", "rate-change,fast-run"},
    {"run-beats", "rhythm", "fast-run"},
    {"breath-spread", "breathing", "irregular"},
    {"breath-pause", "breathing", "pause,waxing"},
    {"breath-pause-at", "breathing", "pause"},
    {"swell", "breathing", "waxing"},
    {"murmur-level", "murmur",
     "early-systolic,holosystolic,ejection,early-diastolic,mid-diastolic"},
    {"snr", "noise", ""},
    {"hum", "noise", "hum"},
    {"tone", "noise", "tone"},
    {"lost-at", "lost-seconds", ""},
    {"dropout-seconds", "dropouts", ""},
    {"contact-lost-at", "contact-lost-seconds", ""},
    {"contact-fade", "contact-lost-seconds", ""},
    {"contact-depth", "contact-lost-seconds", ""},
};

/* The next word of a list; NULL: no more. */
static const char *next_word(const char **rest, int *n)
{
    const char *const word = *rest;
    *n = word != NULL ? (int)strcspn(word, ",") : 0;
    *rest = word != NULL && word[*n] == ',' ? word + *n + 1 : NULL;
    return word;
}

static bool is_there(const options *o, const struct partner *p)
{
    const char *given = options_typed(o, p->other);
    bool there = given != NULL && p->words[0] == '\0';
    int n = 0;
    int length = 0;
    for (const char *word; !there && (word = next_word(&given, &n)) != NULL;) {
        const char *wanted = p->words;
        for (const char *w; (w = next_word(&wanted, &length)) != NULL;) {
            there = there || (length == n && strncmp(w, word, (size_t)n) == 0);
        }
    }
    return there;
}

static bool missing(const struct partner *p, app_err *err)
{
    char words[128] = "";
    const char *rest = p->words;
    int n = 0;
    for (const char *w; (w = next_word(&rest, &n)) != NULL;) {
        const size_t used = strlen(words);
        const char *const before = used == 0 ? " " : rest != NULL ? ", " : " or ";
        (void)snprintf(words + used, sizeof words - used, "%s%.*s", n > 0 ? before : "",
                       n, w);
    }
    return app_err_set(err, APP_USAGE,
                       "--%s changes nothing without --%s%s; add it, or leave --%s out",
                       p->option, p->other, words, p->option);
}

bool compose_partners_check(const options *o, app_err *err)
{
    for (size_t i = 0; i < sizeof PARTNERS / sizeof PARTNERS[0]; i++) {
        const struct partner *const p = &PARTNERS[i];
        if (options_typed(o, p->option) != NULL && !is_there(o, p)) {
            return missing(p, err);
        }
    }
    return true;
}
