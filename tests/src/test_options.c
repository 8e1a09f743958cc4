/* The option table: what it takes, what it turns away, and in which words. */
#include "tests/support.h"

#include "src/base/options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct plan {
    bool json, ticks;
    double seconds, offset_s;
    int manual, site;
    int64_t seed;
    const char *picture;
    double share[2];
} plan;

static const field_word WORDS[] = {{"whole", (double)INFINITY}, {NULL, 0}};
static const field_word SITES[] = {{"apical", 1}, {"radial", 2}, {NULL, 0}};

static bool read_share(const char *text, void *member, app_err *err)
{
    double *const share = member;
    char *end = NULL;
    share[0] = strtod(text, &end);
    if (end == text || *end != '/') {
        return app_err_set(err, APP_USAGE, "--share %s: as 1/2", text);
    }
    share[1] = strtod(end + 1, NULL);
    return true;
}

static const option_spec SPECS[] = {
    {"json", NULL, OPTION_FLAG(plan, json), "print JSON"},
    {"seconds", "S", OPTION_OR_WORD(plan, seconds, 1.0, 60.0, WORDS), "length, s"},
    {"manual", "N", OPTION_NUMBER(plan, manual, 0, 400), "your count"},
    {"site", "WHERE", OPTION_CHOICE(plan, site, SITES), "where"},
    {"picture", "FILE", OPTION_TEXT(plan, picture), "a picture"},
    {"offset", "S", OPTION_NUMBER(plan, offset_s, 0, 0), "no limits"},
    {"seed", "N", OPTION_NUMBER(plan, seed, 0, 9007199254740992.0), "large"},
    {"no-ticks", NULL, OPTION_FLAG(plan, ticks), "no ticks"},
    {"share", "I/N", OPTION_OWN(plan, share, read_share), "a part"},
    OPTIONS_END,
};

enum {
    WORDS_MAX = 12
};

/* A command line cut at blanks, kept until the next call. */
static bool parse(const char *line, options *o, app_err *err)
{
    static char text[512];
    static char *argv[WORDS_MAX];
    int argc = 0;
    (void)snprintf(text, sizeof text, "%s", line);
    char *rest = text;
    for (char *word = strtok_r(rest, " ", &rest); word != NULL;
         word = strtok_r(NULL, " ", &rest)) {
        argv[argc++] = word;
    }
    *err = (app_err)APP_ERR_NONE;
    return options_parse(SPECS, argc, argv, o, err);
}

/* The plan of a line that is right, all else as before. */
static plan plan_of(const char *line)
{
    plan p = {.seconds = 5.0, .manual = -1, .ticks = true};
    options o;
    app_err err;
    assert_true(parse(line, &o, &err));
    assert_true(options_fill(&o, &p, &err));
    return p;
}

static void takes_values_in_both_spellings(void **state)
{
    (void)state;
    plan p = plan_of("--seconds 30 --manual=72 --json --seed 7 --share 3/8");
    assert_within(p.seconds, 30.0, 0.0);
    assert_int_equal(p.manual, 72);
    assert_true(p.json && p.ticks && p.seed == 7);
    assert_int_equal(p.site, 0);
    assert_null(p.picture);
    assert_within(p.share[0] / p.share[1], 0.375, 0.0);
    p = plan_of("--no-ticks");
    assert_true(!p.ticks && !p.json);
    assert_within(p.seconds, 5.0, 0.0);
    assert_int_equal(p.manual, -1);
}

static void takes_a_word_in_place_of_a_number(void **state)
{
    (void)state;
    assert_true(isinf(plan_of("--seconds whole").seconds));
}

static void gathers_operands_in_order(void **state)
{
    (void)state;
    static const char *const SITE[] = {"json", "site", NULL};
    static const char *const REST[] = {"json", "seed", NULL};
    options o;
    app_err err;
    assert_true(parse("a.wav --site radial b.wav - -- --json", &o, &err));
    assert_int_equal(o.n_operands, 4);
    assert_string_equal(o.operands[0], "a.wav");
    assert_string_equal(o.operands[1], "b.wav");
    assert_string_equal(o.operands[2], "-");
    assert_string_equal(o.operands[3], "--json");
    assert_null(options_typed(&o, "json"));
    assert_string_equal(options_typed(&o, "site"), "radial");
    assert_string_equal(options_first_of(&o, SITE), "site");
    assert_null(options_first_of(&o, REST));
}

