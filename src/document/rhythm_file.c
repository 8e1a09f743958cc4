#include "src/document/rhythm_file.h"

#include "src/base/text.h"

#include <stdlib.h>
#include <string.h>

static const char FIRST_LINE[] = "# fullminute.rhythm/1";
static const double SHORTEST_S = 0.2;
static const double LONGEST_S = 5.0;

enum {
    WORDS_MAX = 6,
    DEEP_MAX = 4,
    TIMES_REPEATED_MAX = 10000
};

/* A block that is repeated: where its first interval lies, and how often it comes. */
struct block {
    size_t first;
    long repeats;
    size_t line;
};

struct reader {
    const char *name;
    size_t line;    /* from 1 */
    double basic_s; /* the interval that early and pause are shares of; 0: none yet */
    size_t room;
    times *out;
    struct block block[DEEP_MAX];
    size_t deep;
};

static bool wrong(const struct reader *r, const char *what, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "cannot use %s: line %zu %s", r->name,
                       r->line, what);
}

static bool add(struct reader *r, double length_s, app_err *err)
{
    if (!(length_s >= SHORTEST_S && length_s <= LONGEST_S)) {
        return wrong(r, "makes an interval that is not 0.2 to 5 s", err);
    }
    if (r->out->n == RHYTHM_FILE_INTERVALS_MAX) {
        return wrong(r, "makes too many intervals; 100000 at most", err);
    }
    if (r->out->n == r->room) {
        const size_t room = r->room == 0 ? 256 : 2 * r->room;
        double *const more = realloc(r->out->s, room * sizeof *more);
        if (more == NULL) {
            return app_err_set(err, APP_FAILED, "out of memory reading %s", r->name);
        }
        r->out->s = more;
        r->room = room;
    }
    r->out->s[r->out->n++] = length_s;
    return true;
}

static bool is(const char *word, const char *wanted)
{
    return strcmp(word, wanted) == 0;
}

/* A whole number from 1 to most. */
static bool whole(const char *word, long most, long *out)
{
    return text_to_long(word, out) && *out >= 1 && *out <= most;
}

static bool rate(const char *word, double *out)
{
    return text_to_double(word, out) && *out >= 12.0 && *out <= 300.0;
}

static bool take_beats(struct reader *r, char *const *word, size_t n, app_err *err)
{
    long count = 0;
    double from_bpm = 0.0;
    double to_bpm = 0.0;
    const bool even = n == 4 && is(word[2], "at") && rate(word[3], &from_bpm);
    const bool moving = n == 6 && is(word[2], "from") && rate(word[3], &from_bpm) &&
                        is(word[4], "to") && rate(word[5], &to_bpm);
    if (!(even || moving) || !whole(word[1], RHYTHM_FILE_INTERVALS_MAX, &count)) {
        return wrong(r,
                     "must be 'beats N at BPM' or 'beats N from BPM to BPM', with "
                     "12 to 300 a minute",
                     err);
    }
    for (long i = 0; i < count; i++) {
        const double share = count > 1 ? (double)i / (double)(count - 1) : 1.0;
        const double bpm = even ? from_bpm : from_bpm + share * (to_bpm - from_bpm);
        r->basic_s = 60.0 / bpm;
        if (!add(r, r->basic_s, err)) {
            return false;
        }
    }
    return true;
}

static bool take_early(struct reader *r, char *const *word, size_t n, app_err *err)
{
    double early = 0.0;
    double after = 0.0;
    bool good = (n == 2 || (n == 4 && is(word[2], "then"))) &&
                text_to_double(word[1], &early) && early > 0.0 && early < 1.0;
    if (good && n == 4) {
        good = text_to_double(word[3], &after) && after > 0.0;
    } else {
        after = 2.0 - early;
    }
    if (!good) {
        return wrong(r,
                     "must be 'early X' or 'early X then Y', with X between 0 and 1 "
                     "intervals",
                     err);
    }
    return add(r, early * r->basic_s, err) && add(r, after * r->basic_s, err);
}

static bool take_pause(struct reader *r, char *const *word, size_t n, app_err *err)
{
    double length = 0.0;
    if (n != 2 || !text_to_double(word[1], &length) || !(length > 1.0)) {
        return wrong(r, "must be 'pause X', with X over 1 interval", err);
    }
    return add(r, length * r->basic_s, err);
}

static bool take_interval(struct reader *r, char *const *word, size_t n, app_err *err)
{
    double length_s = 0.0;
    if (n != 2 || !text_to_double(word[1], &length_s)) {
        return wrong(r, "must be 'interval S', in seconds", err);
    }
    return add(r, length_s, err);
}

