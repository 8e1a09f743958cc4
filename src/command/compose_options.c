#include "src/command/compose_options.h"

#include "src/base/file.h"
#include "src/command/compose_partners.h"
#include "src/document/rhythm_file.h"
#include "src/sitting/document_files.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const RHYTHMS[] = {
#define X(name, word) word,
    FM_COMPOSE_RHYTHM_MAP(X)
#undef X
        NULL};

static const char *const MURMURS[] = {
#define X(name, word) word,
    FM_COMPOSE_MURMUR_MAP(X)
#undef X
        NULL};

static const char *const BREATHINGS[] = {
#define X(name, word) word,
    FM_COMPOSE_BREATHING_MAP(X)
#undef X
        NULL};

const char *const compose_file_options[] = {"intervals", "beats", "breath-lengths",
                                            NULL};

static const char *const NONE[] = {"none", NULL};

/* 2^53: the largest seed that a JSON number of any reader holds exactly. */
static const double SEED_MAX = 9007199254740992.0;

#define WORD      OPTION_CHOICE
#define NUMBER    OPTION_NUMBER
#define WHOLE     OPTION_WHOLE
#define FLAG      OPTION_FLAG
#define TEXT      OPTION_TEXT
#define NO_LIMITS 0.0, 0.0, NULL

