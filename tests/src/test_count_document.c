/* The count document: its members, its rounding, and no number where none is known. */
#include "tests/support.h"

#include "src/document/count_document.h"
#include "src/document/document_parts.h"
#include "src/words/said.h"

#include <locale.h>
#include <stdlib.h>
#include <string.h>

static fm_count count;
static count_source source;

static int fill(void **state)
{
    (void)state;
    memset(&count, 0, sizeof count);
    source = (count_source){.name = "a.wav",
                            .duration_s = 70.12345,
                            .rate_hz = 4000.0,
                            .channels = 2,
                            .channel = 2,
                            .channel_chosen = true,
                            .convention = FM_CONVENTION_CLOCK};
    count.heart.count.window = (fm_window){0.0, 60.0, true};
    fm_heart *const h = &count.heart;
    h->count.status = FM_COUNTED;
    h->count.n = 72;
    h->count.rate_per_min = 72.0;
    h->count.rate_low_per_min = 71.04;
    h->count.rate_high_per_min = 72.96;
    h->count.confidence = 0.98765;
    h->count.usable_s = 60.0;
    for (size_t i = 0; i < h->count.n; i++) {
        h->count.onsets_s[i] = 0.12345 + 0.83306 * (double)i;
    }
    h->n_s2 = 1;
    h->s2_s[0] = 0.4;
    fm_rhythm *const r = &count.rhythm;
    r->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)snprintf(r->repeat, sizeof r->repeat, "2:1");
    r->mean_interval_s = 0.83333;
    r->sdnn_ms = 12.345;
    r->rmssd_ms = (double)NAN;
    r->pnn50 = 0.0;
    r->cv = 0.0123456;
    r->sd1_ms = 8.0;
    r->sd2_ms = 15.0;
    r->n_intervals = 1;
    r->intervals[0] = (fm_interval){0.12345, 0.83306, FM_INTERVAL_EARLY};
    r->n_findings = 1;
    r->findings[0].kind = FM_FINDING_EARLY_BEATS;
    r->findings[0].count = 100;
    for (size_t i = 0; i < FM_FINDING_TIMES; i++) {
        r->findings[0].times_s[i] = (double)i * 0.5;
    }
    fm_quality *const q = &count.heart.count.quality;
    q->overall = 0.9;
    q->level_dbfs = -20.06;
    q->clipped_fraction = 0.0001;
    q->n_gaps = 1;
    q->gaps[0] = (fm_span){5.0, 1.0, FM_REASON_GAP};
    q->n_unusable = 1;
    q->unusable[0] = (fm_span){22.0, 9.0, FM_REASON_FRICTION};
    return 0;
}

/* Builds, prints and reads back. */
static json_t *round_trip(void)
{
    json_t *const built = said_count(&source, &count);
    assert_non_null(built);
    char *const text = document_format(built);
    json_decref(built);
    assert_non_null(text);
    assert_null(strchr(text, '\n'));
    json_error_t error;
    json_t *const read = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(read);
    free(text);
    return read;
}

/* "heart.s1_s" down the document; the member must be there. */
static const json_t *member(const json_t *document, const char *path)
{
    char text[64];
    (void)snprintf(text, sizeof text, "%s", path);
    char *rest = text;
    const json_t *at = document;
    for (char *key = strtok_r(rest, ".", &rest); key != NULL;
         key = strtok_r(NULL, ".", &rest)) {
        at = json_object_get(at, key);
        if (at == NULL) {
            fail_msg("no member %s", path);
        }
    }
    return at;
}

static double number(const json_t *document, const char *path)
{
    return json_number_value(member(document, path));
}

static const char *text_of(const json_t *document, const char *path)
{
    return json_string_value(member(document, path));
}