static bool take_repeat(struct reader *r, char *const *word, size_t n, app_err *err)
{
    long repeats = 0;
    if (n != 2 || !whole(word[1], TIMES_REPEATED_MAX, &repeats)) {
        return wrong(r, "must be 'repeat N', with N from 1 to 10000", err);
    }
    if (r->deep == DEEP_MAX) {
        return wrong(r, "is a repeat too deep; 4 within each other at most", err);
    }
    r->block[r->deep++] = (struct block){r->out->n, repeats, r->line};
    return true;
}

static bool take_end(struct reader *r, size_t n, app_err *err)
{
    if (n != 1 || r->deep == 0) {
        return wrong(r, "must be 'end' alone, and close a 'repeat N'", err);
    }
    const struct block *const b = &r->block[--r->deep];
    const size_t length = r->out->n - b->first;
    if (length == 0) {
        return wrong(r, "closes a repeat with no beats in it", err);
    }
    for (long k = 1; k < b->repeats; k++) {
        for (size_t i = 0; i < length; i++) {
            if (!add(r, r->out->s[b->first + i], err)) {
                return false;
            }
        }
    }
    return true;
}

static bool take_words(struct reader *r, char *const *word, size_t n, app_err *err)
{
    if (is(word[0], "beats")) {
        return take_beats(r, word, n, err);
    }
    if (is(word[0], "interval")) {
        return take_interval(r, word, n, err);
    }
    if (is(word[0], "repeat")) {
        return take_repeat(r, word, n, err);
    }
    if (is(word[0], "end")) {
        return take_end(r, n, err);
    }
    const bool early = is(word[0], "early");
    if (!early && !is(word[0], "pause")) {
        return wrong(r, "must begin with beats, early, pause, interval, repeat or end",
                     err);
    }
    if (!(r->basic_s > 0.0)) {
        return wrong(r,
                     "needs an interval to be a share of; put 'beats N at BPM' "
                     "before it",
                     err);
    }
    return early ? take_early(r, word, n, err) : take_pause(r, word, n, err);
}

static bool take_line(struct reader *r, char *line, app_err *err)
{
    char *word[WORDS_MAX];
    size_t n = 0;
    if (r->line == 1) {
        line += strncmp(line, "\xef\xbb\xbf", 3) == 0 ? 3 : 0; /* byte order mark */
        line[strcspn(line, "\r")] = '\0';
        return strncmp(line, FIRST_LINE, sizeof FIRST_LINE - 1) == 0 &&
                       line[sizeof FIRST_LINE - 1 +
                            strspn(line + sizeof FIRST_LINE - 1, " \t")] == '\0'
                   ? true
                   : app_err_set(err, APP_UNREADABLE,
                                 "cannot use %s: line 1 must be '%s'", r->name,
                                 FIRST_LINE);
    }
    line[strcspn(line, "#")] = '\0';
    for (char *at = line + strspn(line, " \t\r"); *at != '\0';) {
        if (n == WORDS_MAX) {
            return wrong(r, "has too many words", err);
        }
        word[n++] = at;
        at += strcspn(at, " \t\r");
        if (*at != '\0') {
            *at++ = '\0';
            at += strspn(at, " \t\r");
        }
    }
    return n == 0 || take_words(r, word, n, err);
}

/* text is cut up; it ends with a zero byte at text[n], and holds none before. */
static bool take_all(struct reader *r, char *text, app_err *err)
{
    char *at = text;
    bool more = true;
    while (more) {
        char *const end = at + strcspn(at, "\n");
        more = *end != '\0';
        *end = '\0';
        r->line++;
        if (!take_line(r, at, err)) {
            return false;
        }
        at = end + 1;
    }
    if (r->deep > 0) {
        r->line = r->block[r->deep - 1].line;
        return wrong(r, "starts a repeat that no 'end' closes", err);
    }
    return r->out->n > 0 ||
           app_err_set(err, APP_UNREADABLE, "cannot use %s: it has no beats", r->name);
}

bool rhythm_file_parse(
    const char *name, const char *bytes, size_t n, times *out, app_err *err)
{
    *out = (times)TIMES_NONE;
    if (n > RHYTHM_FILE_BYTES_MAX || memchr(bytes, '\0', n) != NULL) {
        return app_err_set(err, APP_UNREADABLE,
                           "cannot use %s: it is not text of at most 64 KiB", name);
    }
    char *const text = malloc(n + 1);
    if (text == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory reading %s", name);
    }
    memcpy(text, bytes, n);
    text[n] = '\0';
    struct reader r = {.name = name, .out = out};
    const bool ok = take_all(&r, text, err);
    if (!ok) {
        times_free(out);
    }
    free(text);
    return ok;
}
