#include "dump.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <string.h>

static bool dump_path(char *out,
                      size_t size,
                      const char *folder,
                      const char *name,
                      double start_s,
                      const char *ending)
{
    const int n = start_s > 0.0 ? snprintf(out, size, "%s/%s_%.0fs%s", folder, name,
                                           start_s, ending)
                                : snprintf(out, size, "%s/%s%s", folder, name, ending);
    if (n <= 0 || (size_t)n >= size) {
        return false;
    }
    for (char *c = out + strlen(folder) + 1; *c != '\0'; c++) {
        if (*c == '/' || *c == ' ') {
            *c = '_';
        }
    }
    return true;
}

bool dump_is_worth_it(const scored *s)
{
    return f1_of(s->hits[LAG_OWN][1], s->n_truth, s->n_found) < 0.95 ||
           !(s->error <= 3.0);
}

static void write_times(FILE *f, const char *kind, const double *v, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(f, "%s\t%.4f\n", kind, v[i]);
    }
}

bool dump_window(const char *folder, const dump_view *v)
{
    char path[1200];
    const scored *s = v->score;
    FILE *f = dump_path(path, sizeof path, folder, s->name, v->start_s, ".tsv")
                  ? fopen(path, "w")
                  : NULL;
    if (f == NULL) {
        (void)fprintf(stderr, "accuracy: cannot write into %s\n", folder);
        return false;
    }
    (void)fprintf(f, "# recording\t%s\n# sound\t%s\n", s->name, v->sound_path);
    (void)fprintf(f, "# start_s\t%.3f\n# end_s\t%.3f\n", v->start_s, v->end_s);
    (void)fprintf(f, "# status\t%s\n# reason\t%s\n# confidence\t%.4f\n",
                  status_word(s->status), fm_reason_code(s->reason), s->confidence);
    (void)fprintf(f, "# truth_rate\t%.2f\n# found_rate\t%.2f\n# lag_s\t%.4f\n",
                  s->truth_rate_bpm, s->found_rate_bpm, s->lag_s);
    write_times(f, "truth", v->s1.truth, v->s1.n_truth);
    write_times(f, "s1", v->s1.found, v->s1.n_found);
    write_times(f, "s2", v->s2_s, v->n_s2);
    return fclose(f) == 0;
}

bool dump_sound(
    const char *folder, const char *name, const sound *s, char *path, size_t size)
{
    SF_INFO info = {.samplerate = (int)lround(s->rate_hz),
                    .channels = 1,
                    .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = dump_path(path, size, folder, name, 0.0, ".wav")
                        ? sf_open(path, SFM_WRITE, &info)
                        : NULL;
    if (file == NULL) {
        (void)fprintf(stderr, "accuracy: cannot write into %s\n", folder);
        return false;
    }
    const sf_count_t written = sf_write_float(file, s->samples, (sf_count_t)s->n);
    return sf_close(file) == 0 && written == (sf_count_t)s->n;
}
