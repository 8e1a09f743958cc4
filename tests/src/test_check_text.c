#include "src/document/document_parts.h"
#include "src/words/said.h"
#include "tests/src/check_support.h"

static void first_line_holds_both_numbers(void **state)
{
    (void)state;
    start(71.0, 60.0);
    count.heart.count.rate_low_per_min = 70.0;
    count.heart.count.rate_high_per_min = 72.0;
    compare(68, 60, FM_SITE_APICAL);
    static const char first[] =
        "Beats in the full minute: you 68, fullminute 71 (70-72).";
    assert_int_equal(strncmp(below_the_signs(), first, strlen(first)), 0);
    assert_fits_a_screen();
    assert_says("Even spacing in this minute only, not a check of the heart.");
    assert_says("Learning and research aid, not a medical device.");
}

/* Until the instructor sets a limit there is no pass or fail wording. */
static void without_a_limit_nothing_passes_or_fails(void **state)
{
    (void)state;
    static const char *const banned[] = {"Agrees",  "Differs", "pass",  "fail",
                                         "correct", "wrong",   "right", "instructor's"};
    for (int entered = 40; entered <= 160; entered++) {
        start(72.0, 60.0);
        compare(entered, 60, FM_SITE_APICAL);
        for (size_t i = 0; i < sizeof banned / sizeof banned[0]; i++) {
            assert_silent_on(banned[i]);
        }
        assert_says("example limit");
        assert_says(
            "Example limits and an adult's ranges: common practice, no source; your "
            "instructor sets the limit");
    }
    view.tolerance_set = true;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Agrees: within your instructor's limit, 4 per minute.");
    compare(80, 60, FM_SITE_APICAL);
    assert_says("Differs: more than your instructor's limit, 4 per minute.");
}

static void too_close_names_the_range_and_the_count(void **state)
{
    (void)state;
    start(71.0, 60.0);
    count.heart.count.rate_low_per_min = 69.0;
    count.heart.count.rate_high_per_min = 73.0;
    compare(68, 60, FM_SITE_APICAL);
    assert_says(
        "This recording can only tell 69 to 73 per minute: yours, 68, "
        "is 1 to 5 fewer. Too close to call: the example limit is 4 per minute.");
    view.tolerance_set = true;
    compare(68, 60, FM_SITE_APICAL);
    assert_says("Too close to call: your instructor's limit is 4 per minute.");
    compare(76, 60, FM_SITE_APICAL);
    assert_says("yours, 76, is 3 to 7 more.");
}

static void doubt_and_its_reason_are_said(void **state)
{
    (void)state;
    start(72.0, 60.0);
    count.heart.count.status = FM_CAUTION;
    count.heart.count.reason = FM_REASON_FRICTION;
    count.heart.count.reason_span = (fm_span){22.0, 9.0, FM_REASON_FRICTION};
    compare(90, 60, FM_SITE_APICAL);
    assert_says("you 90, fullminute 72, in doubt.");
    assert_says("fullminute is in doubt: friction or loud breathing from 22 s to 31 s. "
                "Hold the chest piece");
    assert_says("Rhythm: not named, because the count itself is in doubt.");
    assert_silent_on("regular");
    view.tolerance_set = true;
    count.heart.count.rate_low_per_min = count.heart.count.rate_high_per_min = 72.0;
    compare(90, 60, FM_SITE_APICAL);
    assert_says("Too close to call: your instructor's limit is 4 per minute.");
}

static void refusal_keeps_the_count_and_shows_no_other_number(void **state)
{
    (void)state;
    start(73.0, 60.0);
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_NO_PERIODICITY;
    compare(70, 60, FM_SITE_APICAL);
    assert_says(
        "you 70. Not compared: fullminute could not count the pulse, which does not "
        "mean that all is well. Your 70 stands alone: count again by hand for a "
        "full minute.");
    assert_silent_on("60-100");
    assert_says("then record another minute; your count is kept.");
    assert_silent_on("73");
    assert_silent_on("Rhythm");
    assert_fits_a_screen();
    compare(150, 60, FM_SITE_APICAL);
    assert_says("Yours, 150 per minute, is above 60-100");
    assert_says("Outside the range. Count again at the apex for a full minute");
    assert_says("Your 150 stands alone");
    assert_silent_on("73");
    assert_fits_a_screen();
}

