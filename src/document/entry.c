#include "src/document/entry.h"

#include "src/base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const entry_field ENTRY_FIELD[] = {
#define TEXT(group, name, bytes)                                                       \
    {#name, ENTRY_##group, ENTRY_KIND_TEXT, offsetof(entry, name), bytes},
#define WHOLE(group, name)                                                             \
    {#name, ENTRY_##group, ENTRY_KIND_WHOLE, offsetof(entry, name), 0},
#define REAL(group, name)                                                              \
    {#name, ENTRY_##group, ENTRY_KIND_REAL, offsetof(entry, name), 0},
    ENTRY_FIELDS(TEXT, WHOLE, REAL)
#undef TEXT
#undef WHOLE
#undef REAL
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

/* What a number can be, and the words of a text with few; from the trade's sheets (common
 * practice, no source) and wide enough for what a person may meet. */
static const struct limit {
    const char *name;
    double least, most;
} LIMITS[] = {
    {"offset_min", -14 * 60, 14 * 60},
    {"attempt", 1, 1e6},
    {"beats", 1, 400},
    {"seconds", 15, 60},
    {"wrist_beats", 0, 400},
    {"breaths", 0, 200},
    {"breath_seconds", 15, 60},
    {"age_months", 0, 150 * 12},
    {"own_recording", 0, 1},
    {"device_beats", 0, 2000},
    {"confidence", 0, 1},
    {"quality", 0, 1},
    {"temperature", 20, 115},
    {"systolic_mmhg", 20, 320},
    {"diastolic_mmhg", 0, 250},
    {"palpated_mmhg", 20, 320},
    {"saturation_percent", 0, 100},
    {"pain_of_10", 0, 10},
};

static const struct choice {
    const char *name;
    const char *words[8];
} CHOICES[] = {
    {"site", {"apical", "radial", "other"}},
    {"wrist", {"left", "right"}},
    {"convention", {"clock", "one", "zero"}},
    {"rhythm",
     {"regular", "occasionally irregular", "regularly irregular",
      "irregularly irregular", "undetermined"}},
    {"breath_method", {"watched", "listened"}},
    {"breath_rhythm", {"regular", "irregular"}},
    {"temperature_unit", {"F", "C"}},
};

entry entry_none(void)
{
    entry e;
    memset(&e, 0, sizeof e);
    for (size_t i = 0; i < entry_n_fields(); i++) {
        char *const at = (char *)&e + ENTRY_FIELD[i].offset;
        const int no_whole = ENTRY_NO_WHOLE;
        const double no_real = (double)NAN;
        if (ENTRY_FIELD[i].kind == ENTRY_KIND_WHOLE) {
            memcpy(at, &no_whole, sizeof no_whole);
        } else if (ENTRY_FIELD[i].kind == ENTRY_KIND_REAL) {
            memcpy(at, &no_real, sizeof no_real);
        }
    }
    return e;
}

const char *entry_text(const entry *e, const entry_field *f)
{
    return (const char *)e + f->offset;
}

int entry_whole(const entry *e, const entry_field *f)
{
    int value = 0;
    memcpy(&value, (const char *)e + f->offset, sizeof value);
    return value;
}

double entry_real(const entry *e, const entry_field *f)
{
    double value = 0.0;
    memcpy(&value, (const char *)e + f->offset, sizeof value);
    return value;
}

bool entry_has(const entry *e, const entry_field *f)
{
    switch (f->kind) {
    case ENTRY_KIND_TEXT:
        return entry_text(e, f)[0] != '\0';
    case ENTRY_KIND_WHOLE:
        return entry_whole(e, f) != ENTRY_NO_WHOLE;
    case ENTRY_KIND_REAL:
    default:
        return isfinite(entry_real(e, f));
    }
}

static bool in_limits(const char *name, double value)
{
    for (size_t i = 0; i < sizeof LIMITS / sizeof LIMITS[0]; i++) {
        if (strcmp(LIMITS[i].name, name) == 0) {
            return value >= LIMITS[i].least && value <= LIMITS[i].most;
        }
    }
    return fabs(value) <= 1e6;
}

static bool is_choice(const char *name, const char *text)
{
    for (size_t i = 0; i < sizeof CHOICES / sizeof CHOICES[0]; i++) {
        if (strcmp(CHOICES[i].name, name) != 0) {
            continue;
        }
        for (size_t k = 0; k < 8 && CHOICES[i].words[k] != NULL; k++) {
            if (strcmp(CHOICES[i].words[k], text) == 0) {
                return true;
            }
        }
        return false;
    }
    return true;
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

static bool is_clean(const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f) {
            return false;
        }
    }
    return text_is_utf8(text);
}

static bool set_text(entry *e, const entry_field *f, const char *text)
{
    const size_t n = strlen(text);
    const bool is_time = n > 0 && n < f->bytes && f->bytes == ENTRY_UTC_BYTES;
    const bool is_path = f->bytes == ENTRY_PATH_BYTES; /* of any bytes */
    if (n >= f->bytes || (!is_path && !is_clean(text)) ||
        (is_time && !entry_is_utc(text)) || (n > 0 && !is_choice(f->name, text))) {
        return false;
    }
    memcpy((char *)e + f->offset, text, n + 1);
    return true;
}

bool entry_set(entry *e, const entry_field *f, const char *text)
{
    char *const at = (char *)e + f->offset;
    if (f->kind == ENTRY_KIND_TEXT) {
        return set_text(e, f, text);
    }
    if (text[0] == '\0') {
        const entry none = entry_none();
        memcpy(at, (const char *)&none + f->offset,
               f->kind == ENTRY_KIND_WHOLE ? sizeof(int) : sizeof(double));
        return true;
    }
    if (f->kind == ENTRY_KIND_WHOLE) {
        long value = 0;
        if (!text_to_long(text, &value) || !in_limits(f->name, (double)value)) {
            return false;
        }
        const int whole = (int)value;
        memcpy(at, &whole, sizeof whole);
        return true;
    }
    double value = 0.0;
    if (!text_to_double(text, &value) || !in_limits(f->name, value)) {
        return false;
    }
    memcpy(at, &value, sizeof value);
    return true;
}

const char *entry_show(const entry *e,
                       const entry_field *f,
                       char out[ENTRY_SHOWN_BYTES])
{
    out[0] = '\0';
    if (!entry_has(e, f)) {
        return out;
    }
    if (f->kind == ENTRY_KIND_TEXT) {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%s", entry_text(e, f));
    } else if (f->kind == ENTRY_KIND_WHOLE) {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%d", entry_whole(e, f));
    } else {
        (void)snprintf(out, ENTRY_SHOWN_BYTES, "%.6g", entry_real(e, f));
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
