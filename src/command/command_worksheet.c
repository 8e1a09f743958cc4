/* worksheet: recordings to count in class, a sheet to fill in, a sealed key, and scores. */
#include "src/command/command.h"
#include "src/command/phrase.h"
#include "src/command/say.h"
#include "src/command/worksheet_private.h"

#include "src/base/bytes.h"
#include "src/port/read_whole.h"
#include "src/usecase/document_files.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum {
    ANSWERS_BYTES_MOST = 64 << 20
};

typedef struct plan {
    worksheet_plan make;
    const char *key;          /* of what is there already */
    const char *answers_path; /* NULL: none */
    const char *phrase_path;  /* NULL: ask */
    double tolerance_per_min;
    bool json, csv;
} plan;

static const option_spec OPTIONS[] = {
    {"items", "N", OPTION_NUMBER(plan, make.n_items, 1.0, (double)WORKSHEET_ITEMS_MOST),
     "make: how many items (default: all that fit)"},
    {"seed", "N", OPTION_NUMBER(plan, make.seed, 0.0, 1e9),
     "make: chooses and orders the items (default 1)"},
    {"title", "TEXT", OPTION_TEXT(plan, make.title), "make: printed on the sheet"},
    {"phrase-file", "FILE", OPTION_TEXT(plan, phrase_path),
     "take the pass phrase from the first line of FILE; without it you are asked"},
    {"tolerance", "N", OPTION_NUMBER(plan, tolerance_per_min, 0.5, 50.0),
     "score: how far off a count may be, per minute (default 4, an example)"},
    {"json", NULL, OPTION_FLAG(plan, json), "open, score: print a document"},
    {"csv", NULL, OPTION_FLAG(plan, csv),
     "score: one row an answer, for a spreadsheet"},
    OPTIONS_END,
};

static const char PROMPT[] = "Pass phrase of the key: ";

/* ---- make ---- */

static bool make(plan *p, app_err *err)
{
    char phrase[PHRASE_BYTES] = "";
    size_t n = 0;
    p->make.phrase = phrase;
    const bool ok = phrase_find(p->phrase_path, PROMPT, true, phrase, err) &&
                    worksheet_make_any(&p->make, &n, err);
    sodium_memzero(phrase, sizeof phrase);
    p->make.phrase = NULL;
    if (ok) {
        (void)printf("%zu items, %s to print, and key.sealed are in ", n,
                     worksheet_make_pdf(p->make.to) ? "sheet.pdf and sheet.html"
                                                    : "sheet.html");
        say_named(stdout, "", p->make.to,
                  ".\nHand out all but the key; without its phrase nobody can read it, "
                  "nor can you.\n");
    }
    return ok;
}

/* ---- open, score ---- */

static bool open_key(const plan *p, worksheet_key *k, app_err *err)
{
    char phrase[PHRASE_BYTES] = "";
    const bool ok = phrase_find(p->phrase_path, PROMPT, false, phrase, err) &&
                    worksheet_key_read(p->key, phrase, k, err);
    sodium_memzero(phrase, sizeof phrase);
    return ok;
}

static bool show(plan *p, app_err *err)
{
    worksheet_key k = {.n = 0};
    if (!open_key(p, &k, err)) {
        return false;
    }
    bool ok = true;
    if (p->json) {
        ok = say_text(worksheet_key_format(&k), err) && putchar('\n') != EOF;
    } else {
        worksheet_print_key(&k);
    }
    worksheet_key_free(&k);
    return ok;
}

static bool score(plan *p, app_err *err)
{
    worksheet_key k = {.n = 0};
    worksheet_scores s = {.n_items = 0};
    bytes answers = BYTES_NONE;
    bool ok = read_whole(p->answers_path, ANSWERS_BYTES_MOST, &answers, err) &&
              open_key(p, &k, err) &&
              worksheet_score(&k, p->answers_path, answers.data, answers.n,
                              p->tolerance_per_min, &s, err);
    if (ok && p->json) {
        ok = worksheet_print_json(&k, &s, err);
    } else if (ok && p->csv) {
        worksheet_print_csv(&k, &s);
    } else if (ok) {
        worksheet_print_scores(&k, &s);
    }
    worksheet_scores_free(&s);
    worksheet_key_free(&k);
    bytes_free(&answers);
    return ok;
}

static int run(const options *o, app_err *err)
{
    static const struct {
        const char *name;
        bool (*run)(plan *, app_err *);
        int n_operands;
        const char *wanted;
    } VERBS[] = {{"make", make, 3,
                  "give the recordings' folder, or a recipe file, and the folder to "
                  "make: fullminute worksheet make recordings my-sheet"},
                 {"open", show, 2,
                  "give the key: fullminute worksheet open my-sheet/key.sealed"},
                 {"score", score, 3,
                  "give the key and the answers: fullminute worksheet score "
                  "my-sheet/key.sealed answers.csv"}};
    const char *const *const words = o->operands;
    plan p = {.make = {.title = "Counting a minute", .seed = 1},
              .tolerance_per_min = 4.0};
    size_t i = 0;
    while (i < sizeof VERBS / sizeof VERBS[0] && strcmp(words[0], VERBS[i].name) != 0) {
        i++;
    }
    if (i == sizeof VERBS / sizeof VERBS[0]) {
        return !app_err_set(err, APP_USAGE,
                            "worksheet %.40s is not known; make, open or score",
                            words[0]);
    }
    if (o->n_operands != VERBS[i].n_operands) {
        return !app_err_set(err, APP_USAGE, "%s", VERBS[i].wanted);
    }
    p.make.from = p.key = words[1];
    p.make.to = p.answers_path = o->n_operands > 2 ? words[2] : NULL;
    return options_fill(o, &p, err) && VERBS[i].run(&p, err) ? APP_DONE : APP_FAILED;
}

static const char DETAILS[] =
    "  make FOLDER|RECIPE OUT    from recordings with their truth beside them, or\n"
    "                            from a recipe file (see compose --recipe): one\n"
    "                            minute each under a neutral name, a sheet to\n"
    "                            print (also as PDF where chromium or weasyprint\n"
    "                            is installed), and the truth sealed with a pass\n"
    "                            phrase; OUT is a new or empty folder\n"
    "  open KEY                  what is true of each item, with the rhythm's recipe,\n"
    "                            to tell afterwards\n"
    "  score KEY ANSWERS.csv     per student and per item: bias, share within the\n"
    "                            tolerance, what misled whom. Columns of the answers:\n"
    "                            student,item,manual_beats,seconds,convention,rhythm,\n"
    "                            breaths, parted by commas, semicolons or tabs;\n"
    "                            students are seat numbers or initials; an empty\n"
    "                            manual_beats is 'could not count'\n";

const struct command command_worksheet = {
    .name = "worksheet",
    .summary = "Recordings to count in class, a sheet, and a sealed key",
    .usage = "make FOLDER|RECIPE OUT | open KEY | score KEY ANSWERS.csv",
    .details = DETAILS,
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = 3,
    .run = run,
};
