#include "src/command/compose_options.h"

#include "src/port/file.h"
#include "src/usecase/document_files.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const field_word RHYTHMS[] = {FM_COMPOSE_RHYTHM_MAP(FIELD_WORD){NULL, 0}};
static const field_word MURMURS[] = {FM_COMPOSE_MURMUR_MAP(FIELD_WORD){NULL, 0}};
static const field_word BREATHINGS[] = {FM_COMPOSE_BREATHING_MAP(FIELD_WORD){NULL, 0}};
static const field_word NOISES[] = {FM_COMPOSE_NOISE_MAP(FIELD_WORD){NULL, 0}};
static const field_word NONE[] = {{"none", -(double)INFINITY}, {NULL, 0}};

const char *const compose_file_options[] = {"intervals", "beats", "breath-lengths",
                                            NULL};

/* None was said. */
#define NO_RHYTHM FM_COMPOSE_RHYTHM_COUNT

/* 2^53: the largest seed that a JSON number of any reader holds exactly. */
static const double SEED_MAX = 9007199254740992.0;

static bool read_noise(const char *text, void *member, app_err *err)
{
    bool *const noise = member;
    for (const char *at = text; at != NULL; at = strchr(at, ',')) {
        at += at > text; /* past the comma */
        char word[16];
        const size_t length = strcspn(at, ",");
        (void)snprintf(word, sizeof word, "%.*s", (int)(length < 16 ? length : 15), at);
        const field_word *const named = field_word_named(NOISES, word);
        if (named == NULL) {
            return app_err_set(err, APP_USAGE,
                               "--noise: '%.*s' is none of white, pink, speech, room, "
                               "friction, hum, music, tone",
                               (int)(length < 40 ? length : 40), at);
        }
        noise[(size_t)named->value] = true;
    }
    return true;
}