const option_spec compose_option_table[] = {
    {"seconds", NUMBER, "S", "length, s (default 70)", 1.0, 7200.0, NULL},
    {"rate", WHOLE, "HZ", "sample rate, Hz (default 4000)", 1000.0, 192000.0, NULL},
    {"seed", WHOLE, "N", "the same seed gives the same bytes (default 1)", 0.0,
     SEED_MAX, NULL},

    {"rhythm", WORD, "WORD",
     "steady (default), sinus-arrhythmia, premature, bigeminy, trigeminy, "
     "quadrigeminy, "
     "dropped, fibrillation, flutter, pauses, drift, rate-change, fast-run or given",
     0.0, 0.0, RHYTHMS},
    {"bpm", NUMBER, "N",
     "basic rate, per minute (default 72); dropped beats make the count lower", 30.0,
     220.0, NULL},
    {"intervals", TEXT, "FILE",
     "beat intervals in s, one a line, first line '# fullminute.intervals/1'; means "
     "--rhythm given",
     NO_LIMITS},
    {"beats", TEXT, "FILE",
     "the beats in words, such as 'beats 8 at 72' and 'early 0.65', first line "
     "'# fullminute.rhythm/1'; means --rhythm given",
     NO_LIMITS},
    {"first-beat-at", NUMBER, "S", "time of the first S1, s (default: by the seed)",
     0.0, 5.0, NULL},
    {"jitter", NUMBER, "X",
     "beat-to-beat variation, SD as a share of the interval (default 0.008)", 0.0, 0.03,
     NULL},
    {"events", NUMBER, "N",
     "early beats, rows of them or pauses, a minute (default 4; runs 2)", 1.0, 15.0,
     NULL},
    {"in-a-row", WHOLE, "N",
     "premature: early beats in a row (default 1; 2 a couplet, 3 and more a run)", 1.0,
     8.0, NULL},
    {"early-s1", NUMBER, "DB",
     "S1 of an early beat against usual, dB (default: -4 to 3 by the seed)", -20.0, 6.0,
     NULL},
    {"coupling", NUMBER, "X",
     "an early beat's interval as a share of the basic one (default 0.65; single ones "
     "0.6 to 0.75 by the seed); under 0.52 it has no S2",
     0.45, 0.9, NULL},
    {"compensation", NUMBER, "X",
     "the early interval and the one after it together, in basic intervals (default 2, "
     "a full pause; less: the base starts again from there)",
     1.5, 2.0, NULL},
    {"group", WHOLE, "N",
     "dropped: basic intervals in a group, with one beat fewer (default 4)", 2.0, 8.0,
     NULL},
    {"creep", NUMBER, "X",
     "dropped: how much the group's first interval is lengthened, as a share (default "
     "0.07)",
     0.0, 0.15, NULL},
    {"spread", NUMBER, "X",
     "fibrillation: SD of the intervals as a share of their mean (default 0.22)", 0.1,
     0.35, NULL},
    {"wrist-share", NUMBER, "X",
     "a beat before this share of the usual interval is not felt at the wrist (default "
     "0.6, fibrillation 0.75)",
     0.4, 1.0, NULL},
    {"flutter", NUMBER, "N", "flutter: the atria's rate, per minute (default 300)",
     200.0, 350.0, NULL},
    {"conduct-least", WHOLE, "N",
     "flutter: a beat comes this many atrial beats after the last, at least (default "
     "2)",
     2.0, 6.0, NULL},
    {"conduct-most", WHOLE, "N", "flutter: and at most (default 4)", 2.0, 6.0, NULL},
    {"pause", NUMBER, "X", "pauses: length in basic intervals (default 2)", 1.5, 3.0,
     NULL},
    {"drift", NUMBER, "PERCENT", "drift: change of rate a minute (default 6)", -30.0,
     30.0, NULL},
    {"change-at", NUMBER, "S",
     "rate-change, fast-run: when, s (default: mid first minute)", 0.0, 7200.0, NULL},
    {"change-bpm", NUMBER, "N",
     "rate-change, fast-run: the rate then (default 1.4 or 1.6 times --bpm)", 30.0,
     210.0, NULL},
    {"run-beats", WHOLE, "N", "fast-run: beats in the run (default 10)", 3.0, 60.0,
     NULL},

    {"breathing", WORD, "WORD",
     "even (default), irregular, pause (one pause) or waxing (waxing and waning)", 0.0,
     0.0, BREATHINGS},
    {"breaths", NUMBER, "N", "respirations per minute (default 15)", 4.0, 80.0, NULL},
    {"breath-lengths", TEXT, "FILE",
     "lengths of successive breaths in s, one a line, first line "
     "'# fullminute.intervals/1'; repeated when used up",
     NO_LIMITS},
    {"breath-jitter", NUMBER, "X",
     "variation of the breath's length, SD as a share (default 0.06)", 0.0, 0.3, NULL},
    {"breath-spread", NUMBER, "X",
     "irregular: SD of the breath's length as a share of its mean (default 0.3)", 0.1,
     0.5, NULL},
    {"breath-pause", NUMBER, "S",
     "pause: how long no breath is taken, s (default 15); waxing: the same once a "
     "swell (default 0)",
     0.0, 60.0, NULL},
    {"breath-pause-at", NUMBER, "S",
     "pause: the breath taken at this time is the last before it, s (default: by the "
     "seed, 20 to 35)",
     0.0, 7200.0, NULL},
    {"swell", NUMBER, "S",
     "waxing: seconds from one waning to the next, the pause included (default 40)",
     12.0, 120.0, NULL},
    {"breath-depth", NUMBER, "X",
     "how deep, as a share of usual (default 1); shallow breathing moves the heart "
     "sounds less",
     0.05, 1.0, NULL},
    {"inspiration", NUMBER, "X", "inspiration's share of the breath (default 0.4)", 0.2,
     0.6, NULL},
    {"rsa", NUMBER, "MS",
     "how far breathing moves the interval, longest less shortest, ms (default 220 for "
     "sinus-arrhythmia, else about 20)",
     0.0, 600.0, NULL},
    {"age", NUMBER, "YEARS",
     "sinus-arrhythmia: how far breathing moves the interval in a healthy person of "
     "this "
     "age, instead of --rsa",
     10.0, 99.0, NULL},
    {"slow-waves", NUMBER, "MS",
     "how far slow waves, about 6 a minute and no breathing, move the interval, "
     "longest less shortest, ms (default 0)",
     0.0, 100.0, NULL},
    {"swing", NUMBER, "DB",
     "how far breathing moves the loudness of heart sounds, dB (default 2)", 0.0, 12.0,
     NULL},
    {"breath-sound", NUMBER, "DB",
     "breath sounds against heart sounds, 25 to 400 Hz, dB (default -26), or none",
     -60.0, 20.0, NONE},
    {"breath-snr", NUMBER, "DB",
     "instead of --breath-sound: breath sounds over all the rest, 100 to 1000 Hz, dB; "
     "--snr is then that of the heart over noise alone",
     -40.0, 40.0, NULL},
    {"expiration", NUMBER, "DB",
     "expiration's sound against inspiration's, dB (default -8), or none: not heard",
     -40.0, 12.0, NONE},
    {"expiration-pitch", NUMBER, "X",
     "how high expiration sounds, as a share of inspiration (default 0.77)", 0.4, 1.0,
     NULL},
    {"expiration-heard", NUMBER, "X", "share of expiration that is heard (default 0.6)",
     0.2, 1.0, NULL},
    {"crackles", NUMBER, "N", "crackles in an inspiration, mean number (default 0)",
     0.0, 20.0, NULL},
    {"wheeze", NUMBER, "X", "share of breaths whose expiration whistles (default 0)",
     0.0, 1.0, NULL},

    {"no-heart", FLAG, NULL, "no heart at all, only what is added", NO_LIMITS},
    {"s1", NUMBER, "DB", "S1 against usual, dB (default 0; -60 or less: silent)", -80.0,
     12.0, NULL},
    {"s2", NUMBER, "DB", "S2 against usual, dB (default 0; -60 or less: silent)", -80.0,
     12.0, NULL},
    {"s3", NUMBER, "DB", "S3 against S1, dB, or none (default)", -40.0, 0.0, NONE},
    {"s4", NUMBER, "DB", "S4 against S1, dB, or none (default)", -40.0, 0.0, NONE},
    {"split", NUMBER, "MS", "splitting of S2 in inspiration, ms (default 20)", 0.0,
     80.0, NULL},
    {"systole", NUMBER, "X", "systole, times the usual one at the rate (default 1)",
     0.8, 1.2, NULL},
    {"loudness-jitter", NUMBER, "DB",
     "variation of loudness from sound to sound, SD, dB (default 1)", 0.0, 6.0, NULL},
    {"murmur", WORD, "WORD",
     "none (default), early-systolic, holosystolic, ejection, early-diastolic or "
     "mid-diastolic",
     0.0, 0.0, MURMURS},
    {"murmur-level", NUMBER, "DB", "murmur against S1, dB (default -14)", -40.0, 6.0,
     NULL},

    {"noise", TEXT, "WORDS",
     "what is added: white, pink, speech, room, friction, hum, music, tone; several "
     "with "
     "commas, at equal power",
     NO_LIMITS},
    {"snr", NUMBER, "DB",
     "with --noise: heart over everything added, 25 to 400 Hz, dB (default 20)", -40.0,
     40.0, NULL},
    {"hum", NUMBER, "HZ", "mains frequency of the noise hum, Hz (default 50)", 40.0,
     70.0, NULL},
    {"tone", NUMBER, "HZ", "frequency of the noise tone, Hz (default 220)", 30.0, 390.0,
     NULL},

    {"bare", FLAG, NULL, "without a chest piece's response", NO_LIMITS},
    {"small-microphone", FLAG, NULL,
     "as a small microphone hears it: high-pass at 250 Hz, 24 dB an octave", NO_LIMITS},
    {"peak", NUMBER, "DBFS", "peak level, dB of full scale (default -6)", -60.0, 0.0,
     NULL},
    {"gain", NUMBER, "DB", "gain after that, dB; what is too loud is clipped", -60.0,
     60.0, NULL},
    {"lost-at", NUMBER, "S", "a stretch of lost audio (zeros) from here, s", 0.0,
     7200.0, NULL},
    {"lost-seconds", NUMBER, "S", "length of the lost audio, s", 0.0, 7200.0, NULL},
    {"dropouts", NUMBER, "N", "short stretches of lost audio (zeros), a minute", 0.0,
     30.0, NULL},
    {"dropout-seconds", NUMBER, "S", "length of each dropout, s (default 0.4)", 0.01,
     2.0, NULL},
    {"contact-lost-at", NUMBER, "S", "the chest piece lifts or fades from here, s", 0.0,
     7200.0, NULL},
    {"contact-lost-seconds", NUMBER, "S", "until all is back, s", 0.0, 7200.0, NULL},
    {"contact-fade", NUMBER, "S",
     "how long it takes to go, and to come back, s (default 0.3)", 0.0, 60.0, NULL},
    {"contact-depth", NUMBER, "DB", "how much softer when it is gone, dB (default 50)",
     6.0, 80.0, NULL},

    {"recipe", TEXT, "FILE",
     "compose every recording of a recipe file into the folder OUT", NO_LIMITS},
    {"force", FLAG, NULL, "replace files that exist", NO_LIMITS},
    {"json", FLAG, NULL, "print the truth documents, one a line", NO_LIMITS},
    {NULL, FLAG, NULL, NULL, NO_LIMITS},
};