/* Every member of the contract, word for word. */
static const char *const MEMBERS[] = {
    "schema",
    "engine",
    "source.name",
    "source.duration_s",
    "source.sample_rate_hz",
    "source.channels",
    "window.start_s",
    "window.end_s",
    "window.full_minute",
    "heart.status",
    "heart.beats",
    "heart.rate_bpm",
    "heart.rate_low_bpm",
    "heart.rate_high_bpm",
    "heart.confidence",
    "heart.reason",
    "heart.reason_code",
    "heart.s1_s",
    "heart.s2_s",
    "rhythm.findings",
    "rhythm.pattern",
    "rhythm.repeat",
    "rhythm.varies_with_breathing",
    "rhythm.mean_interval_s",
    "rhythm.sdnn_ms",
    "rhythm.rmssd_ms",
    "rhythm.pnn50",
    "rhythm.cv",
    "rhythm.sd1_ms",
    "rhythm.sd2_ms",
    "rhythm.intervals",
    "breath.status",
    "breath.window.start_s",
    "breath.window.end_s",
    "breath.window.full_minute",
    "breath.breaths",
    "breath.rate_per_min",
    "breath.confidence",
    "breath.reason",
    "breath.pattern",
    "breath.findings",
    "breath.starts_s",
    "quality.overall",
    "quality.level_dbfs",
    "quality.clipped_fraction",
    "quality.gaps",
    "quality.unusable",
};

static void every_member_of_the_contract_is_there(void **state)
{
    (void)state;
    for (int refused = 0; refused < 2; refused++) {
        count.heart.count.status = refused ? FM_REFUSED : FM_COUNTED;
        json_t *const d = round_trip();
        for (size_t i = 0; i < sizeof MEMBERS / sizeof *MEMBERS; i++) {
            (void)member(d, MEMBERS[i]);
        }
        assert_string_equal(text_of(d, "schema"), "fullminute.count/1");
        json_decref(d);
    }
}

static void numbers_are_rounded_as_promised(void **state)
{
    (void)state;
    json_t *const built = said_count(&source, &count);
    char *const text = document_format(built);
    json_decref(built);
    static const char *const pieces[] = {
        "\"duration_s\": 70.123,",
        "\"sample_rate_hz\": 4000,",
        "\"beats\": 72,",
        "\"rate_bpm\": 72.0,",
        "\"rate_low_bpm\": 71.0,",
        "\"rate_high_bpm\": 73.0,",
        "\"confidence\": 0.988,",
        "\"s1_s\": [0.123, 0.957, 1.79,",
        "\"mean_interval_s\": 0.833,",
        "\"sdnn_ms\": 12.3,",
        "\"rmssd_ms\": null,",
        "\"pnn50\": 0.0,",
        "\"cv\": 0.0123,",
        "\"repeat\": \"2:1\"",
        "\"kind\": \"early\"",
        "\"level_dbfs\": -20.1,",
        "\"clipped_fraction\": 0.0001",
        "\"reason\": \"friction\"",
        "\"channel\": 2,",
        "\"channel_chosen\": true",
        "\"kind\": \"early beats\", \"count\": 100",
    };
    for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++) {
        if (strstr(text, pieces[i]) == NULL) {
            fail_msg("%s is not in %s", pieces[i], text);
        }
    }
    free(text);
}

static void a_finding_keeps_the_times_it_has(void **state)
{
    (void)state;
    json_t *const d = round_trip();
    const json_t *const f = json_array_get(member(d, "rhythm.findings"), 0);
    assert_int_equal(json_array_size(json_object_get(f, "times_s")), FM_FINDING_TIMES);
    json_decref(d);
}

static void gaps_and_unusable_stretches_carry_their_reason(void **state)
{
    (void)state;
    count.heart.count.quality.gaps[count.heart.count.quality.n_gaps++] =
        (fm_span){25.0, 3.0, FM_REASON_CONTACT_LOST};
    json_t *const d = round_trip();
    const json_t *const gaps = member(d, "quality.gaps");
    assert_string_equal(text_of(json_array_get(gaps, 0), "reason_code"), "gap");
    assert_string_equal(text_of(json_array_get(gaps, 1), "reason_code"),
                        "contact_lost");
    assert_string_equal(
        text_of(json_array_get(member(d, "quality.unusable"), 0), "reason"),
        "friction");
    json_decref(d);
}