const option_spec compose_option_table[] = {
    {"seconds", "S", OPTION_NUMBER(compose_plan, recipe.seconds, 1.0, 7200.0),
     "length, s (default 70)"},
    {"rate", "HZ", OPTION_WHOLE(compose_plan, recipe.rate_hz, 1000.0, 192000.0),
     "sample rate, Hz (default 4000)"},
    {"seed", "N", OPTION_NUMBER(compose_plan, recipe.seed, 0.0, SEED_MAX),
     "the same seed gives the same bytes (default 1)"},
    {"rhythm", "WORD", OPTION_CHOICE(compose_plan, recipe.rhythm, RHYTHMS),
     "steady (default), sinus-arrhythmia, premature, bigeminy, trigeminy, "
     "quadrigeminy, dropped, fibrillation, flutter, pauses, drift, rate-change, "
     "fast-run or given"},
    {"bpm", "N", OPTION_NUMBER(compose_plan, recipe.bpm, 30.0, 220.0),
     "basic rate, per minute (default 72); dropped beats make the count lower"},
    {"intervals", "FILE", OPTION_TEXT(compose_plan, intervals),
     "beat intervals in s, one a line, first line '# fullminute.intervals/1'; means "
     "--rhythm given"},
    {"beats", "FILE", OPTION_TEXT(compose_plan, beats),
     "the beats in words, such as 'beats 8 at 72' and 'early 0.65', first line '# "
     "fullminute.rhythm/1'; means --rhythm given"},
    {"first-beat-at", "S", OPTION_NUMBER(compose_plan, recipe.first_beat_s, 0.0, 5.0),
     "time of the first S1, s (default: by the seed)"},
    {"jitter", "X", OPTION_NUMBER(compose_plan, recipe.jitter, 0.0, 0.03),
     "beat-to-beat variation, SD as a share of the interval (default 0.008)"},
    {"events", "N", OPTION_NUMBER(compose_plan, recipe.events_per_min, 1.0, 15.0),
     "early beats, rows of them or pauses, a minute (default 4; runs 2)"},
    {"in-a-row", "N", OPTION_NUMBER(compose_plan, recipe.early_row, 1.0, 8.0),
     "premature: early beats in a row (default 1; 2 a couplet, 3 and more a run)"},
    {"early-s1", "DB", OPTION_NUMBER(compose_plan, recipe.early_s1_db, -20.0, 6.0),
     "S1 of an early beat against usual, dB (default: -4 to 3 by the seed)"},
    {"coupling", "X", OPTION_NUMBER(compose_plan, recipe.coupling, 0.45, 0.9),
     "an early beat's interval as a share of the basic one (default 0.65; single ones "
     "0.6 to 0.75 by the seed); under 0.52 it has no S2"},
    {"compensation", "X", OPTION_NUMBER(compose_plan, recipe.compensation, 1.5, 2.0),
     "the early interval and the one after it together, in basic intervals (default 2, "
     "a full pause; less: the base starts again from there)"},
    {"group", "N", OPTION_NUMBER(compose_plan, recipe.group, 2.0, 8.0),
     "dropped: basic intervals in a group, with one beat fewer (default 4)"},
    {"creep", "X", OPTION_NUMBER(compose_plan, recipe.group_creep, 0.0, 0.15),
     "dropped: how much the group's first interval is lengthened, as a share (default "
     "0.07)"},
    {"spread", "X", OPTION_NUMBER(compose_plan, recipe.spread, 0.1, 0.35),
     "fibrillation: SD of the intervals as a share of their mean (default 0.22)"},
    {"wrist-share", "X", OPTION_NUMBER(compose_plan, recipe.wrist_share, 0.4, 1.0),
     "a beat before this share of the usual interval is not felt at the wrist (default "
     "0.6, fibrillation 0.75)"},
    {"flutter", "N", OPTION_NUMBER(compose_plan, recipe.flutter_bpm, 200.0, 350.0),
     "flutter: the atria's rate, per minute (default 300)"},
    {"conduct-least", "N", OPTION_NUMBER(compose_plan, recipe.conduct_least, 2.0, 6.0),
     "flutter: a beat comes this many atrial beats after the last, at least (default "
     "2)"},
    {"conduct-most", "N", OPTION_NUMBER(compose_plan, recipe.conduct_most, 2.0, 6.0),
     "flutter: and at most (default 4)"},
    {"pause", "X", OPTION_NUMBER(compose_plan, recipe.pause_length, 1.5, 3.0),
     "pauses: length in basic intervals (default 2)"},
    {"drift", "PERCENT",
     OPTION_NUMBER(compose_plan, recipe.drift_percent_per_min, -30.0, 30.0),
     "drift: change of rate a minute (default 6)"},
    {"change-at", "S", OPTION_NUMBER(compose_plan, recipe.change_at_s, 0.0, 7200.0),
     "rate-change, fast-run: when, s (default: mid first minute)"},
    {"change-bpm", "N", OPTION_NUMBER(compose_plan, recipe.change_bpm, 30.0, 210.0),
     "rate-change, fast-run: the rate then (default 1.4 or 1.6 times --bpm)"},
    {"run-beats", "N", OPTION_NUMBER(compose_plan, recipe.run_beats, 3.0, 60.0),
     "fast-run: beats in the run (default 10)"},
    {"breathing", "WORD", OPTION_CHOICE(compose_plan, recipe.breathing, BREATHINGS),
     "even (default), irregular, pause (one pause) or waxing (waxing and waning)"},
    {"breaths", "N", OPTION_NUMBER(compose_plan, recipe.breaths_per_min, 4.0, 80.0),
     "respirations per minute (default 15)"},
    {"breath-lengths", "FILE", OPTION_TEXT(compose_plan, breath_lengths),
     "lengths of successive breaths in s, one a line, first line '# "
     "fullminute.intervals/1'; repeated when used up"},
    {"breath-jitter", "X", OPTION_NUMBER(compose_plan, recipe.breath_jitter, 0.0, 0.3),
     "variation of the breath's length, SD as a share (default 0.06)"},
    {"breath-spread", "X", OPTION_NUMBER(compose_plan, recipe.breath_spread, 0.1, 0.5),
     "irregular: SD of the breath's length as a share of its mean (default 0.3)"},
    {"breath-pause", "S", OPTION_NUMBER(compose_plan, recipe.breath_pause_s, 0.0, 60.0),
     "pause: how long no breath is taken, s (default 15); waxing: the same once a "
     "swell (default 0)"},
    {"breath-pause-at", "S",
     OPTION_NUMBER(compose_plan, recipe.breath_pause_at_s, 0.0, 7200.0),
     "pause: the breath taken at this time is the last before it, s (default: by the "
     "seed, 20 to 35)"},
    {"swell", "S", OPTION_NUMBER(compose_plan, recipe.swell_s, 12.0, 120.0),
     "waxing: seconds from one waning to the next, the pause included (default 40)"},
    {"breath-depth", "X", OPTION_NUMBER(compose_plan, recipe.breath_depth, 0.05, 1.0),
     "how deep, as a share of usual (default 1); shallow breathing moves the heart "
     "sounds less"},
    {"inspiration", "X",
     OPTION_NUMBER(compose_plan, recipe.inspiration_share, 0.2, 0.6),
     "inspiration's share of the breath (default 0.4)"},
    {"rsa", "MS", OPTION_NUMBER(compose_plan, recipe.rsa_ms, 0.0, 600.0),
     "how far breathing moves the interval, longest less shortest, ms (default 220 for "
     "sinus-arrhythmia, else about 20)"},
    {"age", "YEARS", OPTION_NUMBER(compose_plan, age_years, 10.0, 99.0),
     "sinus-arrhythmia: how far breathing moves the interval in a healthy person of "
     "this age, instead of --rsa"},
    {"slow-waves", "MS", OPTION_NUMBER(compose_plan, recipe.slow_wave_ms, 0.0, 100.0),
     "how far slow waves, about 6 a minute and no breathing, move the interval, "
     "longest less shortest, ms (default 0)"},
    {"swing", "DB", OPTION_NUMBER(compose_plan, recipe.loudness_swing_db, 0.0, 12.0),
     "how far breathing moves the loudness of heart sounds, dB (default 2)"},
    {"breath-sound", "DB",
     OPTION_OR_WORD(compose_plan, recipe.breath_db, -60.0, 20.0, NONE),
     "breath sounds against heart sounds, 25 to 400 Hz, dB (default -26), or none"},
    {"breath-snr", "DB", OPTION_NUMBER(compose_plan, recipe.breath_snr_db, -40.0, 40.0),
     "instead of --breath-sound: breath sounds over all the rest, 100 to 1000 Hz, dB; "
     "--snr is then that of the heart over noise alone"},
    {"expiration", "DB",
     OPTION_OR_WORD(compose_plan, recipe.expiration_db, -40.0, 12.0, NONE),
     "expiration's sound against inspiration's, dB (default -8), or none: not heard"},
    {"expiration-pitch", "X",
     OPTION_NUMBER(compose_plan, recipe.expiration_pitch, 0.4, 1.0),
     "how high expiration sounds, as a share of inspiration (default 0.77)"},
    {"expiration-heard", "X",
     OPTION_NUMBER(compose_plan, recipe.expiration_heard, 0.2, 1.0),
     "share of expiration that is heard (default 0.6)"},
    {"crackles", "N", OPTION_NUMBER(compose_plan, recipe.crackles, 0.0, 20.0),
     "crackles in an inspiration, mean number (default 0)"},
    {"wheeze", "X", OPTION_NUMBER(compose_plan, recipe.wheeze, 0.0, 1.0),
     "share of breaths whose expiration whistles (default 0)"},
    {"no-heart", NULL, OPTION_FLAG(compose_plan, recipe.heart),
     "no heart at all, only what is added"},
    {"s1", "DB", OPTION_NUMBER(compose_plan, recipe.s1_db, -80.0, 12.0),
     "S1 against usual, dB (default 0; -60 or less: silent)"},
    {"s2", "DB", OPTION_NUMBER(compose_plan, recipe.s2_db, -80.0, 12.0),
     "S2 against usual, dB (default 0; -60 or less: silent)"},
    {"s3", "DB", OPTION_OR_WORD(compose_plan, recipe.s3_db, -40.0, 0.0, NONE),
     "S3 against S1, dB, or none (default)"},
    {"s4", "DB", OPTION_OR_WORD(compose_plan, recipe.s4_db, -40.0, 0.0, NONE),
     "S4 against S1, dB, or none (default)"},
    {"split", "MS", OPTION_NUMBER(compose_plan, recipe.s2_split_ms, 0.0, 80.0),
     "splitting of S2 in inspiration, ms (default 20)"},
    {"systole", "X", OPTION_NUMBER(compose_plan, recipe.systole_scale, 0.8, 1.2),
     "systole, times the usual one at the rate (default 1)"},
    {"loudness-jitter", "DB",
     OPTION_NUMBER(compose_plan, recipe.loudness_jitter_db, 0.0, 6.0),
     "variation of loudness from sound to sound, SD, dB (default 1)"},
    {"murmur", "WORD", OPTION_CHOICE(compose_plan, recipe.murmur, MURMURS),
     "none (default), early-systolic, holosystolic, ejection, early-diastolic or "
     "mid-diastolic"},
    {"murmur-level", "DB", OPTION_NUMBER(compose_plan, recipe.murmur_db, -40.0, 6.0),
     "murmur against S1, dB (default -14)"},
    {"noise", "WORDS", OPTION_OWN(compose_plan, recipe.noise, read_noise),
     "what is added: white, pink, speech, room, friction, hum, music, tone; several "
     "with commas, at equal power"},
    {"snr", "DB", OPTION_NUMBER(compose_plan, recipe.snr_db, -40.0, 40.0),
     "with --noise: heart over everything added, 25 to 400 Hz, dB (default 20)"},
    {"hum", "HZ", OPTION_NUMBER(compose_plan, recipe.hum_hz, 40.0, 70.0),
     "mains frequency of the noise hum, Hz (default 50)"},
    {"tone", "HZ", OPTION_NUMBER(compose_plan, recipe.tone_hz, 30.0, 390.0),
     "frequency of the noise tone, Hz (default 220)"},
    {"bare", NULL, OPTION_FLAG(compose_plan, recipe.chest_piece),
     "without a chest piece's response"},
    {"small-microphone", NULL, OPTION_FLAG(compose_plan, recipe.small_microphone),
     "as a small microphone hears it: high-pass at 250 Hz, 24 dB an octave"},
    {"peak", "DBFS", OPTION_NUMBER(compose_plan, recipe.peak_dbfs, -60.0, 0.0),
     "peak level, dB of full scale (default -6)"},
    {"gain", "DB", OPTION_NUMBER(compose_plan, recipe.gain_db, -60.0, 60.0),
     "gain after that, dB; what is too loud is clipped"},
    {"lost-at", "S", OPTION_NUMBER(compose_plan, recipe.lost_start_s, 0.0, 7200.0),
     "a stretch of lost audio (zeros) from here, s"},
    {"lost-seconds", "S",
     OPTION_NUMBER(compose_plan, recipe.lost_length_s, 0.0, 7200.0),
     "length of the lost audio, s"},
    {"dropouts", "N", OPTION_NUMBER(compose_plan, recipe.dropouts_per_min, 0.0, 30.0),
     "short stretches of lost audio (zeros), a minute"},
    {"dropout-seconds", "S", OPTION_NUMBER(compose_plan, recipe.dropout_s, 0.01, 2.0),
     "length of each dropout, s (default 0.4)"},
    {"contact-lost-at", "S",
     OPTION_NUMBER(compose_plan, recipe.contact_lost_start_s, 0.0, 7200.0),
     "the chest piece lifts or fades from here, s"},
    {"contact-lost-seconds", "S",
     OPTION_NUMBER(compose_plan, recipe.contact_lost_length_s, 0.0, 7200.0),
     "until all is back, s"},
    {"contact-fade", "S", OPTION_NUMBER(compose_plan, recipe.contact_fade_s, 0.0, 60.0),
     "how long it takes to go, and to come back, s (default 0.3)"},
    {"contact-depth", "DB",
     OPTION_NUMBER(compose_plan, recipe.contact_depth_db, 6.0, 80.0),
     "how much softer when it is gone, dB (default 50)"},
    {"recipe", "FILE", OPTION_TEXT(compose_plan, batch.recipe),
     "compose every recording of a recipe file into the folder OUT"},
    {"force", NULL, OPTION_FLAG(compose_plan, batch.force), "replace files that exist"},
    {"json", NULL, OPTION_FLAG(compose_plan, batch.json),
     "print the truth documents, one a line"},
    OPTIONS_END,
};

