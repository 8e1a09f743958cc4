/*
 * The option tables of all commands: every option fills a member of its own.
 *   Source:    src/base/options.h.
 *   Input:     every row of every command.
 *   Tolerance: none.
 */
#include "src/command/command.h"

#include "../support.h"

#include <string.h>

/* Fails with the command's and the option's name. */
static void holds(bool ok, const char *command, const char *option, const char *what)
{
    if (!ok) {
        fail_msg("%s --%s: %s", command, option, what);
    }
}

static void check_row(const char *command, const option_spec *s)
{
    const field *const f = &s->to;
    const bool is_flag = f->kind == FIELD_FLAG && f->words == NULL;
    const size_t n = strlen(s->help);
    holds(f->bytes > 0, command, s->name, "fills no member");
    holds((f->kind == FIELD_OWN) == (s->read != NULL), command, s->name,
          "a reader, and only of its own, reads a text of its own form");
    holds(is_flag == (s->value == NULL), command, s->name,
          "help shows a value, but for a flag");
    holds(f->min <= f->max, command, s->name, "no number lies between its limits");
    holds(n > 0 && s->help[n - 1] != '.', command, s->name, "help ends in a full stop");
}

static void every_option_fills_a_member_of_its_own(void **state)
{
    (void)state;
    size_t n = 0;
    for (const struct command *const *c = command_table; *c != NULL; c++) {
        for (const option_spec *s = (*c)->options; s->name != NULL; s++, n++) {
            check_row((*c)->name, s);
            for (const option_spec *t = (*c)->options; t < s; t++) {
                holds(s->to.offset >= t->to.offset + t->to.bytes ||
                          t->to.offset >= s->to.offset + s->to.bytes,
                      (*c)->name, s->name, t->name);
                holds(strcmp(s->name, t->name) != 0, (*c)->name, s->name,
                      "stands twice");
            }
        }
    }
    assert_true(n > 150);
}

static bool is_an_option(const char *name, size_t n)
{
    for (const struct command *const *c = command_table; *c != NULL; c++) {
        for (const option_spec *s = (*c)->options; s->name != NULL; s++) {
            if (strlen(s->name) == n && strncmp(s->name, name, n) == 0) {
                return true;
            }
        }
    }
    return false;
}

static void every_hint_has_words_that_name_options(void **state)
{
    (void)state;
    for (int k = 0; k < HINT_COUNT; k++) {
        const char *at = TERMINAL_HINTS[k];
        assert_non_null(at);
        assert_null(strstr(hint_say(NULL, (hint_kind)k), "--"));
        while ((at = strstr(at, "--")) != NULL) {
            at += 2;
            holds(is_an_option(at, strspn(at, "abcdefghijklmnopqrstuvwxyz-")), "a hint",
                  at, "no such option");
        }
        for (int i = 0; i < k; i++) {
            assert_string_not_equal(hint_code((hint_kind)i), hint_code((hint_kind)k));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_option_fills_a_member_of_its_own),
        cmocka_unit_test(every_hint_has_words_that_name_options),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
