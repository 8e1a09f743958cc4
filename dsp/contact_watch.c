#include "dsp/contact_watch.h"

#include "dsp/analyser.h"
#include "dsp/heart/condition.h"
#include "dsp/heart/contact.h"
#include "dsp/segment.h"

#include <stdlib.h>
#include <string.h>

struct fm_contact_watch {
    fm_collector *collector;
    fm_spectrum *spectrum;
    fm_segment segment;
    fm_contact contact;
    fm_quality quality;
    bool open;
    int64_t start;
    int64_t end;
    int64_t position; /* one past the last sample that was taken */
};

fm_contact_watch *fm_contact_watch_create(double rate_hz)
{
    if (!(rate_hz >= FM_RATE_MIN_HZ) || !(rate_hz <= FM_RATE_MAX_HZ)) {
        return NULL;
    }
    fm_contact_watch *w = calloc(1, sizeof(*w));
    if (!w) {
        return NULL;
    }
    w->collector = fm_collector_create(rate_hz);
    w->spectrum = fm_spectrum_create(FM_CONDITION_FFT);
    if (!w->collector || !w->spectrum) {
        fm_contact_watch_destroy(w);
        return NULL;
    }
    return w;
}

void fm_contact_watch_destroy(fm_contact_watch *w)
{
    if (!w) {
        return;
    }
    fm_collector_destroy(w->collector);
    fm_spectrum_destroy(w->spectrum);
    free(w);
}

void fm_contact_watch_begin(fm_contact_watch *w, int64_t start, int64_t end)
{
    fm_collector_begin(w->collector, start, start, end);
    w->start = start;
    w->end = end;
    w->position = start;
    w->open = true;
}

void fm_contact_watch_push(fm_contact_watch *w,
                           int64_t first,
                           const float *in,
                           size_t n)
{
    const int64_t from = first > w->position ? first : w->position;
    const int64_t last = first + (int64_t)n;
    const int64_t to = last < w->end ? last : w->end;
    if (w->open && to > from) {
        fm_collector_push(w->collector, in ? in + (from - first) : NULL,
                          (size_t)(to - from));
        w->position = to;
    }
}

fm_span fm_contact_watch_end(fm_contact_watch *w)
{
    fm_span worst = {0.0, 0.0, FM_REASON_CONTACT_LOST};
    if (!w->open) {
        return worst;
    }
    w->open = false;
    fm_conditioned conditioned;
    memset(&w->quality, 0, sizeof(w->quality));
    fm_collector_finish(w->collector, w->position, &w->segment);
    fm_condition(w->spectrum, w->segment.x, w->segment.n, &conditioned);
    fm_contact_measure(&w->segment, &w->contact);
    (void)fm_contact_find(&w->contact, &w->segment, &w->quality);
    for (size_t i = 0; i < w->quality.n_gaps; i++) {
        if (w->quality.gaps[i].length_s > worst.length_s) {
            worst = w->quality.gaps[i];
        }
    }
    return worst;
}
