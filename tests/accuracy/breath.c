/* Measures the count of breaths: cases, the analysis of each, and its row. */
#include "breath.h"

#include "breath_case.h"
#include "breath_table.h"
#include "match.h"
#include "pool.h"

#include "dsp/minute.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Tolerance in practice for a breath's start: 0.3 to 0.5 s (from memory). */
static const double START_NEAR_S = 0.5;

enum {
    MANIKIN = 48,
    WORDS_MAX = 3
};

/* One run over many cases. */
typedef struct breath_job {
    const settings *options;
    const char *folder;
    breath_rows rows;
    recordings chests;
    breath_list list;
    double rate_per_min[MANIKIN + 1];
    int what;  /* BREATH_LOUD: composed */
    bool cut;  /* real lengths in short files */
    bool both; /* the manikin until both tracks are over */
    breath_outcome *out;
} breath_job;

/* What an analysis needs; heap, as it is large. */
typedef struct bench {
    fm_collector *collector;
    fm_minute *minute;
    fm_segment segment;
    fm_count count;
} bench;

static void bench_free(bench *b)
{
    if (b != NULL) {
        fm_collector_destroy(b->collector);
        fm_minute_destroy(b->minute);
        free(b);
    }
}

static bench *bench_make(double rate_hz)
{
    bench *b = calloc(1, sizeof *b);
    if (b == NULL) {
        return NULL;
    }
    b->collector = fm_collector_create(rate_hz);
    b->minute = fm_minute_create();
    if (b->collector == NULL || b->minute == NULL) {
        bench_free(b);
        return NULL;
    }
    return b;
}

/* What train/train_breath.py learns from: one record a recording, little-endian. */
typedef struct learning_row {
    char name[96];
    int32_t kind;
    int32_t placed; /* breaths placed in the window */
    float true_per_min, window_s, said_per_min;
    float grounds[FM_GROUND_SIZE];
    float evidence[FM_BREATH_HYPOTHESES][FM_LENGTH_SIZE];
} learning_row;

/* The first lines of the rows: names of the numbers, and which cues know each (names.py). */
static void write_names(void)
{
    (void)fputs("names FM_GROUND", stdout);
#define X(name) (void)fputs(" " #name, stdout);
    FM_GROUND_MAP(X)
#undef X
    (void)fputs("\nnames FM_LENGTH", stdout);
#define X(name, cues, breaths) (void)printf(" %s:%d", #name, cues);
    FM_LENGTH_MAP(X)
#undef X
    (void)fputc('\n', stdout);
}

static void write_row(const breath_outcome *o,
                      const fm_breath *breath,
                      const fm_breath_basis *basis)
{
    learning_row *row = calloc(1, sizeof *row);
    if (row == NULL) {
        return;
    }
    (void)snprintf(row->name, sizeof row->name, "%s", o->name);
    row->kind = o->kind;
    row->placed = (int32_t)breath->count.n;
    row->true_per_min = (float)o->true_per_min;
    row->window_s = (float)(breath->count.window.end_s - breath->count.window.start_s);
    row->said_per_min = (float)basis->rate_per_min;
    (void)memcpy(row->grounds, basis->grounds.value, sizeof row->grounds);
    (void)memcpy(row->evidence, basis->evidence.value, sizeof row->evidence);
    flockfile(stdout);
    (void)fwrite(row, sizeof *row, 1, stdout);
    funlockfile(stdout);
    free(row);
}

static void analyse(const breath_job *job, const breath_case *c, breath_outcome *o)
{
    bench *b = bench_make(c->sound.rate_hz);
    if (b == NULL) {
        return;
    }
    const int64_t total = (int64_t)c->sound.n;
    const double begin_s = fmax(0.0, c->start_s - FM_CONTEXT_S);
    const int64_t first = (int64_t)(begin_s * c->sound.rate_hz);
    const int64_t from = (int64_t)(c->start_s * c->sound.rate_hz + 0.5);
    const int64_t end =
        (int64_t)((c->start_s + c->window_s + FM_CONTEXT_S) * c->sound.rate_hz);
    const int64_t last = end < total ? end : total;
    fm_collector_begin(b->collector, first, from,
                       from + (int64_t)(c->window_s * c->sound.rate_hz + 0.5));
    fm_collector_push(b->collector, c->sound.samples + first, (size_t)(last - first));
    fm_collector_finish(b->collector, last, &b->segment);
    fm_minute_analyse(b->minute, &b->segment, &b->count);
    o->breath = b->count.breath;
    o->heart_status = b->count.heart.count.status;
    o->n_starts = c->n_starts;
    o->n_matched = match_times(c->starts_s, c->n_starts, o->breath.count.onsets_s,
                               o->breath.count.n, 0.0, START_NEAR_S);
    o->good = true;
    if (job->options->dump_all) {
        write_row(o, &b->count.breath, fm_minute_breath(b->minute));
    }
    bench_free(b);
}

