/*
 * One row of the logbook: its fields, its charted line, CSV and FHIR.
 *   Source: the charted line's wording is common practice, no source; CSV: RFC 4180; FHIR:
 *           HL7 FHIR R4 (4.0.1), Observation and the vital signs profiles
 *           (hl7.org/fhir/R4/observation-vitalsigns.html): status, category, LOINC code,
 *           effective time, quantity by UCUM are required. Pain's code: from memory.
 *   Input:  invented rows.
 */
#include "src/document/entry_csv.h"
#include "src/document/entry_json.h"
#include "src/words/charted_line.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void put(entry *e, const char *name, const char *value)
{
    const entry_field *const f = entry_field_named(name);
    assert_non_null(f);
    assert_true(entry_set(e, f, value));
}

static bool refused(const char *name, const char *value)
{
    entry e = entry_none();
    return !entry_set(&e, entry_field_named(name), value);
}

static entry usual(void)
{
    entry e = entry_none();
    e.number = 12;
    put(&e, "learner", "AB");
    put(&e, "entered_utc", "2026-11-25T13:05:30Z");
    put(&e, "offset_min", "60");
    put(&e, "site", "apical");
    put(&e, "beats", "72");
    put(&e, "seconds", "60");
    put(&e, "rhythm", "regular");
    put(&e, "context", "at rest");
    put(&e, "posture", "sitting");
    put(&e, "breaths", "16");
    put(&e, "breath_seconds", "60");
    put(&e, "breath_rhythm", "regular");
    put(&e, "breath_depth", "normal depth");
    put(&e, "breath_effort", "unlaboured");
    return e;
}

static void fields_take_what_they_can_be(void **state)
{
    (void)state;
    assert_true(refused("beats", "0"));
    assert_true(refused("beats", "401"));
    assert_true(refused("beats", "72.5"));
    assert_true(refused("site", "elbow"));
    assert_true(refused("rhythm", "funny"));
    assert_true(refused("entered_utc", "2026-11-25 13:05:30"));
    assert_true(refused("entered_utc", "2026-13-25T13:05:30Z"));
    assert_true(refused("note", "two\nlines"));
    assert_true(refused("note", "\xff"));
    assert_true(refused("learner", "a name that is much too long"));
    assert_true(refused("confidence", "1.1"));
    assert_true(refused("difference_per_min", "nan"));
    entry e = entry_none();
    put(&e, "beats", "72");
    put(&e, "beats", "");
    assert_int_equal(e.beats, ENTRY_NO_WHOLE);
}

static void the_charted_line_is_the_learners(void **state)
{
    (void)state;
    char line[CHARTED_LINE_BYTES];
    entry e = usual();
    e.reference_per_min = 75.0;
    e.device_per_min = 75.0;
    assert_string_equal(charted_line(&e, line),
                        "14:05 Apical 72/min, regular, counted 60 s, at rest, sitting. "
                        "Resp 16/min, regular, normal depth, unlaboured, counted 60 s. "
                        "[practice]");
    put(&e, "seconds", "15");
    put(&e, "beats", "18");
    assert_non_null(
        strstr(charted_line(&e, line), "Apical 72/min, regular, counted 15 s"));
    put(&e, "offset_min", "-840");
    assert_int_equal(strncmp(charted_line(&e, line), "23:05 ", 6), 0);
}

static void an_uneven_rhythm_is_reported(void **state)
{
    (void)state;
    char line[CHARTED_LINE_BYTES];
    entry e = usual();
    put(&e, "breaths", "");
    put(&e, "rhythm", "irregularly irregular");
    assert_non_null(strstr(charted_line(&e, line),
                           "irregularly irregular, reported to ____ at ____,"));
    put(&e, "reported_to", "charge nurse");
    put(&e, "reported_at", "14:10");
    assert_non_null(
        strstr(charted_line(&e, line), "reported to charge nurse at 14:10,"));
    put(&e, "site", "radial");
    put(&e, "wrist", "left");
    put(&e, "strength", "2+ of 0-4");
    assert_non_null(strstr(charted_line(&e, line),
                           "Radial 72/min, left wrist, 2+ of 0-4, irregularly"));
}

