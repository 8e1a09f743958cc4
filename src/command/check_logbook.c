#include "src/command/check_logbook.h"
#include "src/base/text.h"
#include "src/command/say.h"

#include "src/port/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What the learner alone can say of the count. */
static const char *const ALSO[] = {"rhythm",        "wrist",        "strength",
                                   "breath_rhythm", "breath_depth", "breath_effort",
                                   "posture",       "context"};

static bool may_be_said(const char *name)
{
    for (size_t i = 0; i < sizeof ALSO / sizeof ALSO[0]; i++) {
        if (strcmp(ALSO[i], name) == 0) {
            return true;
        }
    }
    return false;
}

/* "rhythm=regular;posture=sitting" into e. */
static bool read_also(const char *text, entry *e, app_err *err)
{
    char part[ENTRY_WORD_BYTES + 32];
    for (const char *at = text; *at != '\0';) {
        const size_t n = strcspn(at, ";");
        if (n >= sizeof part) {
            return app_err_set(err, APP_USAGE, "--also %s: too long", text);
        }
        memcpy(part, at, n);
        part[n] = '\0';
        char *const equals = strchr(part, '=');
        if (equals != NULL) {
            *equals = '\0';
        }
        if (equals == NULL || !may_be_said(part) ||
            !entry_set(e, entry_field_named(part), equals + 1)) {
            return app_err_set(err, APP_USAGE,
                               "--also: '%.*s' is not understood; as in "
                               "--also 'rhythm=regular;posture=sitting'",
                               (int)n, at);
        }
        at += n + (at[n] == ';');
    }
    return true;
}

bool check_logbook_check(const check_logbook_plan *plan, app_err *err)
{
    entry trial = entry_none();
    if (plan->none && (plan->learner != NULL || plan->logbook != NULL)) {
        return app_err_set(err, APP_USAGE, "--no-logbook and --%s cannot both be given",
                           plan->learner != NULL ? "learner" : "logbook");
    }
    if (plan->learner != NULL &&
        !entry_set(&trial, entry_field_named("learner"), plan->learner)) {
        return app_err_set(err, APP_USAGE,
                           "--learner: give initials or a nickname of at most %d bytes",
                           ENTRY_LEARNER_BYTES - 1);
    }
    return plan->also == NULL || read_also(plan->also, &trial, err);
}

static void take_words(own_words *to, const own_words *said)
{
    const char *const words[] = {said->rhythm, said->depth, said->effort};
    char *const into[] = {to->rhythm, to->depth, to->effort};
    for (size_t i = 0; i < sizeof into / sizeof into[0]; i++) {
        if (into[i][0] == '\0') {
            (void)snprintf(into[i], OWN_WORD_BYTES, "%s", words[i]);
        }
    }
}

void check_logbook_words(const check_logbook_plan *plan, check_request *request)
{
    app_err ignored = APP_ERR_NONE;
    entry said = entry_none();
    if (plan->also != NULL && read_also(plan->also, &said, &ignored)) {
        const own_words pulse = own_words_of(&said, false);
        const own_words breaths = own_words_of(&said, true);
        take_words(&request->pulse.words, &pulse);
        take_words(&request->breaths.words, &breaths);
    }
}

/* The logbook that was begun for this person, and whose it is. */
static void begin_by_settings(logbook_keep *k, const check_logbook_plan *plan)
{
    app_err ignored = APP_ERR_NONE;
    settings *const s = settings_load(&ignored);
    const char *const learner = plan->learner != NULL ? plan->learner
                                : s != NULL ? settings_text(s, SETTINGS_LEARNER)
                                            : NULL;
    char *const own = logbook_default_path(&ignored);
    const char *const path = plan->logbook != NULL ? plan->logbook : own;
    if (learner != NULL && learner[0] != '\0' && path != NULL) {
        logbook_keep_begin(k, path, plan->learner != NULL, learner);
    } else if (plan->logbook != NULL || plan->learner != NULL) {
        k->wanted = true;
        (void)snprintf(k->problem, sizeof k->problem, "not stored in the logbook: %s",
                       path != NULL ? "whose count is it? give --learner"
                                    : "there is no home folder to keep one in; name a "
                                      "file with --logbook");
    } else if (s != NULL && settings_path(s) == NULL) {
        (void)snprintf(k->problem, sizeof k->problem,
                       "there is no home folder (HOME is not set), so it is not known "
                       "whether a logbook was begun, and nothing was stored in one; "
                       "--no-logbook leaves this out");
    }
    free(own);
    settings_free(s);
}

void check_logbook_begin(logbook_keep *k,
                         const check_logbook_plan *plan,
                         const check_request *request,
                         bool sealed_elsewhere)
{
    app_err ignored = APP_ERR_NONE;
    logbook_keep_begin(k, NULL, false, "");
    if (plan->none) {
        return;
    }
    begin_by_settings(k, plan);
    k->sealed_elsewhere = sealed_elsewhere;
    if (k->book == NULL) {
        return;
    }
    if (plan->also != NULL) {
        (void)read_also(plan->also, &k->row, &ignored);
    }
    k->row.age_months =
        request->analyse.age_known ? request->analyse.age_months : k->row.age_months;
}

/* What the program's person can do about it is an option of this front end. */
checked_count *check_logbook_count(logbook_keep *k,
                                   const check_request *request,
                                   double deficit_per_min,
                                   app_err *err)
{
    checked_count *const c = logbook_keep_check(k, request, deficit_per_min, err);
    if (k->refused) {
        text_add(err->text, sizeof err->text,
                 "; mend that, or see it without a row by --no-logbook");
    }
    return c;
}

void check_logbook_end(logbook_keep *k)
{
    const long long number = (long long)k->row.number;
    if (number > 0) {
        (void)fprintf(stderr, "In the logbook as row %lld.\n", number);
    }
    if (k->problem[0] != '\0') {
        say_named(stderr, "fullminute check: warning: ", k->problem, "\n");
    }
    logbook_keep_end(k);
}
