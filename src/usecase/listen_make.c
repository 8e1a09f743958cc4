#include "src/usecase/listen_make.h"

#include "src/document/count_document.h"
#include "src/document/document_parts.h"
#include "src/usecase/demonstrate.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Enough for breath sounds, and half a megabyte less than the usual 44.1 kHz. */
static const double RATE_HZ = 16000.0;

enum {
    HEADER_BYTES = 44,
    SAMPLE_BYTES = 2
};

static bool load(const listen_request *r, demonstration *d, app_err *err)
{
    const demonstrate_request request = {.path = r->path,
                                         .start_s = r->start_s,
                                         .seconds = r->seconds,
                                         .small_speaker = r->small_speaker,
                                         .sealed = r->sealed,
                                         .rate_hz = RATE_HZ};
    return demonstration_load(&request, d, err);
}

static void put_number(unsigned char *at, uint32_t value, int n_bytes)
{
    for (int i = 0; i < n_bytes; i++) {
        at[i] = (unsigned char)(value >> (8 * i));
    }
}

/* Multimedia Programming Interface and Data Specifications 1.0, IBM and Microsoft, 1991:
 * the RIFF WAVE form of PCM samples. */
static void add_header(bytes *to, uint32_t n_samples)
{
    unsigned char h[HEADER_BYTES] = "RIFF....WAVEfmt ";
    const uint32_t data = n_samples * SAMPLE_BYTES;
    put_number(h + 4, HEADER_BYTES - 8 + data, 4);
    put_number(h + 16, 16, 4);
    put_number(h + 20, 1, 2);
    put_number(h + 22, 1, 2);
    put_number(h + 24, (uint32_t)lround(RATE_HZ), 4);
    put_number(h + 28, (uint32_t)lround(RATE_HZ) * SAMPLE_BYTES, 4);
    put_number(h + 32, SAMPLE_BYTES, 2);
    put_number(h + 34, 8 * SAMPLE_BYTES, 2);
    memcpy(h + 36, "data", 4);
    put_number(h + 40, data, 4);
    bytes_add(to, h, sizeof h);
}

bool listen_make_sound(const listen_request *r, bytes *out, app_err *err)
{
    demonstration d;
    if (!load(r, &d, err)) {
        return false;
    }
    unsigned char *const data = malloc((size_t)d.n * SAMPLE_BYTES + 1);
    for (int64_t i = 0; data != NULL && i < d.n; i++) {
        const long v = lround(32767.0 * fmax(-1.0, fmin(1.0, (double)d.plain[i])));
        put_number(data + SAMPLE_BYTES * i, (uint32_t)(int32_t)v, SAMPLE_BYTES);
    }
    if (data != NULL) {
        add_header(out, (uint32_t)d.n);
        bytes_add(out, data, (size_t)d.n * SAMPLE_BYTES);
    }
    const bool ok = data != NULL && !out->failed;
    free(data);
    demonstration_free(&d);
    return ok || app_err_set(err, APP_FAILED, "out of memory; close other programs");
}

static json_t *marks_of(const demonstration *d)
{
    json_t *const list = json_array();
    for (size_t i = 0; i < d->n_marks; i++) {
        const demonstrate_mark *const m = &d->marks[i];
        (void)json_array_append_new(list, json_pack("{s:o,s:b,s:b}", "at_s",
                                                    document_time(m->at_s), "s2",
                                                    m->is_s2, "unheard", m->unheard));
    }
    return list;
}

static json_t *envelope_of(const demonstration *d)
{
    json_t *const list = json_array();
    for (size_t i = 0; i < d->n_envelope; i++) {
        (void)json_array_append_new(list, document_number((double)d->envelope[i], 3));
    }
    return list;
}

static json_t *short_counts_of(const demonstration *d)
{
    json_t *const list = json_array();
    for (size_t i = 0; i < 2; i++) {
        const fm_short_count *const c = &d->short_counts[i];
        if (c->n_windows > 0) {
            (void)json_array_append_new(
                list,
                json_pack("{s:i,s:i,s:o,s:o,s:o}", "seconds", c->seconds, "windows",
                          (int)c->n_windows, "min", document_rate(c->min_per_min),
                          "max", document_rate(c->max_per_min), "mean",
                          document_rate(c->mean_per_min)));
        }
    }
    return list;
}

json_t *listen_make_marks(const listen_request *r, app_err *err)
{
    static const char *const ORIGINS[] = {[DEMONSTRATE_TRUTH] = "truth",
                                          [DEMONSTRATE_COUNT] = "count",
                                          [DEMONSTRATE_NONE] = "none"};
    demonstration d;
    if (!load(r, &d, err)) {
        return NULL;
    }
    const bool none = d.origin == DEMONSTRATE_NONE;
    const fm_span nowhere = {0};
    char reason[REASON_TEXT_BYTES];
    (void)reason_text_format(d.reason, &nowhere, reason);
    json_t *const out = json_pack(
        "{s:o,s:o,s:o,s:s,s:b,s:s?,s:i,s:o,s:o,s:o}", "start_s",
        document_time(d.start_s), "seconds", document_time(d.seconds), "beats",
        none ? json_null() : json_integer(d.beats), "origin", ORIGINS[d.origin],
        "doubtful", d.doubtful, "reason", none ? reason : NULL, "envelope_hz",
        DEMONSTRATE_ENVELOPE_HZ, "envelope", envelope_of(&d), "marks", marks_of(&d),
        "short_counts", none ? json_array() : short_counts_of(&d));
    demonstration_free(&d);
    if (out == NULL) {
        (void)app_err_set(err, APP_FAILED, "out of memory; close other programs");
    }
    return out;
}

bool listen_count_beats(const char *path, double seconds, int *beats, app_err *err)
{
    demonstration d;
    const listen_request r = {.path = path, .seconds = seconds};
    if (!load(&r, &d, err)) {
        return false;
    }
    *beats = d.beats;
    const bool ok = d.origin != DEMONSTRATE_NONE && d.seconds > seconds - 0.001;
    demonstration_free(&d);
    return ok || app_err_set(err, APP_USAGE,
                             "this recording cannot be counted for that long; choose "
                             "another");
}
