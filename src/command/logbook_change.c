/* logbook: what writes. */
#include "src/command/logbook_private.h"

#include "src/base/bytes.h"
#include "src/command/phrase.h"
#include "src/command/say.h"
#include "src/port/file.h"
#include "src/port/sealed.h"
#include "src/port/settings.h"
#include "src/usecase/forget_learner.h"
#include "src/usecase/progress_make.h"
#include "src/words/charted_line.h"

#include <math.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* ---- new ---- */

/* Every check of this learner is stored from now on. */
static bool remember_learner(const logbook_plan *p, app_err *err)
{
    if (p->rows.learner == NULL || p->path != NULL) {
        return true;
    }
    settings *const s = settings_load(err);
    const bool ok = s != NULL &&
                    (settings_set_text(s, SETTINGS_LEARNER, p->rows.learner) ||
                     app_err_memory(err)) &&
                    settings_save(s, err);
    settings_free(s);
    return ok;
}

bool logbook_do_new(logbook *l, const logbook_plan *p, app_err *err)
{
    if (!remember_learner(p, err)) {
        return false;
    }
    say_named(stdout, "The logbook is ", logbook_path(l), "\n");
    if (p->rows.learner != NULL && p->path == NULL) {
        (void)printf("Every check is now stored for %s; check --no-logbook leaves one "
                     "out.\n",
                     p->rows.learner);
    } else {
        (void)puts("Store a checked count with: fullminute check FILE --manual N "
                   "--learner NAME");
    }
    return true;
}

/* ---- enter, add ---- */

/* "beats=72" into e, of the groups that may be said here. */
static bool set_field(entry *e, const char *text, entry_group group, app_err *err)
{
    char name[ENTRY_WORD_BYTES];
    const char *const equals = strchr(text, '=');
    const size_t n = equals != NULL ? (size_t)(equals - text) : sizeof name;
    if (n >= sizeof name) {
        return app_err_set(err, APP_USAGE, "'%.60s': give NAME=VALUE", text);
    }
    memcpy(name, text, n);
    name[n] = '\0';
    const entry_field *const f = entry_field_named(name);
    if (f == NULL || f->group != group) {
        return app_err_set(err, APP_USAGE,
                           "'%s' cannot be given here; the names are in the first line "
                           "of 'fullminute logbook export'",
                           name);
    }
    return entry_set(e, f, equals + 1) ||
           app_err_set(err, APP_USAGE, "%s cannot be '%.60s'", name, equals + 1);
}

bool logbook_do_enter(logbook *l, const logbook_plan *p, app_err *err)
{
    entry e = entry_none();
    entry_put(e.site, sizeof e.site, "apical");
    for (int i = 0; i < p->n_operands; i++) {
        if (!set_field(&e, p->operands[i], ENTRY_ENTERED, err)) {
            return false;
        }
    }
    if (p->rows.learner != NULL) {
        entry_put(e.learner, sizeof e.learner, p->rows.learner);
    }
    if (e.beats != ENTRY_NO_WHOLE && e.seconds == ENTRY_NO_WHOLE) {
        e.seconds = 60;
    }
    if (e.breaths != ENTRY_NO_WHOLE && e.breath_seconds == ENTRY_NO_WHOLE) {
        e.breath_seconds = 60;
    }
    if (!logbook_enter(l, &e, err)) {
        return false;
    }
    (void)printf("In the logbook as row %lld.\n", (long long)e.number);
    return true;
}

bool logbook_do_add(logbook *l, const logbook_plan *p, app_err *err)
{
    entry e;
    if (!logbook_find_row(l, p, &e, err)) {
        return false;
    }
    for (int i = 1; i < p->n_operands; i++) {
        if (!set_field(&e, p->operands[i], ENTRY_ADDED, err)) {
            return false;
        }
    }
    if (isfinite(e.temperature) && e.temperature_unit[0] == '\0') {
        return app_err_set(err, APP_USAGE,
                           "a temperature needs its unit: temperature_unit=F or C");
    }
    char doubt[ENTRY_DOUBT_BYTES];
    if (entry_doubt(&e, doubt)[0] != '\0') {
        return app_err_set(err, APP_USAGE, "nothing is stored: %s", doubt);
    }
    if (!logbook_add(l, &e, err)) {
        return false;
    }
    char line[CHARTED_LINE_BYTES];
    say_line(charted_line(&e, line), stdout);
    return true;
}

/* ---- goal, sign-off ---- */

