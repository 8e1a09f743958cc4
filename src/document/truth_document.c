#include "src/document/truth_document.h"

#include "src/document/members.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Nearer than this two S1 are one written twice: half the shortest interval that the
 * composer makes. */
static const double S1_GAP_MIN_S = 0.1;

/* ---- Members with a form of their own ---- */

static json_t *indices(const size_t *index, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        array = document_append(array, json_integer((json_int_t)index[i]));
    }
    return array;
}

static void put_inaudible(document_part *to, const void *from)
{
    const fm_truth *const t = from;
    document_put(to, "inaudible_s1", indices(t->inaudible_s1, t->n_inaudible_s1));
}

/* Without the list all are audible. */
static void take_inaudible(document_reader *r, const json_t *object, void *to)
{
    fm_truth *const t = to;
    const json_t *const list = document_list(r, object, "inaudible_s1", t->n_s1);
    const size_t length = json_array_size(list);
    t->inaudible_s1 = document_memory(r, calloc(length + 1, sizeof *t->inaudible_s1));
    for (size_t n = 0; r->ok && n < length; n++) {
        const json_t *const item = json_array_get(list, n);
        const json_int_t index = json_integer_value(item);
        if (!json_is_integer(item) || index < 0 || (size_t)index >= t->n_s1) {
            document_wrong(r, "inaudible_s1", "points at a beat that is not there");
        } else if (n > 0 && (size_t)index <= t->inaudible_s1[n - 1]) {
            document_wrong(r, "inaudible_s1", "names a beat twice, or goes back");
        }
        t->inaudible_s1[n] = (size_t)index;
    }
    t->n_inaudible_s1 = r->ok ? length : 0;
}

static void put_findings(document_part *to, const void *from)
{
    const fm_truth *const t = from;
    document_put(to, "findings", document_findings(t->findings, t->n_findings));
    if (t->contact_lost.length_s > 0.0) {
        document_part lost = document_start();
        document_put(&lost, "start_s", document_time(t->contact_lost.start_s));
        document_put(&lost, "length_s", document_time(t->contact_lost.length_s));
        document_put(to, "contact_lost", document_end(&lost));
    }
}

/* A finding as it is read: its times in a list of their own. */
typedef struct read_finding {
    fm_finding_kind kind;
    size_t count, n;
    double *times_s;
} read_finding;

static const field_word FINDINGS[] = {FM_FINDING_MAP(FIELD_WORD){NULL, 0}};
static const member FINDING[] = {
    MEMBER("kind", FIELD_ONE_OF(read_finding, kind, FINDINGS), .how = MEMBER_NEEDED),
    MEMBER("count", FIELD_IN(read_finding, count, 0, 1e9), .how = MEMBER_NEEDED),
    MEMBER_TIMES("times_s", read_finding, times_s, n, 0, 1e9, .how = MEMBER_NEEDED),
    MEMBERS_END,
};

static void take_finding(document_reader *r, const json_t *item, fm_finding *f)
{
    read_finding in = {.n = 0};
    members_take(r, FINDING, item, &in);
    *f = (fm_finding){.kind = in.kind, .count = in.count};
    if (in.n != (in.count < FM_FINDING_TIMES ? in.count : FM_FINDING_TIMES)) {
        document_wrong(r, "times_s", "are not as many as the count");
    }
    if (r->ok && in.n > 0) {
        memcpy(f->times_s, in.times_s, in.n * sizeof *in.times_s);
    }
    free(in.times_s);
}

static void take_findings(document_reader *r, const json_t *object, void *to)
{
    fm_truth *const t = to;
    const json_t *const list = document_list(r, object, "findings", FM_FINDINGS_MAX);
    r->within = "findings";
    for (size_t i = 0; r->ok && i < json_array_size(list); i++) {
        take_finding(r, json_array_get(list, i), &t->findings[t->n_findings++]);
    }
    r->within = NULL;
}

/* A seed over 63 bits does not fit JSON's integers here: said as not known. */
static void put_seed(document_part *to, const void *from)
{
    const truth_document *const d = from;
    const bool fits = d->composed && d->truth.seed <= (uint64_t)INT64_MAX;
    document_put(to, "seed",
                 fits ? json_integer((json_int_t)d->truth.seed) : json_null());
}

static void take_seed(document_reader *r, const json_t *object, void *to)
{
    truth_document *const d = to;
    const json_t *const seed = json_object_get(object, "seed");
    if (json_is_integer(seed) && json_integer_value(seed) >= 0) {
        d->truth.seed = (uint64_t)json_integer_value(seed);
    } else if (seed != NULL && !json_is_null(seed)) {
        document_wrong(r, "seed", "is not a whole number from 0");
    }
}

/* ---- The members ---- */

