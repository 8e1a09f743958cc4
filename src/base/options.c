#include "src/base/options.h"

#include "src/base/text.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum {
    HELP_TEXT_COLUMN = 26,
    HELP_COLUMNS = 80,
    RANGE_BYTES = 160,
    FOUND_BYTES = 64
};

static size_t find_spec(const option_spec *specs, const char *name, size_t length)
{
    size_t i = 0;
    while (specs[i].name != NULL && (strncmp(specs[i].name, name, length) != 0 ||
                                     specs[i].name[length] != '\0')) {
        i++;
    }
    return i;
}

static bool unknown_option(const option_spec *specs, const char *word, app_err *err)
{
    const char *const name = word + strspn(word, "-");
    char typed[FOUND_BYTES];
    (void)snprintf(typed, sizeof typed, "%.*s", (int)strcspn(name, "="), name);
    text_nearest nearest = {typed, NULL, 0};
    for (const option_spec *s = specs; s->name != NULL; s++) {
        text_nearest_offer(&nearest, s->name);
    }
    text_nearest_offer(&nearest, "help");
    if (nearest.word != NULL) {
        return app_err_set(err, APP_USAGE, "unknown option %s; did you mean --%s?",
                           word, nearest.word);
    }
    return app_err_set(err, APP_USAGE, "unknown option %s; --help lists the options",
                       word);
}

static void append(char *text, size_t bytes, const char *more)
{
    const size_t used = strlen(text);
    (void)snprintf(text + used, bytes - used, "%s", more);
}

/* "a number from 1 to 60, or 'whole'" */
static void describe_wanted(const option_spec *spec, char out[RANGE_BYTES])
{
    out[0] = '\0';
    if (spec->kind == OPTION_NUMBER || spec->kind == OPTION_WHOLE) {
        append(out, RANGE_BYTES,
               spec->kind == OPTION_WHOLE ? "a whole number" : "a number");
        if (spec->min < spec->max) {
            char range[FOUND_BYTES];
            if (spec->kind == OPTION_WHOLE) {
                (void)snprintf(range, sizeof range, " from %.0f to %.0f", spec->min,
                               spec->max);
            } else {
                (void)snprintf(range, sizeof range, " from %.10g to %.10g", spec->min,
                               spec->max);
            }
            append(out, RANGE_BYTES, range);
        }
        if (spec->words != NULL) {
            append(out, RANGE_BYTES, ", or ");
        }
    }
    for (size_t i = 0; spec->words != NULL && spec->words[i] != NULL; i++) {
        append(out, RANGE_BYTES,
               i == 0 ? "" : (spec->words[i + 1] == NULL ? " or " : ", "));
        append(out, RANGE_BYTES, "'");
        append(out, RANGE_BYTES, spec->words[i]);
        append(out, RANGE_BYTES, "'");
    }
}

static bool is_word(const option_spec *spec, const char *text)
{
    for (size_t i = 0; spec->words != NULL && spec->words[i] != NULL; i++) {
        if (strcmp(spec->words[i], text) == 0) {
            return true;
        }
    }
    return false;
}

/* Reads a number into *number, NaN for text and words; false when it will not do. */
static bool read_value(const option_spec *spec, const char *text, double *number)
{
    *number = (double)NAN;
    if (spec->kind == OPTION_TEXT) {
        return text[0] != '\0';
    }
    if (is_word(spec, text)) {
        return true;
    }
    long whole = 0;
    bool ok = false;
    if (spec->kind == OPTION_NUMBER) {
        ok = text_to_double(text, number);
    } else if (spec->kind == OPTION_WHOLE) {
        ok = text_to_long(text, &whole);
        *number = (double)whole;
    }
    const bool limited = spec->min < spec->max;
    return ok && (!limited || (*number >= spec->min && *number <= spec->max));
}

static bool take_value(options *out, size_t at, const char *text, app_err *err)
{
    const option_spec *const spec = &out->specs[at];
    if (out->texts[at] != NULL) {
        return app_err_set(err, APP_USAGE, "--%s is given twice; give it once",
                           spec->name);
    }
    out->texts[at] = text;
    if (spec->kind == OPTION_FLAG || read_value(spec, text, &out->numbers[at])) {
        return true;
    }
    if (spec->kind == OPTION_TEXT) {
        return app_err_set(err, APP_USAGE, "--%s needs a value, not an empty text",
                           spec->name);
    }
    char wanted[RANGE_BYTES];
    describe_wanted(spec, wanted);
    return app_err_set(err, APP_USAGE, "--%s %s: expected %s", spec->name, text,
                       wanted);
}

