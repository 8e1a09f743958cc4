/* Members of a struct, filled from words and from JSON: what each kind takes, what not. */
#include "tests/support.h"

#include "src/base/field.h"

#include <math.h>
#include <string.h>

typedef enum place {
    PLACE_NONE,
    PLACE_APEX,
    PLACE_WRIST
} place;

typedef struct sample {
    bool quick;
    place where;
    int beats;
    int seconds;
    uint64_t seed;
    double rate_hz;
    double level_db;
    const char *path;
    char name[6];
} sample;

static const field_word PLACES[] = {
    {"apex", PLACE_APEX}, {"wrist", PLACE_WRIST}, {NULL, 0}};
static const field_word SECONDS[] = {{"15", 15}, {"60", 60}, {NULL, 0}};
static const field_word NONE[] = {{"none", -INFINITY}, {NULL, 0}};

enum {
    QUICK,
    WHERE,
    BEATS,
    SECOND,
    SEED,
    RATE,
    LEVEL,
    PATH,
    NAME
};

static const field FIELDS[] = {
    FIELD("quick", sample, quick, false, 0, 0, NULL),
    FIELD("where", sample, where, false, 0, 0, PLACES),
    FIELD("beats", sample, beats, false, 0, 400, NULL),
    FIELD("seconds", sample, seconds, false, 0, 0, SECONDS),
    FIELD("seed", sample, seed, false, 0, 9007199254740992.0, NULL),
    FIELD("rate", sample, rate_hz, true, 1000, 192000, NULL),
    FIELD("level", sample, level_db, false, -40, 0, NONE),
    FIELD("path", sample, path, false, 0, 0, NULL),
    FIELD("name", sample, name, false, 0, 0, NULL),
};

static bool take(sample *s, int which, const char *text)
{
    return field_take_text(&FIELDS[which], s, text);
}

static void text_fills_a_member_of_every_kind(void **state)
{
    (void)state;
    sample s = {0};
    assert_true(take(&s, WHERE, "wrist"));
    assert_int_equal(s.where, PLACE_WRIST);
    assert_true(take(&s, BEATS, "72"));
    assert_int_equal(s.beats, 72);
    assert_true(take(&s, SECOND, "15"));
    assert_int_equal(s.seconds, 15);
    assert_true(take(&s, SEED, "9007199254740992"));
    assert_true(s.seed == UINT64_C(9007199254740992));
    assert_true(take(&s, RATE, "4000"));
    assert_within(s.rate_hz, 4000.0, 0.0);
    assert_true(take(&s, LEVEL, "-12.5"));
    assert_within(s.level_db, -12.5, 0.0);
    assert_true(take(&s, LEVEL, "none"));
    assert_true(isinf(s.level_db) && s.level_db < 0.0);
    assert_true(take(&s, PATH, "a b.wav"));
    assert_string_equal(s.path, "a b.wav");
    assert_true(take(&s, NAME, "12345"));
    assert_string_equal(s.name, "12345");
}

static void what_does_not_fit_changes_nothing(void **state)
{
    (void)state;
    static const struct {
        int which;
        const char *text;
    } WRONG[] = {{QUICK, "yes"},  {WHERE, "neck"}, {WHERE, "1"},     {BEATS, "401"},
                 {BEATS, "-1"},   {BEATS, "7.5"},  {BEATS, ""},      {SECOND, "30"},
                 {SECOND, "1e1"}, {SEED, "-1"},    {RATE, "4000.5"}, {RATE, "nan"},
                 {LEVEL, "0.1"},  {LEVEL, "inf"},  {LEVEL, "None"},  {PATH, ""},
                 {NAME, ""},      {NAME, "123456"}};
    sample before;
    sample s;
    memset(&s, 0, sizeof s);
    memcpy(&before, &s, sizeof s);
    for (size_t i = 0; i < sizeof WRONG / sizeof WRONG[0]; i++) {
        assert_false(take(&s, WRONG[i].which, WRONG[i].text));
        assert_memory_equal(&s, &before, sizeof s);
    }
}

static void json_fills_by_its_own_types(void **state)
{
    (void)state;
    sample s = {.seconds = 60};
    json_t *const o =
        json_pack("{s:b,s:s,s:i,s:f,s:f,s:s,s:i}", "quick", 1, "where", "apex", "beats",
                  72, "level", -3.0, "rate", 4000.5, "seed", "7", "seconds", 30);
    assert_true(field_take_json(&FIELDS[QUICK], &s, json_object_get(o, "quick")));
    assert_true(s.quick);
    assert_true(field_take_json(&FIELDS[WHERE], &s, json_object_get(o, "where")));
    assert_int_equal(s.where, PLACE_APEX);
    assert_true(field_take_json(&FIELDS[BEATS], &s, json_object_get(o, "beats")));
    assert_int_equal(s.beats, 72);
    assert_true(field_take_json(&FIELDS[LEVEL], &s, json_object_get(o, "level")));
    assert_within(s.level_db, -3.0, 0.0);
    assert_true(field_take_json(&FIELDS[SEED], &s, json_object_get(o, "seed")));
    assert_true(s.seed == 7);
    /* not whole; none of its words; no such value; not a flag's */
    assert_false(field_take_json(&FIELDS[RATE], &s, json_object_get(o, "rate")));
    assert_false(field_take_json(&FIELDS[SECOND], &s, json_object_get(o, "seconds")));
    assert_int_equal(s.seconds, 60);
    assert_false(field_take_json(&FIELDS[BEATS], &s, json_object_get(o, "none")));
    assert_false(field_take_json(&FIELDS[QUICK], &s, json_object_get(o, "beats")));
    json_decref(o);
}

static void says_what_it_takes(void **state)
{
    (void)state;
    char said[FIELD_DESCRIBED_BYTES];
    static const char *const WANTED[] = {
        [WHERE] = "'apex' or 'wrist'",
        [BEATS] = "a whole number from 0 to 400",
        [RATE] = "a whole number from 1000 to 192000",
        [LEVEL] = "a number from -40 to 0, or 'none'",
        [PATH] = "",
    };
    for (int i = WHERE; i <= PATH; i++) {
        field_describe(&FIELDS[i], said);
        if (WANTED[i] != NULL) {
            assert_string_equal(said, WANTED[i]);
        }
    }
}

static void words_and_their_values(void **state)
{
    (void)state;
    assert_string_equal(field_word_of(PLACES, PLACE_WRIST), "wrist");
    assert_null(field_word_of(PLACES, PLACE_NONE));
    assert_null(field_word_named(PLACES, "Apex"));
    assert_null(field_word_named(NULL, "apex"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_fills_a_member_of_every_kind),
        cmocka_unit_test(what_does_not_fit_changes_nothing),
        cmocka_unit_test(json_fills_by_its_own_types),
        cmocka_unit_test(says_what_it_takes),
        cmocka_unit_test(words_and_their_values),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