static_assert(sizeof compose_option_table / sizeof compose_option_table[0] - 1 <=
                  OPTIONS_MAX,
              "an option too many");

/* Options that are a number of the recipe as they stand. */
struct number_field {
    const char *option;
    size_t offset;
};

static const struct number_field NUMBER_FIELDS[] = {
    {"seconds", offsetof(fm_recipe, seconds)},
    {"rate", offsetof(fm_recipe, rate_hz)},
    {"bpm", offsetof(fm_recipe, bpm)},
    {"first-beat-at", offsetof(fm_recipe, first_beat_s)},
    {"jitter", offsetof(fm_recipe, jitter)},
    {"events", offsetof(fm_recipe, events_per_min)},
    {"coupling", offsetof(fm_recipe, coupling)},
    {"compensation", offsetof(fm_recipe, compensation)},
    {"early-s1", offsetof(fm_recipe, early_s1_db)},
    {"flutter", offsetof(fm_recipe, flutter_bpm)},
    {"creep", offsetof(fm_recipe, group_creep)},
    {"spread", offsetof(fm_recipe, spread)},
    {"wrist-share", offsetof(fm_recipe, wrist_share)},
    {"pause", offsetof(fm_recipe, pause_length)},
    {"drift", offsetof(fm_recipe, drift_percent_per_min)},
    {"change-at", offsetof(fm_recipe, change_at_s)},
    {"change-bpm", offsetof(fm_recipe, change_bpm)},
    {"breaths", offsetof(fm_recipe, breaths_per_min)},
    {"breath-jitter", offsetof(fm_recipe, breath_jitter)},
    {"breath-spread", offsetof(fm_recipe, breath_spread)},
    {"breath-pause", offsetof(fm_recipe, breath_pause_s)},
    {"breath-pause-at", offsetof(fm_recipe, breath_pause_at_s)},
    {"swell", offsetof(fm_recipe, swell_s)},
    {"breath-depth", offsetof(fm_recipe, breath_depth)},
    {"inspiration", offsetof(fm_recipe, inspiration_share)},
    {"breath-snr", offsetof(fm_recipe, breath_snr_db)},
    {"expiration", offsetof(fm_recipe, expiration_db)},
    {"expiration-pitch", offsetof(fm_recipe, expiration_pitch)},
    {"expiration-heard", offsetof(fm_recipe, expiration_heard)},
    {"crackles", offsetof(fm_recipe, crackles)},
    {"wheeze", offsetof(fm_recipe, wheeze)},
    {"rsa", offsetof(fm_recipe, rsa_ms)},
    {"slow-waves", offsetof(fm_recipe, slow_wave_ms)},
    {"swing", offsetof(fm_recipe, loudness_swing_db)},
    {"breath-sound", offsetof(fm_recipe, breath_db)},
    {"s1", offsetof(fm_recipe, s1_db)},
    {"s2", offsetof(fm_recipe, s2_db)},
    {"s3", offsetof(fm_recipe, s3_db)},
    {"s4", offsetof(fm_recipe, s4_db)},
    {"split", offsetof(fm_recipe, s2_split_ms)},
    {"systole", offsetof(fm_recipe, systole_scale)},
    {"loudness-jitter", offsetof(fm_recipe, loudness_jitter_db)},
    {"murmur-level", offsetof(fm_recipe, murmur_db)},
    {"snr", offsetof(fm_recipe, snr_db)},
    {"hum", offsetof(fm_recipe, hum_hz)},
    {"tone", offsetof(fm_recipe, tone_hz)},
    {"peak", offsetof(fm_recipe, peak_dbfs)},
    {"gain", offsetof(fm_recipe, gain_db)},
    {"lost-at", offsetof(fm_recipe, lost_start_s)},
    {"lost-seconds", offsetof(fm_recipe, lost_length_s)},
    {"dropouts", offsetof(fm_recipe, dropouts_per_min)},
    {"dropout-seconds", offsetof(fm_recipe, dropout_s)},
    {"contact-lost-at", offsetof(fm_recipe, contact_lost_start_s)},
    {"contact-lost-seconds", offsetof(fm_recipe, contact_lost_length_s)},
    {"contact-fade", offsetof(fm_recipe, contact_fade_s)},
    {"contact-depth", offsetof(fm_recipe, contact_depth_db)},
};