static void a_refusal_carries_its_reason_and_no_number(void **state)
{
    (void)state;
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_FRICTION;
    count.heart.count.reason_span = (fm_span){22.2, 8.1, FM_REASON_FRICTION};
    json_t *const d = round_trip();
    assert_string_equal(text_of(d, "heart.status"), "refused");
    assert_string_equal(text_of(d, "heart.reason_code"), "friction");
    assert_non_null(strstr(text_of(d, "heart.reason"), "from 22 s to 31 s"));
    static const char *const none[] = {
        "heart.beats",         "heart.rate_bpm",   "heart.rate_low_bpm",
        "heart.rate_high_bpm", "heart.confidence", "rhythm.mean_interval_s",
        "rhythm.sdnn_ms",      "rhythm.rmssd_ms",  "rhythm.pnn50",
        "rhythm.cv",           "rhythm.sd1_ms",    "rhythm.sd2_ms",
        "rhythm.repeat",
    };
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        if (!json_is_null(member(d, none[i]))) {
            fail_msg("%s is not null", none[i]);
        }
    }
    assert_int_equal(json_array_size(member(d, "heart.s1_s")), 0);
    assert_int_equal(json_array_size(member(d, "heart.s2_s")), 0);
    assert_int_equal(json_array_size(member(d, "rhythm.intervals")), 0);
    assert_int_equal(json_array_size(member(d, "rhythm.findings")), 0);
    assert_string_equal(text_of(d, "rhythm.pattern"), "undetermined");
    json_decref(d);
}

static void fill_breath(void)
{
    fm_breath *const b = &count.breath;
    b->count.status = FM_COUNTED;
    b->count.window = (fm_window){60.0, 120.0, true};
    b->count.n = 16;
    b->count.rate_per_min = 16.0;
    b->count.rate_low_per_min = 15.04;
    b->count.rate_high_per_min = 16.96;
    b->count.confidence = 0.97654;
    b->count.usable_s = 60.0;
    for (size_t i = 0; i < b->count.n; i++) {
        b->count.onsets_s[i] = 61.23456 + 3.6 * (double)i;
    }
    b->cue_quality[FM_CUE_SOUND] = 0.8;
    b->cue_rate_per_min[FM_CUE_SOUND] = 16.04;
    b->cue_rate_per_min[FM_CUE_LOUDNESS] = (double)NAN;
    b->cue_rate_per_min[FM_CUE_INTERVALS] = (double)NAN;
    b->pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    b->n_pauses = 1;
    b->pauses[0] = (fm_breath_pause){87.41234, 101.0};
}

static void respirations_carry_their_own_window(void **state)
{
    (void)state;
    fill_breath();
    json_t *const d = round_trip();
    assert_string_equal(text_of(d, "breath.status"), "counted");
    assert_within(number(d, "breath.window.start_s"), 60.0, 0.0);
    assert_within(number(d, "breath.window.end_s"), 120.0, 0.0);
    assert_true(json_is_true(member(d, "breath.window.full_minute")));
    assert_int_equal(json_integer_value(member(d, "breath.breaths")), 16);
    assert_within(number(d, "breath.rate_per_min"), 16.0, 0.0);
    assert_within(number(d, "breath.rate_low_per_min"), 15.0, 0.0);
    assert_within(number(d, "breath.rate_high_per_min"), 17.0, 0.0);
    assert_within(number(d, "breath.confidence"), 0.977, 0.0);
    assert_true(json_is_null(member(d, "breath.reason")));
    assert_true(json_is_null(member(d, "breath.reason_code")));
    const json_t *const starts = member(d, "breath.starts_s");
    assert_int_equal(json_array_size(starts), 16);
    assert_within(json_number_value(json_array_get(starts, 0)), 61.235, 0.0);
    assert_string_equal(text_of(d, "breath.pattern"), "with pauses");
    const json_t *const findings = member(d, "breath.findings");
    assert_int_equal(json_array_size(findings), 1);
    assert_string_equal(text_of(json_array_get(findings, 0), "kind"), "pause");
    assert_within(number(json_array_get(findings, 0), "start_s"), 87.412, 0.0);
    assert_within(number(json_array_get(findings, 0), "end_s"), 101.0, 0.0);
    const json_t *const cues = member(d, "breath.cues");
    assert_int_equal(json_array_size(cues), FM_CUE_COUNT);
    assert_string_equal(text_of(json_array_get(cues, 0), "cue"), "breath sound");
    assert_true(json_is_null(member(json_array_get(cues, 1), "rate_per_min")));
    json_decref(d);
}