static void taps_name_the_beats_that_slipped(void **state)
{
    (void)state;
    start(72.0, 60.0);
    memset(&taps, 0, sizeof taps);
    taps.n_matched = 68;
    taps.lag_known = true;
    taps.lag_s = 0.045;
    taps.lag_sd_s = 0.028;
    taps.n_not_tapped = 4;
    taps.not_tapped_s[0] = 16.1;
    taps.not_tapped_s[1] = 36.0;
    taps.not_tapped_s[2] = 40.8;
    taps.not_tapped_s[3] = 41.4;
    taps.n_extra = 1;
    taps.extra_s[0] = 33.0;
    view.taps = &taps;
    compare(69, 60, FM_SITE_APICAL);
    assert_says("Where the counts differ At 16 s: one beat not tapped. 33 to 36 s: one "
                "beat not "
                "tapped, one extra tap. At 41 s: two beats not tapped.");
    assert_says("Your taps came 45 ms after S1, give or take 28 ms.");
    assert_fits_a_screen();
    taps.lost = true;
    taps.lost_from_s = 44.0;
    taps.lost_until_s = 59.0;
    compare(60, 60, FM_SITE_APICAL);
    assert_int_equal(comparison.slip, FM_SLIP_LOST_THREAD);
    assert_says("You lost count at 44 s");
}

static void slips_are_named_as_possible(void **state)
{
    (void)state;
    start(72.0, 60.0);
    compare(144, 60, FM_SITE_APICAL);
    assert_says("perhaps both sounds were counted");
    compare(36, 60, FM_SITE_APICAL);
    assert_says("perhaps every other beat was counted");
    assert_says("If you counted 30 s, choose 30 s before you enter it.");
    const char *words[HINT_COUNT] = {[HINT_SECONDS_30] = "say --seconds 30"};
    hint_voice voice = {.words = words};
    view.voice = &voice;
    for (int k = 0; k < HINT_COUNT; k++) {
        words[k] = words[k] != NULL ? words[k] : "";
    }
    compare(36, 60, FM_SITE_APICAL);
    assert_says("If you counted 30 s, say --seconds 30.");
    assert_true(voice.said[HINT_SECONDS_30] && !voice.said[HINT_SECONDS_15]);
    view.voice = NULL;
    compare(18, 60, FM_SITE_APICAL);
    assert_says("18 is what 15 s of this recording give: if you counted 15 s, "
                "choose 15 s before you enter it.");
    compare(72, 15, FM_SITE_APICAL);
    assert_says("72 is 18 x 4: did you multiply already? Enter what you counted in the "
                "15 s.");
    compare(25, 15, FM_SITE_APICAL);
    assert_silent_on("multiply already");
}

/* Taps that stop where a short count stops, are more than beats, or were not entered. */
static void taps_tell_how_they_were_made(void **state)
{
    (void)state;
    start(72.0, 60.0);
    memset(&taps, 0, sizeof taps);
    taps.n_matched = taps.n_taps = 36;
    for (size_t i = 0; i < 72; i++) {
        if (i < 36) {
            taps.matched[i] = (fm_tap_pair){count.heart.count.onsets_s[i],
                                            count.heart.count.onsets_s[i]};
        } else {
            taps.not_tapped_s[taps.n_not_tapped++] = count.heart.count.onsets_s[i];
        }
    }
    taps.lost = true;
    taps.lost_from_s = 30.2;
    taps.lost_until_s = 59.4;
    view.taps = &taps;
    compare(36, 60, FM_SITE_APICAL);
    assert_says(
        "No tap after 30 s. If you counted 30 s, choose 30 s before you enter it.");
    assert_silent_on("You lost count");
    assert_says(
        "Next: look at the person, as said above"); /* 36 a minute was entered */
    compare(65, 60, FM_SITE_APICAL);
    assert_says(
        "Next: count again, and enter the beats with the seconds that you counted.");
    assert_says("You tapped 36 in those 60 s and entered 65.");
    taps.matched[35].tap_s = 41.0;
    compare(36, 60, FM_SITE_APICAL);
    assert_says("You lost count at 30 s");
    memset(&taps, 0, sizeof taps);
    taps.n_matched = 72;
    taps.n_extra = 10;
    taps.extra_s[9] = 50.0;
    view.n_taps_outside = 3;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Every beat was tapped.");
    assert_says("At 0 s: nine extra taps. At 50 s: one extra tap.");
    assert_says("Not counted: three taps outside those seconds.");
}