static void take_numbers(const options *o, fm_recipe *recipe)
{
    for (size_t i = 0; i < sizeof NUMBER_FIELDS / sizeof NUMBER_FIELDS[0]; i++) {
        const struct number_field *const f = &NUMBER_FIELDS[i];
        double *const field = (double *)(void *)((char *)recipe + f->offset);
        if (options_is(o, f->option, "none")) {
            *field = -(double)INFINITY;
        } else {
            *field = options_number(o, f->option, *field);
        }
    }
}

/* The place of a word in a NULL-ended list; its length when it is not there. */
static int word_place(const char *const *words, const char *word, size_t length)
{
    int k = 0;
    while (words[k] != NULL &&
           (strncmp(words[k], word, length) != 0 || words[k][length] != '\0')) {
        k++;
    }
    return k;
}

static bool take_noise(const options *o, fm_recipe *recipe, app_err *err)
{
    static const char *const NOISES[] = {
#define X(name, word) word,
        FM_COMPOSE_NOISE_MAP(X)
#undef X
            NULL};
    const char *at = options_text(o, "noise", NULL);
    while (at != NULL) {
        const size_t length = strcspn(at, ",");
        const int k = word_place(NOISES, at, length);
        if (k == FM_COMPOSE_NOISE_COUNT) {
            return app_err_set(err, APP_USAGE,
                               "--noise: '%.*s' is none of white, pink, speech, room, "
                               "friction, hum, music, tone",
                               (int)(length < 40 ? length : 40), at);
        }
        recipe->noise[k] = true;
        at = at[length] == ',' ? at + length + 1 : NULL;
    }
    return true;
}