static const field_word PATTERNS[] = {FM_PATTERN_MAP(FIELD_WORD){NULL, 0}};
static const field_word BREATHINGS[] = {FM_BREATH_PATTERN_MAP(FIELD_WORD){NULL, 0}};
static const field_word ORIGINS[] = {
    {"composed", true}, {"annotated", false}, {NULL, 0}};

/* Times up to thirty years: more is no time in a recording. */
#define TIMES(array, n, ...)                                                           \
    MEMBER_TIMES(#array, fm_truth, array, n, 0, 1e9, .decimals = 3, __VA_ARGS__)
#define WORD(name, member, words, known)                                               \
    MEMBER(name, FIELD_ONE_OF(fm_truth, member, words), MEMBER_KNOWN(fm_truth, known))
/* No level, rate or length is larger. */
#define REAL(name, member, ...)                                                        \
    MEMBER(name, FIELD_IN(truth_document, member, -1e9, 1e9), __VA_ARGS__)
#define TEXT(name, member) MEMBER(name, FIELD(truth_document, member), .how = 0)
#define PAUSE_TIME(member)                                                             \
    MEMBER(#member, FIELD_IN(fm_breath_pause, member, 0, 1e9), .decimals = 3,          \
           .how = MEMBER_NEEDED)

static_assert(offsetof(truth_document, truth) == 0, "rows of both go over one struct");

static const member PAUSE[] = {
    MEMBER_IS("kind", "pause"),
    PAUSE_TIME(start_s),
    PAUSE_TIME(end_s),
    MEMBERS_END,
};

static const member MEMBERS[] = {
    MEMBER_IS("schema", "fullminute.truth/1"),
    TIMES(s1_s, n_s1, .how = MEMBER_NEEDED),
    TIMES(s2_s, n_s2, .how = MEMBER_NEEDED),
    MEMBER_OWN(put_inaudible, take_inaudible),
    TIMES(breath_starts_s, n_breaths, .how = 0),
    WORD("breath_pattern", breath_pattern, BREATHINGS, breathing_known),
    MEMBER_LIST(
        "breath_findings", fm_truth, breath_pauses, n_breath_pauses, PAUSE, .how = 0),
    TIMES(radial_s, n_radial, MEMBER_KNOWN(fm_truth, has_radial)),
    WORD("pattern", pattern, PATTERNS, pattern_known),
    TEXT("repeat", truth.repeat),
    TEXT("varies_with_breathing", truth.varies_with_breathing),
    MEMBER_OWN(put_findings, take_findings),
    REAL("snr_db", truth.snr_db, .decimals = 2),
    REAL("breath_snr_db", truth.breath_snr_db, .decimals = 2),
    MEMBER_OWN(put_seed, take_seed),
    REAL("sample_rate_hz", truth.rate_hz, .how = MEMBER_WHOLE),
    REAL("duration_s", truth.duration_s, .decimals = 3),
    MEMBER("origin",
           FIELD_ONE_OF(truth_document, composed, ORIGINS),
           .how = MEMBER_NEEDED),
    TEXT("licence", licence),
    TEXT("recipe", recipe),
    TEXT("sound_blake2b", sound),
    MEMBERS_END,
};

void truth_document_free(truth_document *d)
{
    fm_truth_free(&d->truth);
    *d = (truth_document)TRUTH_NONE;
}

json_t *truth_document_build(const truth_document *d)
{
    return members_object(MEMBERS, d);
}

char *truth_document_format(const truth_document *d)
{
    return document_format_line(truth_document_build(d), 0);
}

/* ---- Reading ---- */

/* S1 stand apart; a beat that stands there twice would be counted twice. */
static void check(document_reader *r, const fm_truth *t)
{
    for (size_t i = 1; i < t->n_s1; i++) {
        if (t->s1_s[i] - t->s1_s[i - 1] < S1_GAP_MIN_S) {
            document_wrong(r, "s1_s", "holds two beats less than 0.1 s apart");
        }
    }
    for (size_t i = 0; i < t->n_breath_pauses; i++) {
        if (!(t->breath_pauses[i].end_s > t->breath_pauses[i].start_s)) {
            document_wrong(r, "breath_findings", "holds one that is empty");
        }
    }
}

bool truth_document_parse(
    const char *name, const char *bytes, size_t n, truth_document *d, app_err *err)
{
    document_reader r = {name, "; it is not a whole fullminute.truth/1 document", err,
                         true, NULL};
    fm_truth *const t = &d->truth;
    *d = (truth_document)TRUTH_NONE;
    t->snr_db = t->breath_snr_db = t->rate_hz = t->duration_s = (double)NAN;
    t->pattern = FM_PATTERN_UNDETERMINED;
    if (members_read(&r, MEMBERS, bytes, n, d)) {
        check(&r, t);
    }
    if (!r.ok) {
        truth_document_free(d);
    }
    return r.ok;
}