/* Said only where the start can be the reason: no sound is missing. */
static void no_start_is_blamed_beside_a_hole(void **state)
{
    (void)state;
    start(72.0, 60.0);
    compare(71, 60, FM_SITE_APICAL);
    assert_true(comparison.convention_explains);
    count.heart.count.window.full_minute = false;
    count.heart.count.quality.n_unusable = 1;
    count.heart.count.quality.unusable[0] = (fm_span){40.0, 7.0, FM_REASON_FRICTION};
    count.heart.count.usable_s = 53.0;
    count.heart.count.n = count.heart.count.n - 8;
    compare(63, 60, FM_SITE_APICAL);
    assert_int_equal(comparison.counted, 64);
    assert_false(comparison.convention_explains);
    assert_says("you 63, fullminute 64 in the 53 s that could be used");
    assert_says("Even spacing in these 53 s only, not a check of the heart.");
}

/* Never finer than the recording: an interval over the edge is not outside. */
static void the_edge_of_the_range_is_not_outside(void **state)
{
    (void)state;
    start(59.0, 60.0);
    count.heart.count.rate_low_per_min = 58.0;
    count.heart.count.rate_high_per_min = 60.0;
    compare(59, 60, FM_SITE_APICAL);
    assert_says(
        "58-60 reaches the edge of 60-100 (adult, usual at rest): count another full "
        "minute before you call it low.");
    assert_silent_on("Outside the range");
    count.heart.count.rate_high_per_min = 59.0;
    compare(59, 60, FM_SITE_APICAL);
    assert_says("59 per minute is below 60-100");
    assert_says("Outside the range. Count again at the apex for a full minute");
    start(101.0, 60.0);
    compare(101, 60, FM_SITE_APICAL);
    assert_says("100-102 reaches the edge of 60-100");
    assert_says("before you call it high");
    /* the first beat called zero takes nothing from the rate */
    start(60.0, 60.0);
    source.convention = FM_CONVENTION_ZERO;
    count.heart.count.rate_low_per_min = count.heart.count.rate_high_per_min = 60.0;
    compare(59, 60, FM_SITE_APICAL);
    assert_says("60 per minute is within 60-100");
}

static void fewer_at_the_wrist_is_told_as_a_possible_deficit(void **state)
{
    (void)state;
    start(72.0, 60.0);
    compare(60, 60, FM_SITE_RADIAL);
    assert_says(
        "Fewer beats at the wrist than at the apex: a possible pulse deficit, or "
        "missed beats: repeat with two examiners.");
    assert_says("The sound at the apex cannot judge a count at the wrist.");
    compare(70, 60, FM_SITE_RADIAL);
    assert_says(
        "One or two fewer at the wrist than at the apex can be a counting error: no "
        "deficit is named. Repeat it with two examiners, the same full minute for "
        "both; the same again: report it.");
    assert_silent_on("possible pulse deficit");
    compare(69, 60, FM_SITE_RADIAL);
    assert_says("possible pulse deficit");
    compare(60, 60, FM_SITE_RADIAL);
    assert_silent_on("perhaps");
    assert_silent_on("per minute fewer");
    view.tolerance_set = true;
    compare(60, 60, FM_SITE_RADIAL);
    assert_silent_on("Differs");
    assert_says("Where the counts differ Fewer beats");
    compare(80, 60, FM_SITE_RADIAL);
    assert_says(
        "Where the counts differ More beats at the wrist than at the apex cannot be: a "
        "counting error; count again.");
}

static void one_beat_of_convention_is_explained(void **state)
{
    (void)state;
    start(72.0, 60.0);
    source.convention = FM_CONVENTION_ONE;
    count.heart.count.window = (fm_window){0.19, 60.19, true};
    compare(71, 60, FM_SITE_APICAL);
    assert_says("with the watch started on a beat called 'zero', the count is 71.");
    assert_says("Both from a beat that is called 'one'.");
}