static_assert(sizeof compose_option_table / sizeof compose_option_table[0] - 1 <=
                  OPTIONS_MAX,
              "an option too many");

static bool take_intervals(const compose_plan *p,
                           fm_recipe *recipe,
                           times *intervals,
                           app_err *err)
{
    const char *const path = p->intervals != NULL ? p->intervals : p->beats;
    const bool given = recipe->rhythm == FM_COMPOSE_GIVEN;
    if (path == NULL) {
        return !given ||
               app_err_set(err, APP_USAGE,
                           "--rhythm given needs --intervals FILE or --beats FILE");
    }
    if (recipe->rhythm != NO_RHYTHM && !given) {
        return app_err_set(err, APP_USAGE,
                           "--%s and --rhythm %s say two things; leave one out",
                           p->beats != NULL ? "beats" : "intervals",
                           fm_compose_rhythm_word(recipe->rhythm));
    }
    if (p->beats != NULL && p->intervals != NULL) {
        return app_err_set(err, APP_USAGE,
                           "--intervals and --beats say two things; leave one out");
    }
    if (p->beats != NULL ? !rhythm_file_read(path, intervals, err)
                         : !times_file_read(path, TIMES_INTERVALS, intervals, err)) {
        return false;
    }
    recipe->rhythm = FM_COMPOSE_GIVEN;
    recipe->intervals_s = intervals->s;
    recipe->n_intervals = intervals->n;
    return true;
}