static bool take_intervals(const options *o,
                           fm_recipe *recipe,
                           times *intervals,
                           app_err *err)
{
    const char *const beats = options_text(o, "beats", NULL);
    const char *const path = options_text(o, "intervals", beats);
    const bool given = recipe->rhythm == FM_COMPOSE_GIVEN;
    if (path == NULL) {
        return !given ||
               app_err_set(err, APP_USAGE,
                           "--rhythm given needs --intervals FILE or --beats FILE");
    }
    if (options_given(o, "rhythm") && !given) {
        return app_err_set(err, APP_USAGE,
                           "--%s and --rhythm %s say two things; leave one out",
                           beats != NULL ? "beats" : "intervals",
                           fm_compose_rhythm_word(recipe->rhythm));
    }
    if (beats != NULL && path != beats) {
        return app_err_set(err, APP_USAGE,
                           "--intervals and --beats say two things; leave one out");
    }
    if (beats != NULL ? !rhythm_file_read(path, intervals, err)
                      : !times_file_read(path, TIMES_INTERVALS, intervals, err)) {
        return false;
    }
    recipe->rhythm = FM_COMPOSE_GIVEN;
    recipe->intervals_s = intervals->s;
    recipe->n_intervals = intervals->n;
    return true;
}

/* What depends on the rate: how far breathing moves intervals, and flutter's own rate. */
static bool take_age(const options *o, fm_recipe *recipe, app_err *err)
{
    if (recipe->rhythm == FM_COMPOSE_FLUTTER && options_given(o, "bpm")) {
        return app_err_set(err, APP_USAGE,
                           "flutter's rate follows from --flutter, --conduct-least and "
                           "--conduct-most; leave --bpm out");
    }
    if (!options_given(o, "age")) {
        return true;
    }
    if (options_given(o, "rsa")) {
        return app_err_set(err, APP_USAGE,
                           "--age and --rsa set one swing; leave one out");
    }
    recipe->rsa_ms = fm_compose_rsa_of_age_ms(options_number(o, "age", (double)NAN),
                                              recipe->bpm, recipe->breaths_per_min);
    return true;
}