/* Parses the option at argv[*i], and its value behind it, and moves *i past both. */
static bool parse_option(options *out, int argc, char **argv, int *i, app_err *err)
{
    const char *const word = argv[*i];
    const char *const name = word + 2;
    const size_t length = strcspn(name, "=");
    const size_t at = find_spec(out->specs, name, length);
    const option_spec *const spec = &out->specs[at];
    (*i)++;
    if (strncmp(word, "--", 2) != 0 || spec->name == NULL) {
        return unknown_option(out->specs, word, err);
    }
    const bool has_equals = name[length] == '=';
    if (spec->kind == OPTION_FLAG) {
        if (has_equals) {
            return app_err_set(err, APP_USAGE, "--%s takes no value; write it alone",
                               spec->name);
        }
        return take_value(out, at, "", err);
    }
    if (has_equals) {
        return take_value(out, at, name + length + 1, err);
    }
    if (*i >= argc || strncmp(argv[*i], "--", 2) == 0) {
        return app_err_set(err, APP_USAGE, "--%s needs a value: --%s %s", spec->name,
                           spec->name, spec->value);
    }
    return take_value(out, at, argv[(*i)++], err);
}

static bool is_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0;
}

bool options_parse(
    const option_spec *specs, int argc, char **argv, options *out, app_err *err)
{
    *out = (options){.specs = specs, .operands = (const char *const *)argv};
    for (size_t i = 0; i < OPTIONS_MAX; i++) {
        out->numbers[i] = (double)NAN;
    }
    for (int i = 0; i < argc && strcmp(argv[i], "--") != 0; i++) {
        if (is_help(argv[i])) {
            out->help = true;
            return true;
        }
    }
    int i = 0;
    while (i < argc) {
        if (strcmp(argv[i], "--") == 0) {
            i++;
            break;
        }
        if (argv[i][0] != '-' || argv[i][1] == '\0') {
            argv[out->n_operands++] = argv[i++];
        } else if (!parse_option(out, argc, argv, &i, err)) {
            return false;
        }
    }
    while (i < argc) {
        argv[out->n_operands++] = argv[i++];
    }
    return true;
}

static size_t known_spec(const options *o, const char *name)
{
    const size_t at = find_spec(o->specs, name, strlen(name));
    assert(o->specs[at].name != NULL);
    return at;
}

bool options_given(const options *o, const char *name)
{
    return o->texts[known_spec(o, name)] != NULL;
}

const char *options_text(const options *o, const char *name, const char *fallback)
{
    const char *const text = o->texts[known_spec(o, name)];
    return text != NULL ? text : fallback;
}

double options_number(const options *o, const char *name, double fallback)
{
    const double number = o->numbers[known_spec(o, name)];
    return isnan(number) ? fallback : number;
}

long options_whole(const options *o, const char *name, long fallback)
{
    const double number = o->numbers[known_spec(o, name)];
    return isnan(number) ? fallback : (long)number;
}

bool options_is(const options *o, const char *name, const char *word)
{
    const char *const text = options_text(o, name, NULL);
    return text != NULL && strcmp(text, word) == 0;
}

/* Prints text from the current column on, wrapped and indented to the help column. */
static void print_wrapped(const char *text, FILE *to)
{
    int column = HELP_TEXT_COLUMN;
    const char *at = text;
    while (*at != '\0') {
        const int length = (int)strcspn(at, " ");
        if (column > HELP_TEXT_COLUMN && column + 1 + length > HELP_COLUMNS) {
            (void)fprintf(to, "\n%*s", HELP_TEXT_COLUMN, "");
            column = HELP_TEXT_COLUMN;
        } else if (column > HELP_TEXT_COLUMN) {
            (void)fputc(' ', to);
            column++;
        }
        (void)fprintf(to, "%.*s", length, at);
        column += length;
        at += length;
        at += strspn(at, " ");
    }
    (void)fputc('\n', to);
}

static void print_option(const char *name,
                         const char *value,
                         const char *help,
                         FILE *to)
{
    char head[FOUND_BYTES];
    (void)snprintf(head, sizeof head, "  --%s%s%s", name, value != NULL ? " " : "",
                   value != NULL ? value : "");
    if (strlen(head) + 2 > HELP_TEXT_COLUMN) {
        (void)fprintf(to, "%s\n%*s", head, HELP_TEXT_COLUMN, "");
    } else {
        (void)fprintf(to, "%-*s", HELP_TEXT_COLUMN, head);
    }
    print_wrapped(help, to);
}

void options_print_help(const option_spec *specs, FILE *to)
{
    for (const option_spec *s = specs; s->name != NULL; s++) {
        print_option(s->name, s->value, s->help, to);
    }
    print_option("help", NULL, "show this help", to);
}
