#include "src/base/options.h"

#include "src/base/text.h"

#include <assert.h>
#include <string.h>

enum {
    HELP_TEXT_COLUMN = 26,
    HELP_COLUMNS = 80,
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

/* Without words: they would be its value. */
static bool is_flag(const field *f)
{
    return f->kind == FIELD_FLAG && f->words == NULL;
}

/* A text that nothing of the plan is filled with yet. */
static bool take_value(options *out, size_t at, const char *text, app_err *err)
{
    const char *const name = out->specs[at].name;
    const field *const f = &out->specs[at].to;
    if (out->texts[at] != NULL) {
        return app_err_set(err, APP_USAGE, "--%s is given twice; give it once", name);
    }
    out->texts[at] = text;
    if (is_flag(f) || (f->kind == FIELD_OWN && text[0] != '\0') ||
        field_take_text(f, NULL, text)) {
        return true;
    }
    char wanted[FIELD_DESCRIBED_BYTES];
    field_describe(f, wanted);
    return wanted[0] == '\0'
               ? app_err_set(err, APP_USAGE, "--%s needs a value, not an empty text",
                             name)
               : app_err_set(err, APP_USAGE, "--%s %s: expected %s", name, text,
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
    if (is_flag(&spec->to)) {
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

bool options_fill(const options *o, void *plan, app_err *err)
{
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        const option_spec *const s = &o->specs[i];
        void *const member = (char *)plan + s->to.offset;
        const char *const text = o->texts[i];
        if (text == NULL) {
            continue;
        }
        if (is_flag(&s->to)) {
            *(bool *)member = !*(bool *)member;
        } else if (s->to.kind == FIELD_OWN && !s->read(text, member, err)) {
            return false;
        } else if (s->to.kind != FIELD_OWN) {
            (void)field_take_text(&s->to, plan, text);
        }
    }
    return true;
}

const char *options_typed(const options *o, const char *name)
{
    const size_t at = find_spec(o->specs, name, strlen(name));
    assert(o->specs[at].name != NULL);
    return o->texts[at];
}

const char *options_first_of(const options *o, const char *const *names)
{
    while (*names != NULL && options_typed(o, *names) == NULL) {
        names++;
    }
    return *names;
}

/* Prints text from the help column on, wrapped and indented to it. */
static void print_wrapped(const char *text, FILE *to)
{
    for (const char *at = text; *at != '\0'; at += strspn(at, " ")) {
        const size_t n = text_line(at, HELP_COLUMNS - HELP_TEXT_COLUMN);
        (void)fprintf(to, "%*s%.*s\n", at > text ? HELP_TEXT_COLUMN : 0, "", (int)n,
                      at);
        at += n;
    }
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
