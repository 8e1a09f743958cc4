/* A row as HL7 FHIR R4 Observations; the sources stand in entry_json.h. */
#include "src/document/entry_json.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char LOINC[] = "http://loinc.org";
static const char UCUM[] = "http://unitsofmeasure.org";
static const char CATEGORY[] =
    "http://terminology.hl7.org/CodeSystem/observation-category";
static const char REASON[] = "http://terminology.hl7.org/CodeSystem/v3-ActReason";
static const char AID[] = "count by fullminute, a learning aid, no medical device";

/* One kind of sign: its code and unit. */
typedef struct sign {
    const char *code, *display;
    const char *unit, *ucum; /**< as shown, and by UCUM */
} sign;

static const sign PULSE = {"8867-4", "Heart rate", "beats/minute", "/min"};
static const sign BREATHS = {"9279-1", "Respiratory rate", "breaths/minute", "/min"};
static const sign CELSIUS = {"8310-5", "Body temperature", "C", "Cel"};
static const sign FAHRENHEIT = {"8310-5", "Body temperature", "F", "[degF]"};
static const sign SYSTOLIC = {"8480-6", "Systolic blood pressure", "mmHg", "mm[Hg]"};
static const sign DIASTOLIC = {"8462-4", "Diastolic blood pressure", "mmHg", "mm[Hg]"};
static const sign PRESSURE = {
    "85354-9", "Blood pressure panel with all children optional", "", ""};
static const sign SATURATION = {"2708-6", "Oxygen saturation in Arterial blood", "%",
                                "%"};
static const sign PAIN = {"72514-3", "Pain severity - 0-10 verbal numeric rating", "",
                          "{score}"};

static json_t *meta(void)
{
    return json_pack("{s:[{s:s, s:s, s:s}]}", "security", "system", REASON, "code",
                     "HTEST", "display", "test health data");
}

json_t *entry_fhir_bundle(void)
{
    return json_pack("{s:s, s:o, s:s, s:[]}", "resourceType", "Bundle", "meta", meta(),
                     "type", "collection", "entry");
}

static json_t *code_of(const sign *s)
{
    return json_pack("{s:[{s:s, s:s, s:s}], s:s}", "coding", "system", LOINC, "code",
                     s->code, "display", s->display, "text", s->display);
}

/* A rate of a half stays one; whole numbers are written whole. */
static json_t *quantity(const sign *s, double value)
{
    json_t *const number = fabs(value - round(value)) < 1e-9
                               ? json_integer((json_int_t)llround(value))
                               : json_real(round(value * 10.0) / 10.0);
    return s->unit[0] != '\0'
               ? json_pack("{s:o, s:s, s:s, s:s}", "value", number, "unit", s->unit,
                           "system", UCUM, "code", s->ucum)
               : json_pack("{s:o, s:s, s:s}", "value", number, "system", UCUM, "code",
                           s->ucum);
}

static bool set(json_t *to, const char *name, json_t *value)
{
    return json_object_set_new(to, name, value) == 0;
}

static bool set_text(json_t *to, const char *name, const char *text)
{
    return text[0] == '\0' || set(to, name, json_pack("{s:s}", "text", text));
}

/* An Observation without a value, last in the bundle; borrowed. NULL without memory. */
static json_t *observation(json_t *bundle, const entry *e, const sign *s)
{
    char id[64];
    char name[ENTRY_LEARNER_BYTES + 16];
    (void)snprintf(id, sizeof id, "row-%lld-%s", (long long)e->number, s->code);
    (void)snprintf(name, sizeof name, "learner %s", e->learner);
    json_t *const o = json_pack(
        "{s:s, s:s, s:o, s:s, s:[{s:[{s:s, s:s, s:s}]}], s:o, s:{s:s}, s:s, s:[{s:s}]}",
        "resourceType", "Observation", "id", id, "meta", meta(), "status", "final",
        "category", "coding", "system", CATEGORY, "code", "vital-signs", "display",
        "Vital Signs", "code", code_of(s), "subject", "display", "practice partner",
        "effectiveDateTime", e->entered_utc, "performer", "display", name);
    json_t *const holder = o != NULL ? json_pack("{s:o}", "resource", o) : NULL;
    if (holder == NULL ||
        json_array_append_new(json_object_get(bundle, "entry"), holder) != 0) {
        return NULL;
    }
    return o;
}