static void irregular_or_outside_asks_to_look_at_the_person(void **state)
{
    (void)state;
    start(72.0, 60.0);
    compare(72, 60, FM_SITE_APICAL);
    assert_silent_on("tell the instructor or");
    static const fm_pattern uneven[] = {FM_PATTERN_OCCASIONALLY_IRREGULAR,
                                        FM_PATTERN_REGULARLY_IRREGULAR,
                                        FM_PATTERN_IRREGULARLY_IRREGULAR};
    for (size_t i = 0; i < 3; i++) {
        count.rhythm.pattern = uneven[i];
        compare(72, 60, FM_SITE_APICAL);
        assert_says("call for help and stay. Irregular. Count again at the apex for a "
                    "full minute "
                    "and tell the instructor");
        assert_says("even if the person feels well");
        assert_says(
            "tell them privately; the instructor only if they agree, unless it is "
            "urgent.");
        assert_says("second examiner");
        assert_silent_on("not a check of the heart");
        assert_fits_a_screen();
    }
    /* What was found counts where no pattern could be named, and nothing found does not. */
    count.rhythm.pattern = FM_PATTERN_UNDETERMINED;
    compare(72, 60, FM_SITE_APICAL);
    assert_silent_on("Irregular. Count again at the apex");
    count.rhythm.n_findings = 1;
    count.rhythm.findings[0].kind = FM_FINDING_PAUSES;
    count.rhythm.findings[0].count = 1;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Irregular. Count again at the apex");
    start(104.0, 60.0);
    compare(104, 60, FM_SITE_APICAL);
    assert_says("104 per minute is above 60-100");
    assert_says("Outside the range. Count again at the apex for a full minute");
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    compare(104, 60, FM_SITE_APICAL);
    assert_says("Irregular, and outside the range. Count again at the apex");
}

/* A recording has no wrist: the second examiner is for people. */
static void a_known_recording_is_not_taken_for_a_person(void **state)
{
    (void)state;
    start(72.0, 60.0);
    const fm_known_events known = {.n = count.heart.count.n,
                                   .onsets_s = count.heart.count.onsets_s};
    const fm_compare_input in = {
        .manual = {.entered = 72,
                   .seconds = 60,
                   .convention = FM_CONVENTION_CLOCK,
                   .site = FM_SITE_APICAL},
        .count = &count.heart.count,
        .known = &known,
        .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN,
    };
    view.known_pattern = true;
    view.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    assert_int_equal(fm_compare(&in, &comparison), FM_OK);
    free(text);
    text = check_text_format(&view);
    assert_says("Beats in the full minute: you 72, known 72. No difference from the "
                "known beats.");
    assert_says(
        "Rhythm: this recording was made regularly irregular; fullminute heard it "
        "as regular.");
    assert_silent_on("Even spacing");
    assert_says("If this were a person: look at the person first.");
    assert_silent_on("second examiner");
    assert_silent_on("friend");
    assert_fits_a_screen();
}

