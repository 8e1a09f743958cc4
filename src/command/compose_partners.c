#include "src/command/compose_partners.h"

#include <string.h>

/* One option that needs another: given at all, or with one of these words. */
struct partner {
    const char *option;
    const char *other;
    const char *const words[6]; /* NULL at the end; none: any value will do */
};

static const struct partner PARTNERS[] = {
    {"events", "rhythm", {"premature", "pauses", NULL}},
    {"coupling",
     "rhythm",
     {"premature", "bigeminy", "trigeminy", "quadrigeminy", NULL}},
    {"compensation",
     "rhythm",
     {"premature", "bigeminy", "trigeminy", "quadrigeminy", NULL}},
    {"in-a-row", "rhythm", {"premature", NULL}},
    {"early-s1",
     "rhythm",
     {"premature", "bigeminy", "trigeminy", "quadrigeminy", NULL}},
    {"flutter", "rhythm", {"flutter", NULL}},
    {"conduct-least", "rhythm", {"flutter", NULL}},
    {"conduct-most", "rhythm", {"flutter", NULL}},
    {"age", "rhythm", {"sinus-arrhythmia", NULL}},
    {"group", "rhythm", {"dropped", NULL}},
    {"creep", "rhythm", {"dropped", NULL}},
    {"spread", "rhythm", {"fibrillation", NULL}},
    {"pause", "rhythm", {"pauses", NULL}},
    {"drift", "rhythm", {"drift", NULL}},
    {"change-at", "rhythm", {"rate-change", "fast-run", NULL}},
    {"change-bpm", "rhythm", {"rate-change", "fast-run", NULL}},
    {"run-beats", "rhythm", {"fast-run", NULL}},
    {"breath-spread", "breathing", {"irregular", NULL}},
    {"breath-pause", "breathing", {"pause", "waxing", NULL}},
    {"breath-pause-at", "breathing", {"pause", NULL}},
    {"swell", "breathing", {"waxing", NULL}},
    {"murmur-level",
     "murmur",
     {"early-systolic", "holosystolic", "ejection", "early-diastolic", "mid-diastolic",
      NULL}},
    {"snr", "noise", {NULL}},
    {"hum", "noise", {"hum", NULL}},
    {"tone", "noise", {"tone", NULL}},
    {"lost-at", "lost-seconds", {NULL}},
    {"dropout-seconds", "dropouts", {NULL}},
    {"contact-lost-at", "contact-lost-seconds", {NULL}},
    {"contact-fade", "contact-lost-seconds", {NULL}},
    {"contact-depth", "contact-lost-seconds", {NULL}},
};

/* Is word one of the words of list, which commas part? */
static bool holds(const char *list, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = list; at != NULL; at = strchr(at, ',')) {
        at += *at == ',';
        if (strncmp(at, word, n) == 0 && (at[n] == '\0' || at[n] == ',')) {
            return true;
        }
    }
    return false;
}

static bool is_there(const options *o, const struct partner *p)
{
    const char *const text = options_typed(o, p->other);
    bool there = text != NULL && p->words[0] == NULL;
    for (size_t i = 0; text != NULL && p->words[i] != NULL; i++) {
        there = there || holds(text, p->words[i]);
    }
    return there;
}

static bool missing(const struct partner *p, app_err *err)
{
    char words[128] = "";
    for (size_t i = 0; p->words[i] != NULL; i++) {
        if (i > 0) {
            (void)strcat(words, p->words[i + 1] != NULL ? ", " : " or ");
        } else {
            (void)strcat(words, " ");
        }
        (void)strcat(words, p->words[i]);
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