static bool take_breathing(const compose_plan *p,
                           fm_recipe *recipe,
                           times *lengths,
                           app_err *err)
{
    if (p->breath_lengths == NULL) {
        return true;
    }
    if (!times_file_read(p->breath_lengths, TIMES_INTERVALS, lengths, err)) {
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

/* Two options that say one thing. */
static bool check_twins(const options *o, const compose_plan *p, app_err *err)
{
    static const struct {
        const char *one, *other, *what;
    } TWINS[] = {
        {"age", "rsa", "set one swing"},
        {"breath-snr", "breath-sound", "set one level"},
        {"breath-lengths", "breaths", "say two things"},
    };
    for (size_t i = 0; i < sizeof TWINS / sizeof TWINS[0]; i++) {
        if (options_typed(o, TWINS[i].one) != NULL &&
            options_typed(o, TWINS[i].other) != NULL) {
            return app_err_set(err, APP_USAGE, "--%s and --%s %s; leave one out",
                               TWINS[i].one, TWINS[i].other, TWINS[i].what);
        }
    }
    return p->recipe.rhythm != FM_COMPOSE_FLUTTER || options_typed(o, "bpm") == NULL ||
           app_err_set(err, APP_USAGE,
                       "flutter's rate follows from --flutter, --conduct-least and "
                       "--conduct-most; leave --bpm out");
}

/* All options but --recipe, --force and --json; what was read stays in files. */
static bool take_all(const options *o,
                     fm_recipe *recipe,
                     compose_files *files,
                     app_err *err)
{
    compose_plan p = {.recipe = fm_recipe_default(), .age_years = (double)NAN};
    p.recipe.rhythm = NO_RHYTHM;
    if (!compose_partners_check(o, err) || !options_fill(o, &p, err) ||
        !check_twins(o, &p, err)) {
        return false;
    }
    *recipe = p.recipe;
    if (!isnan(p.age_years)) {
        recipe->rsa_ms =
            fm_compose_rsa_of_age_ms(p.age_years, recipe->bpm, recipe->breaths_per_min);
    }
    if (!take_intervals(&p, recipe, &files->intervals, err) ||
        !take_breathing(&p, recipe, &files->breath_lengths, err)) {
        return false;
    }
    if (recipe->rhythm == NO_RHYTHM) {
        recipe->rhythm = FM_COMPOSE_STEADY;
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

bool compose_options_changes_sound(const option_spec *spec)
{
    return spec->to.offset < offsetof(compose_plan, batch);
}

void compose_options_format(const options *o, char *out, size_t bytes)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        const option_spec *const spec = &o->specs[i];
        if (o->texts[i] == NULL || !compose_options_changes_sound(spec)) {
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