static bool make_case(const breath_job *job, size_t i, breath_case *c)
{
    const uint64_t seed = job->options->first_seed + i;
    if (job->what == BREATH_CYCLES) {
        return breath_case_cycles(&job->rows, i % breath_rows_with(&job->rows, 6), seed,
                                  job->cut, c);
    }
    if (job->what == BREATH_MANIKIN) {
        const int number = 1 + (int)(i % MANIKIN);
        const size_t way = i / MANIKIN;
        breath_length length = way < BREATH_SPEEDS ? BREATH_AS_HEART : BREATH_MINUTE;
        length = job->both ? BREATH_AS_BOTH : length;
        return breath_case_manikin(job->folder, number, job->rate_per_min[number],
                                   breath_speed((int)(way % BREATH_SPEEDS)), length, c);
    }
    if (job->what == BREATH_REAL) {
        return breath_case_real(&job->list, i, c);
    }
    if (job->what == BREATH_CHEST) {
        return breath_case_chest(&job->chests.items[i], c);
    }
    return breath_case_composed(seed, c);
}

static void run_case(size_t i, void *context)
{
    breath_job *job = context;
    breath_case c = {0};
    breath_outcome *o = &job->out[i];
    *o = (breath_outcome){0};
    if (make_case(job, i, &c)) {
        (void)memcpy(o->name, c.name, sizeof o->name);
        o->kind = c.kind;
        o->true_per_min = c.true_per_min;
        o->snr_db = c.snr_db;
        o->speed = c.speed;
        o->whole_minute = c.window_s > 59.9;
        analyse(job, &c, o);
    }
    sound_free(&c.sound);
}

/* The manikin's own rates, from its truth.csv: number and the seventh column. */
static bool read_rates(breath_job *job)
{
    char path[1024];
    char line[512];
    (void)snprintf(path, sizeof path, "%s/truth.csv", job->folder);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return false;
    }
    while (fgets(line, sizeof line, file) != NULL) {
        const long number = line[0] == 'M' ? strtol(line + 1, NULL, 10) : 0;
        const char *at = line;
        for (int comma = 0; comma < 6 && at != NULL; comma++) {
            at = strchr(at + 1, ',');
        }
        if (number >= 1 && number <= MANIKIN && at != NULL) {
            job->rate_per_min[number] = strtod(at + 1, NULL);
        }
    }
    (void)fclose(file);
    return job->rate_per_min[1] > 0.0 && job->rate_per_min[MANIKIN] > 0.0;
}

static int run_job(breath_job *job, size_t n)
{
    job->out = calloc(n, sizeof *job->out);
    if (job->out == NULL) {
        return EXIT_FAILED;
    }
    if (job->options->dump_all) {
        write_names();
    }
    pool_run(n, job->options->jobs, run_case, job);
    if (!job->options->dump_all) {
        breath_tables(job->out, n, job->options->each);
    }
    bool good = true;
    for (size_t i = 0; i < n; i++) {
        good = good && job->out[i].good;
    }
    free(job->out);
    return good ? EXIT_DONE : EXIT_FAILED;
}

/* 48 composed recordings against bars that ctest keeps: what is said is right, most is
 * said, and nothing where nothing breathes. */
static int guard(const settings *s)
{
    enum {
        N = 48
    };
    static const uint64_t first_seed = 900001;
    settings mine = *s;
    mine.first_seed = first_seed;
    breath_job job = {.options = &mine, .what = BREATH_LOUD};
    job.out = calloc(N, sizeof *job.out);
    if (job.out == NULL) {
        return EXIT_FAILED;
    }
    pool_run(N, s->jobs, run_case, &job);
    breath_tables(job.out, N, s->each);
    long sounding = 0;
    long said = 0;
    long wrong = 0;
    long invented = 0;
    for (size_t i = 0; i < N; i++) {
        const breath_outcome *o = &job.out[i];
        const bool counted = o->breath.count.status == FM_COUNTED;
        const bool sounds = o->kind == BREATH_LOUD || o->kind == BREATH_SOFT;
        if (o->kind == BREATH_NONE) {
            invented += counted ? 1 : 0;
            continue;
        }
        sounding += sounds && o->whole_minute ? 1 : 0;
        said +=
            sounds && o->whole_minute && o->breath.count.status != FM_REFUSED ? 1 : 0;
        wrong += counted && fabs(o->breath.count.rate_per_min - o->true_per_min) > 3.0
                     ? 1
                     : 0;
    }
    free(job.out);
    (void)printf(
        "\nguard: %ld of %ld whole minutes with breath sound said, %ld counted "
        "and off by more than 3, %ld counted where nothing breathes\n",
        said, sounding, wrong, invented);
    return said * 10 >= sounding * 8 && wrong <= 1 && invented == 0 ? EXIT_DONE
                                                                    : EXIT_FAILED;
}

