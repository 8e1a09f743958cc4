#include "src/document/entry.h"

#include "src/base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const field_word SITES[] = {
    {"apical", 0}, {"radial", 1}, {"other", 2}, {NULL, 0}};
static const field_word WRISTS[] = {{"left", 0}, {"right", 1}, {NULL, 0}};
static const field_word CONVENTIONS[] = {
    {"clock", 0}, {"one", 1}, {"zero", 2}, {NULL, 0}};
static const field_word RHYTHMS[] = {{"regular", 0},
                                     {"occasionally irregular", 1},
                                     {"regularly irregular", 2},
                                     {"irregularly irregular", 3},
                                     {"undetermined", 4},
                                     {NULL, 0}};
static const field_word METHODS[] = {{"watched", 0}, {"listened", 1}, {NULL, 0}};
/* As fm_breath_pattern_word has them; rows before 2026-12 say regular and irregular. */
static const field_word BREATH_RHYTHMS[] = {{"even", 0},        {"uneven", 1},
                                            {"with pauses", 2}, {"regular", 0},
                                            {"irregular", 1},   {NULL, 0}};
static const field_word UNITS[] = {{"F", 0}, {"C", 1}, {NULL, 0}};

const entry_field ENTRY_FIELD[] = {
#define TEXT(group, name, bytes) {#name, ENTRY_##group, FIELD(entry, name)},
#define WORD(group, name, words)                                                       \
    {#name, ENTRY_##group, FIELD_ONE_OF(entry, name, words)},
#define NUMBER(group, name, min, max)                                                  \
    {#name, ENTRY_##group, FIELD_IN(entry, name, min, max)},
    ENTRY_FIELDS(TEXT, WORD, NUMBER, NUMBER)
#undef TEXT
#undef WORD
#undef NUMBER
};

size_t entry_n_fields(void)
{
    return sizeof ENTRY_FIELD / sizeof ENTRY_FIELD[0];
}

const entry_field *entry_field_named(const char *name)
{
    for (size_t i = 0; i < entry_n_fields(); i++) {
        if (strcmp(ENTRY_FIELD[i].name, name) == 0) {
            return &ENTRY_FIELD[i];
        }
    }
    return NULL;
}

entry entry_none(void)
{
    entry e;
    memset(&e, 0, sizeof e);
#define NOTHING(group, name, rest)
#define WHOLE(group, name, min, max) e.name = ENTRY_NO_WHOLE;
#define REAL(group, name, min, max)  e.name = (double)NAN;
    ENTRY_FIELDS(NOTHING, NOTHING, WHOLE, REAL)
#undef NOTHING
#undef WHOLE
#undef REAL
    return e;
}

const char *entry_text(const entry *e, const entry_field *f)
{
    return (const char *)e + f->to.offset;
}

int entry_whole(const entry *e, const entry_field *f)
{
    int value = 0;
    memcpy(&value, (const char *)e + f->to.offset, sizeof value);
    return value;
}

double entry_number(const entry *e, const entry_field *f)
{
    double value = 0.0;
    if (f->to.kind == FIELD_INT) {
        const int whole = entry_whole(e, f);
        return whole != ENTRY_NO_WHOLE ? whole : (double)NAN;
    }
    memcpy(&value, (const char *)e + f->to.offset, sizeof value);
    return value;
}

bool entry_has(const entry *e, const entry_field *f)
{
    return f->to.kind == FIELD_CHARS ? entry_text(e, f)[0] != '\0'
                                     : isfinite(entry_number(e, f));
}

/* 2026-11-25T14:05:00Z */
bool entry_is_utc(const char *text)
{
    static const char SHAPE[] = "dddd-dd-ddTdd:dd:ddZ";
    if (strlen(text) != sizeof SHAPE - 1) {
        return false;
    }
    for (size_t i = 0; SHAPE[i] != '\0'; i++) {
        if (SHAPE[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != SHAPE[i]) {
            return false;
        }
    }
    const int month = (text[5] - '0') * 10 + text[6] - '0';
    const int day = (text[8] - '0') * 10 + text[9] - '0';
    const int hour = (text[11] - '0') * 10 + text[12] - '0';
    return month >= 1 && month <= 12 && day >= 1 && day <= 31 && hour < 24 &&
           text[14] < '6' && text[17] < '7';
}

static bool is_text_for(const entry_field *f, const char *text)
{
    const bool is_time = f->to.bytes == ENTRY_UTC_BYTES;
    const bool is_path = f->to.bytes == ENTRY_PATH_BYTES; /* of any bytes */
    return (is_path || text_is_printable(text)) && (!is_time || entry_is_utc(text)) &&
           (f->to.words == NULL || field_word_named(f->to.words, text) != NULL);
}

bool entry_set(entry *e, const entry_field *f, const char *text)
{
    if (text[0] == '\0') {
        const entry none = entry_none();
        memcpy((char *)e + f->to.offset, (const char *)&none + f->to.offset,
               f->to.bytes);
        return true;
    }
    return (f->to.kind != FIELD_CHARS || is_text_for(f, text)) &&
           field_take_text(&f->to, e, text);
}

const char *entry_show(const entry *e,
                       const entry_field *f,
                       char out[ENTRY_SHOWN_BYTES])
{
    out[0] = '\0';
    if (!entry_has(e, f)) {
        return out;
    }
    if (f->to.kind == FIELD_CHARS) {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%s", entry_text(e, f));
    } else if (f->to.kind == FIELD_INT) {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%d", entry_whole(e, f));
    } else {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%.6g", entry_number(e, f));
    }
    return out;
}

void entry_put(char *out, size_t bytes, const char *text)
{
    size_t n = strlen(text);
    if (n >= bytes) {
        n = bytes - 1;
        while (n > 0 && ((unsigned char)text[n] & 0xc0U) == 0x80U) {
            n--;
        }
    }
    memcpy(out, text, n);
    out[n] = '\0';
}

static double per_min(int counted, int seconds)
{
    return counted == ENTRY_NO_WHOLE || seconds == ENTRY_NO_WHOLE || seconds <= 0
               ? (double)NAN
               : 60.0 * counted / seconds;
}

double entry_per_min(const entry *e)
{
    return per_min(e->beats, e->seconds);
}

double entry_breath_per_min(const entry *e)
{
    return per_min(e->breaths, e->breath_seconds);
}

/* Widest that can be, C; a fever of 42 and a body of 28 are still people. */
static const double COLDEST_C = 25.0;
static const double WARMEST_C = 45.0;

static double in_c(double value, bool fahrenheit)
{
    return fahrenheit ? (value - 32.0) / 1.8 : value;
}

const char *entry_doubt(const entry *e, char out[ENTRY_DOUBT_BYTES])
{
    const bool f = strcmp(e->temperature_unit, "F") == 0;
    const double c = in_c(e->temperature, f);
    const double other = in_c(e->temperature, !f);
    out[0] = '\0';
    if (isfinite(e->temperature) && e->temperature_unit[0] != '\0' &&
        !(c >= COLDEST_C && c <= WARMEST_C)) {
        const bool unit = other >= COLDEST_C && other <= WARMEST_C;
        (void)snprintf(
            out, ENTRY_DOUBT_BYTES,
            "a temperature of %.1f %s cannot be%s%s; look again and enter it "
            "again",
            e->temperature, e->temperature_unit, unit ? ": is the unit " : "",
            unit ? (f ? "C" : "F") : "");
    } else if (e->systolic_mmhg != ENTRY_NO_WHOLE &&
               e->diastolic_mmhg != ENTRY_NO_WHOLE &&
               e->systolic_mmhg <= e->diastolic_mmhg) {
        (void)snprintf(
            out, ENTRY_DOUBT_BYTES,
            "a systolic pressure of %d is not above the diastolic of %d: are "
            "they swapped? Look again and enter both again",
            e->systolic_mmhg, e->diastolic_mmhg);
    }
    return out;
}
