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
static const field_word NONE[] = {{"none", -(double)INFINITY}, {NULL, 0}};

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
    FIELD(sample, quick),
    FIELD_ONE_OF(sample, where, PLACES),
    FIELD_IN(sample, beats, 0, 400),
    FIELD_ONE_OF(sample, seconds, SECONDS),
    FIELD_IN(sample, seed, 0, 9007199254740992.0),
    FIELD_OF(sample, rate_hz, true, 1000, 192000, NULL),
    FIELD_OF(sample, level_db, false, -40, 0, NONE),
    FIELD(sample, path),
    FIELD(sample, name),
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
    static const field_member MEMBERS[] = {
        {"quick", FIELD(sample, quick)},
        {"where", FIELD_ONE_OF(sample, where, PLACES)},
        {"beats", FIELD_IN(sample, beats, 0, 400)},
        {"seconds", FIELD_ONE_OF(sample, seconds, SECONDS)},
        {"name", FIELD(sample, name)},
        FIELD_MEMBERS_END,
    };
    static const char *const NOTHING[] = {
        "{}",
        "[]",
        "{\"quick\":1,\"where\":1,\"beats\":\"72\",\"seconds\":30,\"name\":7}",
        "{\"quick\":\"true\",\"where\":\"neck\",\"beats\":1e308,\"seconds\":\"15\"}",
        "{\"quick\":null,\"where\":[],\"beats\":7.5,\"name\":\"123456\"}",
    };
    sample s = {.seconds = 60};
    sample before = s;
    for (size_t i = 0; i < sizeof NOTHING / sizeof NOTHING[0]; i++) {
        json_t *const o = json_loads(NOTHING[i], 0, NULL);
        assert_non_null(o);
        field_take_json(MEMBERS, o, &s);
        assert_memory_equal(&s, &before, sizeof s);
        json_decref(o);
    }
    json_t *const o =
        json_pack("{s:b,s:s,s:i,s:i,s:s,s:i}", "quick", 1, "where", "wrist", "beats",
                  72, "seconds", 15, "name", "AB", "other", 3);
    field_take_json(MEMBERS, o, &s);
    json_decref(o);
    assert_true(s.quick && s.where == PLACE_WRIST && s.beats == 72 && s.seconds == 15);
    assert_string_equal(s.name, "AB");
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

/* A size_t of four bytes, as WebAssembly has it: its neighbour is not written. */
static void a_long_of_four_bytes_keeps_to_them(void **state)
{
    (void)state;
    int32_t both[2] = {0, 7};
    const field four = {FIELD_LONG, 0, sizeof both[0], false, 0, 0, NULL};
    assert_true(field_take_number(&four, both, 123456.0));
    assert_int_equal(field_long(&four, both), 123456);
    assert_int_equal(both[1], 7);
    assert_false(field_take_number(&four, both, 0x1p31));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_fills_a_member_of_every_kind),
        cmocka_unit_test(what_does_not_fit_changes_nothing),
        cmocka_unit_test(json_fills_by_its_own_types),
        cmocka_unit_test(says_what_it_takes),
        cmocka_unit_test(words_and_their_values),
        cmocka_unit_test(a_long_of_four_bytes_keeps_to_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