/* Trade rules: what belongs to site, seconds and age. */
static void the_method_belongs_to_site_and_age(void **state)
{
    (void)state;
    start(72.0, 60.0);
    compare(36, 30, FM_SITE_APICAL);
    assert_says("An apical pulse is counted for the full minute.");
    compare(36, 30, FM_SITE_RADIAL);
    assert_says(
        "A regular adult radial pulse counted 30 s x 2 is accepted by many local "
        "protocols");
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    compare(36, 30, FM_SITE_RADIAL);
    compare(18, 15, FM_SITE_RADIAL);
    assert_says("An irregular or out-of-range pulse");
    count.rhythm.pattern = FM_PATTERN_REGULAR;
    compare(18, 15, FM_SITE_RADIAL);
    assert_says(
        "Count at least 30 s; the full minute when it is a first count, irregular "
        "or outside the range. In 15 s one beat is 4 per minute");
    assert_says("Hollerbach");
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    compare(36, 30, FM_SITE_RADIAL);
    assert_silent_on("Hollerbach");
    assert_silent_on("accepted by many local protocols");
    assert_says("An irregular or out-of-range pulse is counted for the full minute");
    start(104.0, 60.0);
    compare(52, 30, FM_SITE_RADIAL);
    assert_says("An irregular or out-of-range pulse is counted for the full minute");
    start(130.0, 60.0);
    view.age_known = true;
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, 6.0, &range), FM_OK);
    compare(130, 60, FM_SITE_APICAL);
    assert_says("fourth left intercostal space, at or just outside the mid-clavicular "
                "line; asleep or calm, respirations first, before touching");
    assert_says("Fleming et al. 2011");
    assert_says("98-168");
    assert_says(
        "130 per minute is not among the lowest or highest 1 in 100, outside 98-168 (6 "
        "to "
        "9 months, 1st to 99th centile; Fleming et al. 2011 (Lancet 377:1011)), and no "
        "more is said by that: see the local chart.");
    assert_silent_on("is within");
    assert_silent_on("Outside the range");
    compare(65, 30, FM_SITE_RADIAL);
    assert_silent_on("accepted by many local protocols");
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, 60.0, &range), FM_OK);
    compare(130, 60, FM_SITE_APICAL);
    assert_says("from memory, unchecked");
    assert_says(
        "nobody has read that row in its source, so it judges nothing here: see "
        "the local chart.");
    assert_silent_on("is within");
    assert_silent_on("is above");
    assert_says("mid-clavicular line; calm.");
    view.age_months = 160.0; /* adolescents: as taught, and by age; taught judges */
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, 160.0, &range), FM_OK);
    compare(130, 60, FM_SITE_APICAL);
    assert_says("130 per minute is above 60-100 (adult, usual at rest), as taught from "
                "12 years "
                "on. By age, 47-108 (12 to 15 years, 1st to 99th centile");
    assert_says("this row from memory, unchecked): no verdict from that.");
    assert_says("Outside the range. Count again at the apex for a full minute");
    assert_silent_on("respirations first");
}

static void short_counts_stand_beside_the_minute(void **state)
{
    (void)state;
    start(71.3, 60.0);
    compare(17, 15, FM_SITE_APICAL);
    assert_says("Beats in 15 s: you 17, fullminute 18; per minute 68 and");
    assert_says("Shorter counts, beats per minute: ");
    assert_says(" in 15 s, ");
    assert_says(" in 30 s; 72 in the full minute.");
    assert_fits_a_screen();
}

static void what_cannot_be_compared_says_why(void **state)
{
    (void)state;
    start(72.0, 40.0);
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Not compared: only 40 s were recorded from the start on.");
    assert_says("72 per minute for what there is");
    start(72.0, 60.0);
    count.heart.count.window.full_minute = false;
    count.heart.count.quality.n_gaps = 1;
    count.heart.count.quality.gaps[0] = (fm_span){5.0, 3.0, FM_REASON_GAP};
    compare(18, 15, FM_SITE_APICAL);
    assert_says("Not compared: sound is missing in those seconds.");
}

static uint64_t seed_state = 7;

static size_t below(size_t n)
{
    seed_state = seed_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (size_t)((seed_state >> 33) % n);
}

static void random_rhythm(void)
{
    fm_rhythm *const r = &count.rhythm;
    r->pattern = (fm_pattern)below(FM_PATTERN_COUNT);
    r->varies_with_breathing = below(2) == 0;
    (void)strcpy(r->repeat, below(3) == 0 ? "breathing" : below(2) == 0 ? "4:3" : "");
    r->n_findings = below(3);
    for (size_t i = 0; i < r->n_findings; i++) {
        r->findings[i].kind = (fm_finding_kind)below(FM_FINDING_KIND_COUNT);
        r->findings[i].count = 1 + below(FM_FINDING_TIMES + 10);
        for (size_t k = 0; k < FM_FINDING_TIMES; k++) {
            r->findings[i].times_s[k] = 0.9 * (double)k;
        }
    }
}

static void random_taps(void)
{
    memset(&taps, 0, sizeof taps);
    taps.n_matched = below(70);
    taps.lag_known = taps.n_matched > 2;
    taps.lag_s = taps.lag_known ? 0.001 * (double)below(300) - 0.1 : (double)NAN;
    taps.lag_sd_s = below(5) == 0 ? (double)NAN : 0.03;
    taps.n_not_tapped = below(20);
    taps.n_extra = below(12);
    for (size_t i = 0; i < 20; i++) {
        taps.not_tapped_s[i] = 2.9 * (double)i;
        taps.extra_s[i] = 3.7 * (double)i;
    }
    taps.lost = below(3) == 0;
    taps.lost_from_s = taps.lost ? 31.4 : (double)NAN;
    taps.lost_until_s = taps.lost ? 59.1 : (double)NAN;
    view.taps = below(2) == 0 ? &taps : NULL;
}