/* What the second count said: a field of its own, never the value. */
static bool add_device(json_t *o, const sign *s, double per_min)
{
    return !isfinite(per_min) || set(o, "component",
                                     json_pack("[{s:{s:s}, s:o}]", "code", "text", AID,
                                               "valueQuantity", quantity(s, per_min)));
}

static bool add_note(json_t *o, const char *text)
{
    return text[0] == '\0' || set(o, "note", json_pack("[{s:s}]", "text", text));
}

static bool add_pulse(json_t *bundle, const entry *e)
{
    char method[64];
    char rhythm[ENTRY_WORD_BYTES + 16];
    json_t *const o = observation(bundle, e, &PULSE);
    (void)snprintf(method, sizeof method, "counted for %d s", e->seconds);
    (void)snprintf(rhythm, sizeof rhythm, "rhythm: %s", e->rhythm);
    return o != NULL && set(o, "valueQuantity", quantity(&PULSE, entry_per_min(e))) &&
           set_text(o, "method", method) && set_text(o, "bodySite", e->site) &&
           add_note(o, e->rhythm[0] != '\0' ? rhythm : "") &&
           add_device(o, &PULSE, e->device_per_min);
}

static bool add_breaths(json_t *bundle, const entry *e)
{
    char method[64];
    json_t *const o = observation(bundle, e, &BREATHS);
    (void)snprintf(method, sizeof method, "counted for %d s", e->breath_seconds);
    return o != NULL &&
           set(o, "valueQuantity", quantity(&BREATHS, entry_breath_per_min(e))) &&
           set_text(o, "method", method) &&
           add_device(o, &BREATHS, e->device_breath_per_min);
}

static bool add_one(
    json_t *bundle, const entry *e, const sign *s, double value, const char *site)
{
    json_t *const o = observation(bundle, e, s);
    return o != NULL && set(o, "valueQuantity", quantity(s, value)) &&
           set_text(o, "bodySite", site);
}

static bool add_pressure(json_t *bundle, const entry *e)
{
    char method[ENTRY_WORD_BYTES + 16] = "";
    json_t *const o = observation(bundle, e, &PRESSURE);
    if (e->cuff[0] != '\0') {
        (void)snprintf(method, sizeof method, "cuff: %s", e->cuff);
    }
    return o != NULL &&
           set(o, "component",
               json_pack("[{s:o, s:o}, {s:o, s:o}]", "code", code_of(&SYSTOLIC),
                         "valueQuantity", quantity(&SYSTOLIC, e->systolic_mmhg), "code",
                         code_of(&DIASTOLIC), "valueQuantity",
                         quantity(&DIASTOLIC, e->diastolic_mmhg))) &&
           set_text(o, "method", method);
}

bool entry_fhir_add(json_t *bundle, const entry *e)
{
    const bool fahrenheit = strcmp(e->temperature_unit, "F") == 0;
    const bool pressure =
        e->systolic_mmhg != ENTRY_NO_WHOLE && e->diastolic_mmhg != ENTRY_NO_WHOLE;
    return (!isfinite(entry_per_min(e)) || add_pulse(bundle, e)) &&
           (!isfinite(entry_breath_per_min(e)) || add_breaths(bundle, e)) &&
           (!isfinite(e->temperature) ||
            add_one(bundle, e, fahrenheit ? &FAHRENHEIT : &CELSIUS, e->temperature,
                    e->temperature_site)) &&
           (!pressure || add_pressure(bundle, e)) &&
           (e->saturation_percent == ENTRY_NO_WHOLE ||
            add_one(bundle, e, &SATURATION, e->saturation_percent, "")) &&
           (e->pain_of_10 == ENTRY_NO_WHOLE ||
            add_one(bundle, e, &PAIN, e->pain_of_10, ""));
}
