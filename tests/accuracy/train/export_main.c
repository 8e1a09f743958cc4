/*
 * Writes what train_emission.py and train_confidence.py learn from. See README.md in the
 * folder above.
 */
#include "../music.h"
#include "../sampler.h"
#include "../truth.h"
#include "dsp/fullminute_compose.h"
#include "export.h"

#include "dsp/signal/random.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The stream of a seed that the pieces are drawn from. */
static const uint64_t MUSIC_STREAM = 0x3051C;

static const char USAGE[] =
    "usage: accuracy_export patches|evidence OUT SOURCE [WINDOW_S]\n"
    "  SOURCE   composed FIRST N   seeds of the evaluation's sampler\n"
    "           noheart FIRST N    the same without a heart\n"
    "           music FIRST N      small pieces of music, no heart\n"
    "           folder FOLDER      recordings with truth (see accuracy --help)\n"
    "  WINDOW_S evidence: also windows of this length, side by side\n";

typedef struct job {
    bool evidence;
    double window_s; /* 0: only the whole */
    exporter *exporter;
} job;

static bool put(const job *j, const sound *s, const export_truth *truth)
{
    if (!j->evidence) {
        return export_patches(j->exporter, s, truth);
    }
    const double whole_s = fmin((double)s->n / s->rate_hz, FM_WINDOW_MAX_S);
    bool ok = export_evidence(j->exporter, s, truth, 0.0, whole_s);
    for (double at = 0.0; j->window_s > 0.0 && at + j->window_s <= whole_s && ok;
         at += j->window_s) {
        ok = export_evidence(j->exporter, s, truth, at, j->window_s);
    }
    return ok;
}

/* A sound with no heart in it: the sampler's noise, or another by the seed. */
static void take_heart_away(fm_recipe *r)
{
    r->heart = false;
    uint64_t h = r->seed * 0x9E3779B97F4A7C15u;
    memset(r->noise, 0, sizeof(r->noise));
    r->noise[(h >> 8) % FM_COMPOSE_NOISE_COUNT] = true;
    if ((h >> 20) % 3 == 0) {
        r->noise[(h >> 28) % FM_COMPOSE_NOISE_COUNT] = true;
    }
    r->small_microphone = (h >> 36) % 4 == 0;
}

static bool put_composed(const job *j, uint64_t seed, bool heart)
{
    char name[32];
    sample drawn = sample_of_seed(seed, -1);
    if (!heart) {
        take_heart_away(&drawn.recipe);
    }
    sound s = {.n = fm_recipe_samples(&drawn.recipe), .rate_hz = drawn.recipe.rate_hz};
    s.samples = calloc(s.n, sizeof(*s.samples));
    fm_truth truth = {0};
    bool ok = s.samples && fm_compose(&drawn.recipe, s.samples, s.n, &truth) == FM_OK;
    if (ok) {
        (void)snprintf(name, sizeof(name), "%llu", (unsigned long long)seed);
        const export_truth known = {
            .name = name,
            .group = heart ? "composed" : "none",
            .s1_s = truth.s1_s,
            .n_s1 = heart ? truth.n_s1 : 0,
            .s2_s = truth.s2_s,
            .n_s2 = heart ? truth.n_s2 : 0,
            .span_end_s = drawn.recipe.seconds,
        };
        ok = put(j, &s, &known);
    }
    fm_truth_free(&truth);
    free(s.samples);
    return ok;
}

static bool put_music(const job *j, uint64_t seed)
{
    enum {
        RATE = 4000,
        SECONDS = 64
    };
    char name[32];
    fm_random state = fm_random_init(seed, MUSIC_STREAM);
    const piece p = {
        .quarter_per_min = fm_random_between(&state, 45.0, 180.0),
        .melody = (timbre)(fm_random_next(&state) % TIMBRE_COUNT),
        .bass = fm_random_between(&state, 0.0, 1.0) < 0.6,
        .drums = fm_random_between(&state, 0.0, 1.0) < 0.5,
        .seed = seed,
    };
    sound s = {.n = (size_t)RATE * SECONDS, .rate_hz = RATE};
    s.samples = calloc(s.n, sizeof(*s.samples));
    bool ok = s.samples != NULL;
    if (ok) {
        music_play(&p, s.rate_hz, s.samples, s.n);
        (void)snprintf(name, sizeof(name), "m%llu", (unsigned long long)seed);
        const export_truth known = {
            .name = name, .group = "none", .span_end_s = SECONDS};
        ok = put(j, &s, &known);
    }
    free(s.samples);
    return ok;
}

static bool put_folder(const job *j, const char *folder)
{
    recordings list = {0};
    bool ok = recordings_add_folder(&list, folder) > 0;
    for (size_t i = 0; i < list.n && ok; i++) {
        const recording *r = &list.items[i];
        sound s;
        if (!sound_read(&s, r->path)) {
            ok = false;
            break;
        }
        const export_truth known = {
            .name = r->name,
            .group = r->group,
            .s1_s = r->beats_s,
            .n_s1 = r->n_beats,
            .span_start_s = r->whole ? 0.0 : r->span_start_s,
            .span_end_s = r->whole ? (double)s.n / s.rate_hz : r->span_end_s,
        };
        ok = put(j, &s, &known);
        sound_free(&s);
    }
    recordings_free(&list);
    return ok;
}

static bool run(int argc, char **argv, const job *j)
{
    if (strcmp(argv[3], "folder") == 0) {
        return put_folder(j, argv[4]);
    }
    const bool heart = strcmp(argv[3], "composed") == 0;
    const bool music = strcmp(argv[3], "music") == 0;
    if (argc < 6 || (!heart && !music && strcmp(argv[3], "noheart") != 0)) {
        (void)fputs(USAGE, stderr);
        return false;
    }
    const uint64_t first = strtoull(argv[4], NULL, 10);
    const uint64_t n = strtoull(argv[5], NULL, 10);
    bool ok = true;
    for (uint64_t seed = first; seed < first + n && ok; seed++) {
        ok = music ? put_music(j, seed) : put_composed(j, seed, heart);
    }
    return ok;
}

int main(int argc, char **argv)
{
    if (argc < 5 ||
        (strcmp(argv[1], "patches") != 0 && strcmp(argv[1], "evidence") != 0)) {
        (void)fputs(USAGE, stderr);
        return 2;
    }
    const int window_at = strcmp(argv[3], "folder") == 0 ? 5 : 6;
    FILE *out = fopen(argv[2], "wb");
    job j = {
        .evidence = strcmp(argv[1], "evidence") == 0,
        .window_s = argc > window_at ? strtod(argv[window_at], NULL) : 0.0,
        .exporter = out ? exporter_create(out) : NULL,
    };
    if (j.exporter) {
        export_names(j.exporter, j.evidence);
    }
    const bool ok = j.exporter && run(argc, argv, &j);
    exporter_destroy(j.exporter);
    if (!out || fclose(out) != 0 || !ok) {
        (void)fprintf(stderr, "accuracy_export: could not write all of %s\n", argv[2]);
        return 1;
    }
    return 0;
}