static void two_examiners_give_a_deficit_or_none(void **state)
{
    (void)state;
    char line[CHARTED_LINE_BYTES];
    entry e = usual();
    put(&e, "wrist_beats", "64");
    assert_non_null(strstr(charted_line(&e, line),
                           "Radial, second examiner, same minute 64/min, deficit 8."));
    put(&e, "wrist_beats", "70"); /* 1 or 2 can be an error of counting */
    assert_null(strstr(charted_line(&e, line), "deficit"));
    assert_non_null(strstr(charted_line(&e, line), "same minute 70/min."));
    put(&e, "wrist_beats", "69");
    assert_non_null(strstr(charted_line(&e, line), "deficit 3."));
    put(&e, "wrist_beats", "75");
    assert_null(strstr(charted_line(&e, line), "deficit"));
}

static bool keep(void *context, entry *e, app_err *err)
{
    (void)err;
    *(entry *)context = *e;
    return true;
}

static void csv_comes_back(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    bytes out = BYTES_NONE;
    entry e = usual();
    put(&e, "note", "a comma, a \"quote\" and an umlaut: \xc3\xa4");
    put(&e, "difference_per_min", "-2.5");
    entry_csv_header(&out);
    entry_csv_add(&out, &e);
    assert_int_equal(strncmp(out.data, "practice,number,learner,", 24), 0);
    const size_t n = out.n;
    bytes_add(&out, "", 1);
    entry got = entry_none();
    assert_true(entry_csv_read("x.csv", out.data, n, keep, &got, &err));
    char a[ENTRY_SHOWN_BYTES];
    char b[ENTRY_SHOWN_BYTES];
    for (size_t i = 0; i < entry_n_fields(); i++) {
        assert_string_equal(entry_show(&e, &ENTRY_FIELD[i], a),
                            entry_show(&got, &ENTRY_FIELD[i], b));
    }
    bytes_free(&out);
}

static void bad_csv_says_where(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "learner,beats,heartbeats\nAB,72,1\n",
        "learner,beats\nAB,72\nAB,many\n",
        "learner,beats\nAB,72\nAB\n",
        "learner,beats\n\"AB,72\n",
        "learner,learner\nAB,AB\n",
    };
    static const char *const where[] = {"nothing",  "heartbeats", "record 3",
                                        "record 3", "record 2",   "two columns"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        app_err err = APP_ERR_NONE;
        entry got;
        char text[256] = "";
        memcpy(text, bad[i], strlen(bad[i]));
        assert_false(entry_csv_read("x.csv", text, strlen(bad[i]), keep, &got, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, where[i]));
    }
}

/* ---- FHIR ---- */

static const char *text_at(const json_t *o, const char *name)
{
    const char *const text = json_string_value(json_object_get(o, name));
    assert_non_null(text);
    return text;
}

static const json_t *first(const json_t *o, const char *name)
{
    const json_t *const item = json_array_get(json_object_get(o, name), 0);
    assert_non_null(item);
    return item;
}

static void check_quantity(const json_t *q, double value, const char *ucum)
{
    assert_within(json_number_value(json_object_get(q, "value")), value, 1e-9);
    assert_string_equal(text_at(q, "system"), "http://unitsofmeasure.org");
    assert_string_equal(text_at(q, "code"), ucum);
}

/* What the profile requires of every vital sign. */
static void check_observation(const json_t *o, const char *loinc)
{
    assert_string_equal(text_at(o, "resourceType"), "Observation");
    assert_string_equal(text_at(o, "status"), "final");
    const json_t *const category = first(first(o, "category"), "coding");
    assert_string_equal(text_at(category, "system"),
                        "http://terminology.hl7.org/CodeSystem/observation-category");
    assert_string_equal(text_at(category, "code"), "vital-signs");
    const json_t *const code = first(json_object_get(o, "code"), "coding");
    assert_string_equal(text_at(code, "system"), "http://loinc.org");
    assert_string_equal(text_at(code, "code"), loinc);
    assert_string_equal(text_at(o, "effectiveDateTime"), "2026-11-25T13:05:30Z");
    assert_non_null(json_object_get(o, "subject"));
    const json_t *const label = first(json_object_get(o, "meta"), "security");
    assert_string_equal(text_at(label, "code"), "HTEST");
}