/* Decoded arrays stay in a refused result for evaluation; none may be shown. The heart,
 * counted, says nothing of it. */
static void refused_respirations_show_no_number(void **state)
{
    (void)state;
    fill_breath();
    count.breath.count.status = FM_REFUSED;
    count.breath.count.reason = FM_REASON_NO_BREATH_CUE;
    json_t *const d = round_trip();
    assert_string_equal(text_of(d, "breath.status"), "refused");
    assert_true(json_is_null(member(d, "breath.breaths")));
    assert_true(json_is_null(member(d, "breath.rate_per_min")));
    assert_true(json_is_null(member(d, "breath.rate_low_per_min")));
    assert_true(json_is_null(member(d, "breath.confidence")));
    assert_int_equal(json_array_size(member(d, "breath.starts_s")), 0);
    assert_int_equal(json_array_size(member(d, "breath.cues")), 0);
    assert_string_equal(text_of(d, "breath.reason_code"), "no_breath_cue");
    assert_string_equal(
        text_of(d, "breath.reason"),
        "no breathing could be made out: watch the chest and count for a "
        "full minute");
    assert_string_equal(text_of(d, "heart.status"), "counted");
    assert_int_equal(json_integer_value(member(d, "heart.beats")), 72);
    json_decref(d);
}

static void the_first_beat_called_zero_takes_one_off(void **state)
{
    (void)state;
    json_t *clock = round_trip();
    assert_true(json_is_null(member(clock, "window.first_beat")));
    json_decref(clock);
    source.convention = FM_CONVENTION_ONE;
    json_t *const one = round_trip();
    assert_string_equal(text_of(one, "window.first_beat"), "one");
    assert_within(number(one, "heart.beats"), 72.0, 0.0);
    json_decref(one);
    source.convention = FM_CONVENTION_ZERO;
    json_t *const zero = round_trip();
    assert_string_equal(text_of(zero, "window.first_beat"), "zero");
    assert_within(number(zero, "heart.beats"), 71.0, 0.0);
    assert_within(number(zero, "heart.rate_bpm"), 71.0, 0.0);
    json_decref(zero);
    count.heart.count.window.full_minute = false;
    json_t *const part = round_trip();
    assert_within(number(part, "heart.rate_bpm"), 72.0, 0.0);
    json_decref(part);
}

static void what_is_not_finite_is_null(void **state)
{
    (void)state;
    count.heart.count.quality.level_dbfs = -(double)INFINITY;
    source.duration_s = (double)NAN;
    json_t *const d = round_trip();
    assert_true(json_is_null(member(d, "quality.level_dbfs")));
    assert_true(json_is_null(member(d, "source.duration_s")));
    json_decref(d);
}

static void minus_zero_is_zero(void **state)
{
    (void)state;
    json_t *const value = document_time(-0.0001);
    char *const text = json_dumps(value, JSON_ENCODE_ANY);
    assert_string_equal(text, "0.0");
    free(text);
    json_decref(value);
}