/* What is not said of a goal stays as it is. */
static bool read_goal(logbook *l, const logbook_plan *p, logbook_goal *g, app_err *err)
{
    if (!logbook_get_goal(l, p->rows.learner, g, err)) {
        return false;
    }
    g->set_utc[0] = '\0';
    entry_put(g->learner, sizeof g->learner, p->rows.learner);
    g->irregular = p->irregular >= 0 ? p->irregular
                   : p->in_a_row > 0 ? 1
                                     : g->irregular;
    g->in_a_row = p->in_a_row > 0 ? p->in_a_row : g->in_a_row;
    g->breath_in_a_row =
        p->breath_in_a_row > 0 ? p->breath_in_a_row : g->breath_in_a_row;
    if (!isnan(p->within_per_min)) {
        g->within_per_min = p->within_per_min;
    }
    if (!isnan(p->breath_within_per_min)) {
        g->breath_within_per_min = p->breath_within_per_min;
    }
    const bool pulse_whole = (g->in_a_row == 0) == !(g->within_per_min > 0.0);
    const bool breath_whole =
        (g->breath_in_a_row == 0) == !(g->breath_within_per_min > 0.0);
    return (pulse_whole && breath_whole && g->irregular <= g->in_a_row) ||
           app_err_set(err, APP_USAGE,
                       "a goal is --in-a-row N --within N, and --irregular at most "
                       "the N in a row; of respirations --breaths-in-a-row N "
                       "--breaths-within N");
}

bool logbook_do_goal(logbook *l, const logbook_plan *p, app_err *err)
{
    logbook_goal g;
    if (p->in_a_row == 0 && isnan(p->within_per_min) && p->breath_in_a_row == 0 &&
        isnan(p->breath_within_per_min)) {
        return logbook_do_progress(l, p, err);
    }
    if (!read_goal(l, p, &g, err) || !logbook_set_goal(l, &g, err)) {
        return false;
    }
    if (g.in_a_row > 0) {
        (void)printf(
            "Goal of %s: %d in a row within %g per minute, %d of them irregular.\n",
            g.learner, g.in_a_row, g.within_per_min, g.irregular);
    }
    if (g.breath_in_a_row > 0) {
        (void)printf("Goal of %s, respirations: %d full minutes in a row within %g per "
                     "minute.\n",
                     g.learner, g.breath_in_a_row, g.breath_within_per_min);
    }
    return true;
}

static const char PROMPT[] = "The instructor's own pass phrase: ";

static bool check_by(const logbook_plan *p, app_err *err)
{
    entry trial = entry_none();
    return (p->by != NULL && entry_set(&trial, entry_field_named("learner"), p->by)) ||
           app_err_set(err, APP_USAGE,
                       "who signs? give the instructor's initials with --by");
}

bool logbook_do_instructor(logbook *l, const logbook_plan *p, app_err *err)
{
    const char *const by = p->by;
    char phrase[PHRASE_BYTES] = "";
    bytes sealed = BYTES_NONE;
    bytes old = BYTES_NONE;
    bool ok = check_by(p, err) && logbook_get_instructor(l, by, &old, err) &&
              (old.n == 0 ||
               app_err_set(err, APP_USAGE, "%s has a pass phrase here already", by)) &&
              phrase_find(p->phrase_path, PROMPT, true, phrase, err) &&
              sealed_make(phrase, by, strlen(by), &sealed, err) &&
              logbook_set_instructor(l, by, sealed.data, sealed.n, err);
    sodium_memzero(phrase, sizeof phrase);
    bytes_free(&sealed);
    bytes_free(&old);
    if (ok) {
        (void)printf("%s signs with that pass phrase in this logbook.\n", by);
    }
    return ok;
}

/* Nobody's phrase is known: the record, and a line for a pen. Nothing is stored. */
static void print_for_ink(const logbook_signature *s)
{
    (void)printf(
        "Practice record, not a competence check\n"
        "Learner %s. Watched: %s.\n"
        "%s has no pass phrase in this logbook (logbook instructor), so nothing "
        "is signed here.\n"
        "Signed in ink: ______________________  Name: %s  Date: ____________\n",
        s->learner, s->watched, s->by, s->by);
}