static void fhir_holds_what_the_profiles_require(void **state)
{
    (void)state;
    entry e = usual();
    e.device_per_min = 75.0;
    put(&e, "temperature", "98.4");
    put(&e, "temperature_unit", "F");
    put(&e, "systolic_mmhg", "118");
    put(&e, "diastolic_mmhg", "76");
    put(&e, "saturation_percent", "98");
    put(&e, "pain_of_10", "2");
    json_t *const bundle = entry_fhir_bundle();
    assert_true(entry_fhir_add(bundle, &e));
    assert_string_equal(text_at(bundle, "type"), "collection");
    const json_t *const all = json_object_get(bundle, "entry");
    static const struct {
        const char *loinc, *ucum;
        double value;
    } WANTED[] = {{"8867-4", "/min", 72.0},   {"9279-1", "/min", 16.0},
                  {"8310-5", "[degF]", 98.4}, {"85354-9", NULL, 0.0},
                  {"2708-6", "%", 98.0},      {"72514-3", "{score}", 2.0}};
    assert_int_equal(json_array_size(all), 6);
    for (size_t i = 0; i < 6; i++) {
        const json_t *const o = json_object_get(json_array_get(all, i), "resource");
        check_observation(o, WANTED[i].loinc);
        if (WANTED[i].ucum != NULL) {
            check_quantity(json_object_get(o, "valueQuantity"), WANTED[i].value,
                           WANTED[i].ucum);
        }
    }
    /* The second count: a component of its own, never the value. */
    const json_t *const pulse = json_object_get(json_array_get(all, 0), "resource");
    check_quantity(json_object_get(first(pulse, "component"), "valueQuantity"), 75.0,
                   "/min");
    /* Blood pressure: no value, the two parts as components (profile bp). */
    const json_t *const bp = json_object_get(json_array_get(all, 3), "resource");
    assert_null(json_object_get(bp, "valueQuantity"));
    const json_t *const parts = json_object_get(bp, "component");
    assert_int_equal(json_array_size(parts), 2);
    assert_string_equal(
        text_at(first(json_object_get(json_array_get(parts, 1), "code"), "coding"),
                "code"),
        "8462-4");
    check_quantity(json_object_get(json_array_get(parts, 0), "valueQuantity"), 118.0,
                   "mm[Hg]");
    json_decref(bundle);
}

/* Asked again: a temperature in the wrong unit, a systolic not above the diastolic. */
static void what_cannot_be_is_asked_again(void **state)
{
    (void)state;
    const struct {
        const char *temperature, *unit, *systolic, *diastolic, *words;
    } rows[] = {
        {"37.0", "F", "", "", "a temperature of 37.0 F cannot be: is the unit C;"},
        {"98.6", "C", "", "", "a temperature of 98.6 C cannot be: is the unit F;"},
        {"20", "C", "", "", "a temperature of 20.0 C cannot be; look again"},
        {"", "", "80", "120",
         "a systolic pressure of 80 is not above the diastolic of 120"},
        {"", "", "90", "90", "not above"},
        {"41.5", "C", "", "", ""},
        {"98.6", "F", "120", "80", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char doubt[ENTRY_DOUBT_BYTES];
        entry e = usual();
        put(&e, "temperature", rows[i].temperature);
        put(&e, "temperature_unit", rows[i].unit);
        put(&e, "systolic_mmhg", rows[i].systolic);
        put(&e, "diastolic_mmhg", rows[i].diastolic);
        entry_doubt(&e, doubt);
        if (rows[i].words[0] == '\0' ? doubt[0] != '\0'
                                     : strstr(doubt, rows[i].words) == NULL) {
            fail_msg("row %zu: '%s'", i, doubt);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fields_take_what_they_can_be),
        cmocka_unit_test(the_charted_line_is_the_learners),
        cmocka_unit_test(an_uneven_rhythm_is_reported),
        cmocka_unit_test(what_cannot_be_is_asked_again),
        cmocka_unit_test(two_examiners_give_a_deficit_or_none),
        cmocka_unit_test(csv_comes_back),
        cmocka_unit_test(bad_csv_says_where),
        cmocka_unit_test(fhir_holds_what_the_profiles_require),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