static void names_of_any_bytes_become_json(void **state)
{
    (void)state;
    source.name = "herz\xc3\xb6.wav";
    json_t *d = round_trip();
    assert_string_equal(text_of(d, "source.name"), "herz\xc3\xb6.wav");
    json_decref(d);
    source.name = "100%\xff.wav";
    d = round_trip();
    assert_string_equal(text_of(d, "source.name"), "100%25%FF.wav");
    json_decref(d);
    source.name = "line\nbreak\".wav";
    d = round_trip();
    assert_string_equal(text_of(d, "source.name"), "line\nbreak\".wav");
    json_decref(d);
}

/* A full window at the highest rate the result can hold still makes a document. */
static void the_fullest_window_fits(void **state)
{
    (void)state;
    count.heart.count.n = FM_BEATS_MAX;
    count.rhythm.n_intervals = FM_BEATS_MAX;
    count.heart.count.quality.n_unusable = FM_SPANS_MAX;
    json_t *const d = round_trip();
    assert_int_equal(json_array_size(member(d, "heart.s1_s")), FM_BEATS_MAX);
    assert_int_equal(json_array_size(member(d, "rhythm.intervals")), FM_BEATS_MAX);
    assert_int_equal(json_array_size(member(d, "quality.unusable")), FM_SPANS_MAX);
    json_decref(d);
}

/* Sets a locale that writes 0,5: one that is installed, or one made for this test. */
static bool set_comma_locale(const char *folder)
{
    static const char *const installed[] = {"de_DE.UTF-8", "fr_FR.UTF-8",
                                            "nb_NO.UTF-8"};
    for (size_t i = 0; i < sizeof installed / sizeof *installed; i++) {
        if (setlocale(LC_ALL, installed[i]) != NULL) {
            return true;
        }
    }
    char command[256];
    (void)snprintf(command, sizeof command,
                   "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >/dev/null 2>&1",
                   folder);
    return system(command) == 0 && setenv("LOCPATH", folder, 1) == 0 &&
           setlocale(LC_ALL, "de_DE.UTF-8") != NULL;
}

static void remove_made_locale(const char *folder)
{
    char command[256];
    (void)snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
    (void)unsetenv("LOCPATH");
}

static void a_locale_with_commas_changes_nothing(void **state)
{
    (void)state;
    char folder[] = "/tmp/fullminute-locale-XXXXXX";
    assert_non_null(mkdtemp(folder));
    json_t *const before = said_count(&source, &count);
    char *const plain = document_format(before);
    const bool set = set_comma_locale(folder);
    char half[16];
    (void)snprintf(half, sizeof half, "%.1f", 0.5);
    json_t *const after = said_count(&source, &count);
    char *const comma = document_format(after);
    (void)setlocale(LC_ALL, "C");
    remove_made_locale(folder);
    json_decref(before);
    json_decref(after);
    const int same = strcmp(plain, comma) == 0;
    free(plain);
    free(comma);
    if (!set) {
        print_message("no locale with a decimal comma is installed here\n");
        skip();
    }
    assert_string_equal(half, "0,5");
    assert_true(same);
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup(test, fill)
    const struct CMUnitTest tests[] = {
        EACH(every_member_of_the_contract_is_there),
        EACH(numbers_are_rounded_as_promised),
        EACH(a_finding_keeps_the_times_it_has),
        EACH(gaps_and_unusable_stretches_carry_their_reason),
        EACH(a_refusal_carries_its_reason_and_no_number),
        EACH(respirations_carry_their_own_window),
        EACH(refused_respirations_show_no_number),
        EACH(the_first_beat_called_zero_takes_one_off),
        EACH(what_is_not_finite_is_null),
        EACH(minus_zero_is_zero),
        EACH(names_of_any_bytes_become_json),
        EACH(the_fullest_window_fits),
        EACH(a_locale_with_commas_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