/* Whatever comes together: it fits, says no stray NaN, and the document is whole. */
static void everything_together_fits(void **state)
{
    (void)state;
    static const int seconds[] = {15, 30, 60};
    for (int run = 0; run < 4000; run++) {
        const int s = seconds[below(3)];
        start(40.0 + (double)below(140), below(4) == 0 ? 35.0 : 60.0);
        random_rhythm();
        random_taps();
        count.heart.count.status = (fm_outcome)below(3);
        count.heart.count.reason = (fm_reason)below(FM_REASON_COUNT);
        count.heart.count.reason_span = (fm_span){22.0, 9.0, count.heart.count.reason};
        count.heart.count.rate_low_per_min -= (double)below(4);
        count.heart.band = below(4) == 0 ? FM_BAND_HIGH : FM_BAND_LOW;
        source.convention = (fm_convention)below(FM_CONVENTION_COUNT);
        source.channels = 1 + (int)below(2);
        view.tolerance_set = below(2) == 0;
        view.age_known = below(2) == 0;
        const double age = view.age_known ? (double)below(400) : FM_AGE_ADULT_MONTHS;
        assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, age, &range), FM_OK);
        compare(1 + (int)below(200) / (60 / s), s, (fm_site)below(FM_SITE_COUNT));
        assert_fits(36);
        assert_silent_on(" nan");
        assert_silent_on("(null)");
        json_t *const d = said_check(&view);
        char *const bytes = document_format(d);
        assert_non_null(bytes);
        assert_null(strstr(bytes, ": nan"));
        free(bytes);
        json_decref(d);
    }
}

/* In step with breathing: no call for help for the rhythm, no examiner at the wrist. */
static void in_step_with_breathing_is_no_alarm(void **state)
{
    (void)state;
    start(70.0, 60.0);
    count.rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)strcpy(count.rhythm.repeat, "breathing");
    compare(70, 60, FM_SITE_APICAL);
    assert_says(
        "Uneven in step with breathing: common in children and young adults (common "
        "practice, no source). Count another calm minute; tell the instructor if it "
        "stays.");
    assert_silent_on("Irregular");
    assert_silent_on("tell the instructor or");
    assert_silent_on("second examiner");
    assert_says("The person first.");
    start(104.0, 60.0);
    count.rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)strcpy(count.rhythm.repeat, "breathing");
    compare(104, 60, FM_SITE_APICAL);
    assert_says("Uneven in step with breathing");
    assert_says("Outside the range. Count again at the apex for a full minute");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_line_holds_both_numbers),
        cmocka_unit_test(without_a_limit_nothing_passes_or_fails),
        cmocka_unit_test(too_close_names_the_range_and_the_count),
        cmocka_unit_test(doubt_and_its_reason_are_said),
        cmocka_unit_test(refusal_keeps_the_count_and_shows_no_other_number),
        cmocka_unit_test(taps_name_the_beats_that_slipped),
        cmocka_unit_test(slips_are_named_as_possible),
        cmocka_unit_test(taps_tell_how_they_were_made),
        cmocka_unit_test(no_start_is_blamed_beside_a_hole),
        cmocka_unit_test(the_edge_of_the_range_is_not_outside),
        cmocka_unit_test(fewer_at_the_wrist_is_told_as_a_possible_deficit),
        cmocka_unit_test(one_beat_of_convention_is_explained),
        cmocka_unit_test(irregular_or_outside_asks_to_look_at_the_person),
        cmocka_unit_test(a_known_recording_is_not_taken_for_a_person),
        cmocka_unit_test(the_method_belongs_to_site_and_age),
        cmocka_unit_test(short_counts_stand_beside_the_minute),
        cmocka_unit_test(what_cannot_be_compared_says_why),
        cmocka_unit_test(in_step_with_breathing_is_no_alarm),
        cmocka_unit_test(everything_together_fits),
    };
    return cmocka_run_group_tests_name("src.check_text", tests, NULL, clean_up);
}