static bool take_breathing(const options *o,
                           fm_recipe *recipe,
                           times *lengths,
                           app_err *err)
{
    const char *const word = options_text(o, "breathing", BREATHINGS[0]);
    const char *const path = options_text(o, "breath-lengths", NULL);
    recipe->breathing =
        (fm_compose_breathing)word_place(BREATHINGS, word, strlen(word));
    if (options_given(o, "breath-snr") && options_given(o, "breath-sound")) {
        return app_err_set(err, APP_USAGE,
                           "--breath-snr and --breath-sound set one level; leave one "
                           "out");
    }
    if (path == NULL) {
        return true;
    }
    if (options_given(o, "breaths")) {
        return app_err_set(
            err, APP_USAGE,
            "--breath-lengths and --breaths say two things; leave one out");
    }
    if (!times_file_read(path, TIMES_INTERVALS, lengths, err)) {
        return false;
    }
    recipe->breath_lengths_s = lengths->s;
    recipe->n_breath_lengths = lengths->n;
    return true;
}

void compose_files_free(compose_files *files)
{
    times_free(&files->intervals);
    times_free(&files->breath_lengths);
}

/* All options but --recipe, --force and --json; what was read stays in files. */
static bool take_all(const options *o,
                     fm_recipe *recipe,
                     compose_files *files,
                     app_err *err)
{
    if (!compose_partners_check(o, err)) {
        return false;
    }
    *recipe = fm_recipe_default();
    take_numbers(o, recipe);
    const char *const rhythm = options_text(o, "rhythm", RHYTHMS[0]);
    const char *const murmur = options_text(o, "murmur", MURMURS[0]);
    recipe->rhythm = (fm_compose_rhythm)word_place(RHYTHMS, rhythm, strlen(rhythm));
    recipe->murmur = (fm_compose_murmur)word_place(MURMURS, murmur, strlen(murmur));
    recipe->seed = (uint64_t)options_whole(o, "seed", 1);
    recipe->group = (int)options_whole(o, "group", recipe->group);
    recipe->early_row = (int)options_whole(o, "in-a-row", recipe->early_row);
    recipe->conduct_least =
        (int)options_whole(o, "conduct-least", recipe->conduct_least);
    recipe->conduct_most = (int)options_whole(o, "conduct-most", recipe->conduct_most);
    recipe->run_beats = (int)options_whole(o, "run-beats", recipe->run_beats);
    recipe->heart = !options_given(o, "no-heart");
    recipe->chest_piece = !options_given(o, "bare");
    recipe->small_microphone = options_given(o, "small-microphone");
    if (!take_age(o, recipe, err) || !take_noise(o, recipe, err) ||
        !take_intervals(o, recipe, &files->intervals, err) ||
        !take_breathing(o, recipe, &files->breath_lengths, err)) {
        return false;
    }
    const char *const fault = fm_recipe_fault(recipe);
    return fault == NULL || app_err_set(err, APP_USAGE, "%s", fault);
}

bool compose_options_recipe(const options *o,
                            fm_recipe *recipe,
                            compose_files *files,
                            app_err *err)
{
    *files = (compose_files){TIMES_NONE, TIMES_NONE};
    if (!take_all(o, recipe, files, err)) {
        compose_files_free(files);
        return false;
    }
    return true;
}

static bool names_a_file(const char *option)
{
    size_t k = 0;
    while (compose_file_options[k] != NULL &&
           strcmp(compose_file_options[k], option) != 0) {
        k++;
    }
    return compose_file_options[k] != NULL;
}

static bool changes_sound(const char *name)
{
    return strcmp(name, "recipe") != 0 && strcmp(name, "force") != 0 &&
           strcmp(name, "json") != 0;
}

void compose_options_format(const options *o, char *out, size_t bytes)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        const option_spec *const spec = &o->specs[i];
        if (o->texts[i] == NULL || !changes_sound(spec->name)) {
            continue;
        }
        const char *const value =
            names_a_file(spec->name) ? file_base_name(o->texts[i]) : o->texts[i];
        const int n =
            snprintf(out + used, bytes - used, "%s--%s%s%s", used > 0 ? " " : "",
                     spec->name, value[0] != '\0' ? " " : "", value);
        if (n < 0 || (size_t)n >= bytes - used) {
            out[0] = '\0';
            return;
        }
        used += (size_t)n;
    }
}