bool breath_measure_list(const settings *s, const char *path, breath_figures *f)
{
    breath_job job = {.options = s, .what = BREATH_REAL};
    *f = (breath_figures){0};
    if (!breath_list_read(&job.list, path)) {
        return false;
    }
    job.out = calloc(job.list.n, sizeof *job.out);
    if (job.out != NULL) {
        pool_run(job.list.n, s->jobs, run_case, &job);
        breath_tables(job.out, job.list.n, s->each);
        for (size_t i = 0; i < job.list.n; i++) {
            const fm_breath *b = &job.out[i].breath;
            const bool within2 =
                fabs(b->count.rate_per_min - job.out[i].true_per_min) <= 2.0;
            f->n++;
            f->said += b->count.status != FM_REFUSED ? 1 : 0;
            f->within2 += b->count.status != FM_REFUSED && within2 ? 1 : 0;
            f->counted += b->count.status == FM_COUNTED ? 1 : 0;
            f->counted_wrong += b->count.status == FM_COUNTED && !within2 ? 1 : 0;
        }
    }
    free(job.out);
    free(job.list.items);
    return f->n > 0;
}

int accuracy_breath(const settings *s, char *const words[], size_t n)
{
    breath_job job = {.options = s, .what = BREATH_LOUD};
    if (n == 1 && strcmp(words[0], "guard") == 0) {
        return guard(s);
    }
    if (n < 2 || n > WORDS_MAX) {
        return EXIT_USAGE;
    }
    size_t wanted = n == WORDS_MAX ? (size_t)strtoul(words[2], NULL, 10) : 0;
    if (strcmp(words[0], "heart") == 0) {
        return accuracy_breath_heart(s, (size_t)strtoul(words[1], NULL, 10));
    }
    if (strcmp(words[0], "troubles") == 0) {
        return accuracy_breath_troubles(s, (size_t)strtoul(words[1], NULL, 10));
    }
    if (strcmp(words[0], "composed") == 0) {
        wanted = (size_t)strtoul(words[1], NULL, 10);
    } else if (strcmp(words[0], "cycles") == 0 ||
               strcmp(words[0], "short-cycles") == 0) {
        job.what = BREATH_CYCLES;
        job.cut = words[0][0] == 's';
        if (!breath_rows_read(&job.rows, words[1])) {
            return EXIT_SKIPPED;
        }
        wanted = wanted > 0 ? wanted : breath_rows_with(&job.rows, 6);
    } else if (strcmp(words[0], "manikin") == 0 ||
               strcmp(words[0], "manikin-whole") == 0) {
        job.what = BREATH_MANIKIN;
        job.folder = words[1];
        job.both = strcmp(words[0], "manikin") != 0;
        wanted =
            wanted > 0 ? wanted : (size_t)(job.both ? 1 : 2) * BREATH_SPEEDS * MANIKIN;
        if (!read_rates(&job)) {
            (void)fprintf(stderr, "accuracy: no truth.csv of the manikin in %s\n",
                          words[1]);
            return EXIT_SKIPPED;
        }
    } else if (strcmp(words[0], "real") == 0) {
        job.what = BREATH_REAL;
        if (!breath_list_read(&job.list, words[1])) {
            return EXIT_SKIPPED;
        }
        wanted = job.list.n;
    } else if (strcmp(words[0], "chests") == 0) {
        job.what = BREATH_CHEST;
        if (recordings_add_folder(&job.chests, words[1]) <= 0) {
            return EXIT_SKIPPED;
        }
        wanted = job.chests.n;
    }
    const int status = wanted > 0 ? run_job(&job, wanted) : EXIT_USAGE;
    breath_rows_free(&job.rows);
    free(job.list.items);
    recordings_free(&job.chests);
    return status;
}