static void a_negative_value_reaches_the_range_check(void **state)
{
    (void)state;
    options o;
    app_err err;
    assert_false(parse("--manual -5", &o, &err));
    assert_string_equal(err.text, "--manual -5: expected a whole number from 0 to 400");
    assert_within(plan_of("--offset -5.5e1").offset_s, -55.0, 0.0);
}

static void a_form_of_its_own_is_turned_away_in_its_owners_words(void **state)
{
    (void)state;
    options o;
    app_err err;
    plan p = {0};
    assert_true(parse("--share half", &o, &err));
    assert_false(options_fill(&o, &p, &err));
    assert_string_equal(err.text, "--share half: as 1/2");
}

/* Each line is wrong in one way; the sentence must name the option and what will do. */
static void turns_wrong_words_away(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        const char *said;
    } cases[] = {
        {"--manual seventy", "--manual seventy: expected a whole number from 0 to 400"},
        {"--manual 4000", "--manual 4000: expected a whole number from 0 to 400"},
        {"--manual 72.5", "--manual 72.5: expected a whole number from 0 to 400"},
        {"--manual 99999999999999999999",
         "--manual 99999999999999999999: expected a whole number from 0 to 400"},
        {"--seconds 61", "--seconds 61: expected a number from 1 to 60, or 'whole'"},
        {"--seconds nan", "--seconds nan: expected a number from 1 to 60, or 'whole'"},
        {"--seconds inf", "--seconds inf: expected a number from 1 to 60, or 'whole'"},
        {"--seconds 0x1f",
         "--seconds 0x1f: expected a number from 1 to 60, or 'whole'"},
        {"--seconds 30s", "--seconds 30s: expected a number from 1 to 60, or 'whole'"},
        {"--seconds Whole",
         "--seconds Whole: expected a number from 1 to 60, or 'whole'"},
        {"--seed -1", "--seed -1: expected a whole number from 0 to 9007199254740992"},
        {"--offset 1e999", "--offset 1e999: expected a number"},
        {"--site wrist", "--site wrist: expected 'apical' or 'radial'"},
        {"--picture", "--picture needs a value: --picture FILE"},
        {"--picture --json", "--picture needs a value: --picture FILE"},
        {"--share=", "--share needs a value, not an empty text"},
        {"--picture=", "--picture needs a value, not an empty text"},
        {"--json=1", "--json takes no value; write it alone"},
        {"--json --json", "--json is given twice; give it once"},
        {"--manual 1 --manual 1", "--manual is given twice; give it once"},
        {"--jsn", "unknown option --jsn; did you mean --json?"},
        {"--secnods 30", "unknown option --secnods; did you mean --seconds?"},
        {"--hlep", "unknown option --hlep; did you mean --help?"},
        {"--frobnicate", "unknown option --frobnicate; --help lists the options"},
        {"-x", "unknown option -x; --help lists the options"},
        {"-j", "unknown option -j; --help lists the options"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        options o;
        app_err err;
        assert_false(parse(cases[i].line, &o, &err));
        assert_string_equal(err.text, cases[i].said);
        assert_int_equal(err.code, APP_USAGE);
    }
}

static void help_wins_over_everything_before_it(void **state)
{
    (void)state;
    options o;
    app_err err;
    assert_true(parse("--frobnicate --help", &o, &err));
    assert_true(o.help);
    assert_true(parse("-h", &o, &err));
    assert_true(o.help);
    assert_true(parse("-- --help", &o, &err));
    assert_false(o.help);
}

static void help_names_every_option_within_80_columns(void **state)
{
    (void)state;
    char *text = NULL;
    size_t n = 0;
    FILE *const to = open_memstream(&text, &n);
    assert_non_null(to);
    options_print_help(SPECS, to);
    assert_int_equal(fclose(to), 0);
    for (const option_spec *s = SPECS; s->name != NULL; s++) {
        char wanted[64];
        (void)snprintf(wanted, sizeof wanted, "  --%s", s->name);
        assert_non_null(strstr(text, wanted));
        assert_non_null(strstr(text, s->help));
    }
    char *rest = text;
    for (char *line = strtok_r(rest, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        assert_true(strlen(line) <= 80);
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(takes_values_in_both_spellings),
        cmocka_unit_test(takes_a_word_in_place_of_a_number),
        cmocka_unit_test(gathers_operands_in_order),
        cmocka_unit_test(a_negative_value_reaches_the_range_check),
        cmocka_unit_test(a_form_of_its_own_is_turned_away_in_its_owners_words),
        cmocka_unit_test(turns_wrong_words_away),
        cmocka_unit_test(help_wins_over_everything_before_it),
        cmocka_unit_test(help_names_every_option_within_80_columns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