static bool is_the_instructor(const logbook_plan *p,
                              const char *by,
                              const bytes *sealed,
                              app_err *err)
{
    char phrase[PHRASE_BYTES] = "";
    bytes name = BYTES_NONE;
    const bool ok = phrase_find(p->phrase_path, PROMPT, false, phrase, err) &&
                    sealed_open("the instructor's pass phrase", phrase, sealed->data,
                                sealed->n, &name, err) &&
                    (strcmp(name.data, by) == 0 ||
                     app_err_set(err, APP_USAGE, "that is not %s's pass phrase", by));
    sodium_memzero(phrase, sizeof phrase);
    bytes_free(&name);
    return ok;
}

bool logbook_do_sign_off(logbook *l, const logbook_plan *p, app_err *err)
{
    progress made;
    logbook_signature s = {0};
    bytes sealed = BYTES_NONE;
    if (!check_by(p, err)) {
        return false;
    }
    if (p->watched == NULL) {
        return app_err_set(err, APP_USAGE,
                           "what did the instructor watch? say it with --watched: 'two "
                           "full minutes at the apex, one irregular'");
    }
    entry_put(s.learner, sizeof s.learner, p->rows.learner);
    entry_put(s.by, sizeof s.by, p->by);
    entry_put(s.watched, sizeof s.watched, p->watched);
    bool ok = progress_make(l, s.learner, (double)NAN, &made, err);
    s.goal_met = ok && made.goal.met;
    const bool met_or_none = ok && (made.goal.met || !made.goal.set);
    progress_free(&made);
    ok = ok && logbook_get_instructor(l, s.by, &sealed, err);
    if (ok && sealed.n == 0) {
        print_for_ink(&s);
        return true;
    }
    ok = ok && is_the_instructor(p, s.by, &sealed, err) && logbook_sign(l, &s, err);
    bytes_free(&sealed);
    if (ok) {
        (void)printf("Practice record, not a competence check\n"
                     "Signed: %s by %s. Watched: %s.%s\n",
                     s.learner, s.by, s.watched,
                     met_or_none ? "" : " The practice goal is not met.");
    }
    return ok;
}

/* ---- forget ---- */

static bool confirm(const char *learner, app_err *err)
{
    char line[ENTRY_LEARNER_BYTES + 8];
    if (isatty(STDIN_FILENO) != 1) {
        return app_err_set(
            err, APP_USAGE,
            "forget cannot be undone; give --yes to do it without asking");
    }
    (void)fprintf(stderr,
                  "Everything of %s goes, with the recordings of live sittings, and "
                  "cannot come back.\nType the name again: ",
                  learner);
    if (fgets(line, sizeof line, stdin) == NULL) {
        line[0] = '\0';
    }
    line[strcspn(line, "\r\n")] = '\0';
    return strcmp(line, learner) == 0 ||
           app_err_set(err, APP_USAGE, "not the same name; nothing was removed");
}

static bool forget_settings(const char *learner, app_err *err)
{
    settings *const s = settings_load(err);
    bool ok = s != NULL;
    const char *const own = ok ? settings_text(s, SETTINGS_LEARNER) : NULL;
    if (own != NULL && strcmp(own, learner) == 0) {
        ok = settings_set_text(s, SETTINGS_LEARNER, "") && settings_save(s, err);
    }
    settings_free(s);
    return ok;
}

static void print_left(const forgotten *out)
{
    if (out->n_left == 0 || out->left.failed) {
        return;
    }
    (void)printf(
        "Not removed, because not recordings of live sittings in our folder: %d\n",
        out->n_left);
    for (const char *at = out->left.data; at < out->left.data + out->left.n;) {
        char line[ENTRY_PATH_BYTES];
        const size_t n = strcspn(at, "\n");
        (void)snprintf(line, sizeof line, "%.*s", (int)n, at);
        say_named(stdout, "  ", line, "\n");
        at += n + 1;
    }
}

bool logbook_do_forget(logbook *l, const logbook_plan *p, app_err *err)
{
    forgotten out = {0};
    const char *const learner = p->rows.learner;
    if ((!p->yes && !confirm(learner, err)) ||
        !forget_learner(l, learner, p->with_copies, &out, err) ||
        !forget_settings(learner, err)) {
        bytes_free(&out.left);
        return false;
    }
    (void)printf("Forgotten: %d rows and %d recordings of %s.\n", out.rows,
                 out.recordings, learner);
    if (out.copies > 0) {
        (void)printf("Removed with them: %d copies of a damaged logbook.\n",
                     out.copies);
    }
    print_left(&out);
    bytes_free(&out.left);
    return out.not_removed == 0 ||
           app_err_set(err, APP_FAILED,
                       "%d recordings could not be removed; look in their folder",
                       out.not_removed);
}
