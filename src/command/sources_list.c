/* The listing of `sources`: what a person reads, and the document. */
#include "src/command/say.h"
#include "src/command/sources_private.h"

#include "src/base/json_text.h"
#include "src/base/text.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool usable(const device *d, bool output)
{
    return (output ? d->outputs : d->inputs) > 0;
}

static bool is_remembered(const device *d, const settings *s)
{
    const char *const key = settings_text(s, SETTINGS_INPUT);
    return key != NULL && d->inputs > 0 && strcmp(key, d->key) == 0;
}

void sources_say_none(void)
{
    (void)fputs("There is no sound input on this computer. Plug in the chest piece's "
                "microphone\nor a sound card and try again. A recording can be used in "
                "its place:\n\n"
                "  fullminute count FILE\n"
                "  fullminute count --live --input file:FILE\n",
                stdout);
}

/* "8 to 96 kHz" when there are many. */
static void say_rates(const device *d, char *out, size_t bytes)
{
    out[0] = '\0';
    if (d->n_rates == DEVICE_RATES) {
        (void)snprintf(out, bytes, "%g to %g kHz", d->rates_hz[0] / 1000.0,
                       d->rates_hz[d->n_rates - 1] / 1000.0);
        return;
    }
    size_t used = 0;
    for (int i = 0; i < d->n_rates && used < bytes; i++) {
        const int more = snprintf(out + used, bytes - used, "%s%g", i > 0 ? ", " : "",
                                  d->rates_hz[i] / 1000.0);
        used += more > 0 ? (size_t)more : 0;
    }
    if (used > 0 && used < bytes) {
        (void)snprintf(out + used, bytes - used, " kHz");
    }
}

/* The key's own name, and the system's where it says more. */
static void print_one(const device *d, const settings *s, bool output)
{
    const bool remembered = !output && is_remembered(d, s);
    const bool first = output ? d->default_output : d->default_input;
    const int channels = output ? d->outputs : d->inputs;
    char rates[96];
    say_rates(d, rates, sizeof rates);
    say_named(stdout, remembered ? "* " : "  ", d->key, "\n");
    (void)printf("      %s, %d channel%s", d->host_api, channels,
                 channels == 1 ? "" : "s");
    if ((!output || d->inputs == 0) && rates[0] != '\0') {
        (void)printf(", %s", rates);
    }
    (void)printf("%s\n", first ? ", the system's default" : "");
    const char *const colon = strchr(d->key, ':');
    if (colon == NULL || strcmp(colon + 1, d->name) != 0) {
        say_named(stdout, "      named ", d->name, "\n");
    }
}

static size_t print_side(const devices *d, const settings *s, bool output)
{
    size_t n = 0;
    for (size_t i = 0; i < d->n; i++) {
        if (usable(&d->list[i], output)) {
            if (n == 0) {
                (void)puts(output ? "\nOutputs"
                                  : "Inputs, to choose with --input NAME");
            }
            print_one(&d->list[i], s, output);
            n++;
        }
    }
    return n;
}

static void print_text(const devices *d, const settings *s)
{
    const char *const key = settings_text(s, SETTINGS_INPUT);
    bool here = false;
    for (size_t i = 0; i < d->n; i++) {
        here = here || is_remembered(&d->list[i], s);
    }
    if (print_side(d, s, false) == 0) {
        sources_say_none();
    } else if (here) {
        (void)puts("\n* is the one that is remembered.");
    } else {
        (void)puts(
            "\nWhich one is the chest piece? 'fullminute sources --find' finds it.");
    }
    if (key != NULL && !here) {
        say_named(stdout, "The remembered input is not here now: ", key, "\n");
    }
    (void)print_side(d, s, true);
}

static json_t *list_rates(const device *d, bool output)
{
    if (output && d->inputs > 0) {
        return json_null(); /* asked of the input only */
    }
    json_t *const list = json_array();
    for (int i = 0; i < d->n_rates; i++) {
        (void)json_array_append_new(list, json_real(d->rates_hz[i]));
    }
    return list;
}

/* A name that is no UTF-8 cannot stand in a document: it is null there. */
static json_t *name_or_null(const char *text)
{
    json_t *const said = json_string(text);
    return said != NULL ? said : json_null();
}

static json_t *list_side(const devices *d, const settings *s, bool output)
{
    json_t *const list = json_array();
    for (size_t i = 0; i < d->n; i++) {
        const device *const one = &d->list[i];
        if (!usable(one, output)) {
            continue;
        }
        json_t *const row = json_pack(
            "{s:o, s:o, s:o, s:i, s:f, s:o, s:b}", "key", name_or_null(one->key),
            "name", name_or_null(one->name), "host_api", name_or_null(one->host_api),
            "channels", output ? one->outputs : one->inputs, "default_rate_hz",
            one->default_rate_hz, "rates_hz", list_rates(one, output), "default",
            output ? one->default_output : one->default_input);
        if (row == NULL ||
            (!output &&
             json_object_set_new(row, "remembered",
                                 json_boolean(is_remembered(one, s))) != 0) ||
            json_array_append_new(list, row) != 0) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

int sources_list(const devices *d, const settings *s, bool json, app_err *err)
{
    if (!json) {
        print_text(d, s);
        return APP_DONE;
    }
    json_t *const document =
        json_pack("{s:s, s:o, s:o}", "schema", "fullminute.sources/1", "inputs",
                  list_side(d, s, false), "outputs", list_side(d, s, true));
    char *const text = json_text_of(document, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    json_decref(document);
    const bool ok = say_text(text, err) && putchar('\n') != EOF;
    return ok ? APP_DONE : APP_FAILED;
}
