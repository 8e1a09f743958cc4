/* logbook: what writes. */
#include "src/command/logbook_private.h"

#include "src/base/file.h"
#include "src/base/settings.h"
#include "src/base/text.h"
#include "src/logbook/charted_line.h"
#include "src/sitting/forget_learner.h"
#include "src/sitting/progress_make.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- new ---- */

/* Every check of this learner is stored from now on. */
static bool remember_learner(const options *o, app_err *err)
{
    if (!options_given(o, "learner") || options_given(o, "logbook")) {
        return true;
    }
    settings *const s = settings_load(err);
    const bool ok =
        s != NULL &&
        (settings_set_text(s, SETTINGS_LEARNER, options_text(o, "learner", "")) ||
         app_err_set(err, APP_FAILED, "out of memory; close other programs")) &&
        settings_save(s, err);
    settings_free(s);
    return ok;
}

bool logbook_do_new(logbook *l, const options *o, app_err *err)
{
    if (!remember_learner(o, err)) {
        return false;
    }
    (void)fputs("The logbook is ", stdout);
    text_print_clean(logbook_path(l), stdout);
    (void)putchar('\n');
    if (options_given(o, "learner") && !options_given(o, "logbook")) {
        (void)printf("Every check is now stored for %s; check --no-logbook leaves one "
                     "out.\n",
                     options_text(o, "learner", ""));
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
                           "'%s' is nothing that can be said here; the names stand in "
                           "the first line of 'fullminute logbook export'",
                           name);
    }
    return entry_set(e, f, equals + 1) ||
           app_err_set(err, APP_USAGE, "%s cannot be '%.60s'", name, equals + 1);
}

bool logbook_do_enter(logbook *l, const options *o, app_err *err)
{
    entry e = entry_none();
    entry_put(e.site, sizeof e.site, "apical");
    for (int i = 1; i < o->n_operands; i++) {
        if (!set_field(&e, o->operands[i], ENTRY_ENTERED, err)) {
            return false;
        }
    }
    if (options_given(o, "learner")) {
        entry_put(e.learner, sizeof e.learner, options_text(o, "learner", ""));
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

bool logbook_do_add(logbook *l, const options *o, app_err *err)
{
    entry e;
    long number = 0;
    if (!text_to_long(o->operands[1], &number) || number < 1) {
        return app_err_set(err, APP_USAGE, "'%.40s' is no row's number",
                           o->operands[1]);
    }
    if (!logbook_get(l, number, &e, err)) {
        return false;
    }
    for (int i = 2; i < o->n_operands; i++) {
        if (!set_field(&e, o->operands[i], ENTRY_ADDED, err)) {
            return false;
        }
    }
    if (isfinite(e.temperature) && e.temperature_unit[0] == '\0') {
        return app_err_set(err, APP_USAGE,
                           "a temperature needs its unit: temperature_unit=F or C");
    }
    if (!logbook_add(l, &e, err)) {
        return false;
    }
    char line[CHARTED_LINE_BYTES];
    text_print_clean(charted_line(&e, line), stdout);
    (void)putchar('\n');
    return true;
}

/* ---- goal, sign-off ---- */

bool logbook_do_goal(logbook *l, const options *o, app_err *err)
{
    logbook_goal g = {.irregular = (int)options_whole(o, "irregular", 1)};
    if (!logbook_need_learner(o, err)) {
        return false;
    }
    const char *const learner = options_text(o, "learner", "");
    if (!options_given(o, "in-a-row") && !options_given(o, "within")) {
        return logbook_do_progress(l, o, err);
    }
    g.in_a_row = (int)options_whole(o, "in-a-row", 0);
    g.within_per_min = options_number(o, "within", 0.0);
    if (g.in_a_row == 0 || !(g.within_per_min > 0.0) || g.irregular > g.in_a_row) {
        return app_err_set(err, APP_USAGE,
                           "a goal is --in-a-row N --within N, and --irregular at most "
                           "the N in a row");
    }
    entry_put(g.learner, sizeof g.learner, learner);
    if (!logbook_set_goal(l, &g, err)) {
        return false;
    }
    (void)printf(
        "Goal of %s: %d in a row within %g per minute, %d of them irregular.\n",
        learner, g.in_a_row, g.within_per_min, g.irregular);
    return true;
}

bool logbook_do_sign_off(logbook *l, const options *o, app_err *err)
{
    progress p;
    logbook_signature s = {0};
    entry trial = entry_none();
    if (!logbook_need_learner(o, err)) {
        return false;
    }
    const char *const by = options_text(o, "by", "");
    if (by[0] == '\0' || !entry_set(&trial, entry_field_named("learner"), by)) {
        return app_err_set(err, APP_USAGE,
                           "who signs? give the instructor's initials with --by");
    }
    entry_put(s.learner, sizeof s.learner, options_text(o, "learner", ""));
    entry_put(s.by, sizeof s.by, by);
    const bool known = progress_make(l, s.learner, (double)NAN, &p, err);
    s.goal_met = known && p.goal.met;
    const bool met_or_none = known && (p.goal.met || !p.goal.set);
    progress_free(&p);
    if (!known || !logbook_sign(l, &s, err)) {
        return false;
    }
    (void)printf("Signed off: %s by %s.%s\n", s.learner, s.by,
                 met_or_none ? "" : " The practice goal is not met.");
    return true;
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
    (void)printf("Not removed, as no recording of a live sitting in our folder: %d\n",
                 out->n_left);
    for (const char *at = out->left.data; at < out->left.data + out->left.n;) {
        char line[ENTRY_PATH_BYTES];
        const size_t n = strcspn(at, "\n");
        (void)snprintf(line, sizeof line, "%.*s", (int)n, at);
        (void)fputs("  ", stdout);
        text_print_clean(line, stdout);
        (void)putchar('\n');
        at += n + 1;
    }
}

bool logbook_do_forget(logbook *l, const options *o, app_err *err)
{
    forgotten out = {0};
    if (!logbook_need_learner(o, err)) {
        return false;
    }
    const char *const learner = options_text(o, "learner", "");
    if ((!options_given(o, "yes") && !confirm(learner, err)) ||
        !forget_learner(l, learner, options_given(o, "with-copies"), &out, err) ||
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
