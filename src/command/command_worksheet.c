/* worksheet: recordings to count in class, a sheet to fill in, a sealed key, and scores. */
#include "src/command/command.h"
#include "src/command/phrase.h"
#include "src/command/worksheet_private.h"

#include "src/base/bytes.h"
#include "src/base/read_whole.h"
#include "src/base/sealed.h"
#include "src/base/text.h"
#include "src/sitting/document_files.h"

#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    ANSWERS_BYTES_MOST = 64 << 20
};

static const option_spec OPTIONS[] = {
    {"items", OPTION_WHOLE, "N", "make: how many items (default: all that fit)", 1.0,
     (double)WORKSHEET_ITEMS_MOST, NULL},
    {"seed", OPTION_WHOLE, "N", "make: chooses and orders the items (default 1)", 0.0,
     1e9, NULL},
    {"title", OPTION_TEXT, "TEXT", "make: printed on the sheet", 0, 0, NULL},
    {"phrase-file", OPTION_TEXT, "FILE",
     "take the pass phrase from the first line of FILE; without it you are asked", 0, 0,
     NULL},
    {"tolerance", OPTION_NUMBER, "N",
     "score: how far off a count may be, per minute (default 4, an example)", 0.5, 50.0,
     NULL},
    {"json", OPTION_FLAG, NULL, "open, score: print a document", 0, 0, NULL},
    {"csv", OPTION_FLAG, NULL, "score: one row an answer, for a spreadsheet", 0, 0,
     NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* ---- make ---- */

static bool make(const options *o, app_err *err)
{
    char phrase[PHRASE_BYTES] = "";
    size_t n = 0;
    if (o->n_operands != 3) {
        return app_err_set(err, APP_USAGE,
                           "give the recordings' folder, or a recipe file, and the "
                           "folder to make: "
                           "fullminute worksheet make recordings my-sheet");
    }
    worksheet_plan plan = {.from = o->operands[1],
                           .to = o->operands[2],
                           .phrase = phrase,
                           .title = options_text(o, "title", "Counting a minute"),
                           .n_items = (size_t)options_whole(o, "items", 0),
                           .seed = (uint64_t)options_whole(o, "seed", 1)};
    const bool ok = phrase_find(o, "Pass phrase of the key: ", true, phrase, err) &&
                    worksheet_make_any(&plan, &n, err);
    sodium_memzero(phrase, sizeof phrase);
    if (ok) {
        (void)printf("%zu items, %s to print, and key.sealed are in ", n,
                     worksheet_make_pdf(plan.to) ? "sheet.pdf and sheet.html"
                                                 : "sheet.html");
        text_print_clean(plan.to, stdout);
        (void)puts(
            ".\nHand out all but the key; without its phrase nobody can read it, "
            "nor can you.");
    }
    return ok;
}

/* ---- open, score ---- */

static bool open_key(const options *o, worksheet_key *k, app_err *err)
{
    char phrase[PHRASE_BYTES] = "";
    const bool ok = phrase_find(o, "Pass phrase of the key: ", false, phrase, err) &&
                    worksheet_key_read(o->operands[1], phrase, k, err);
    sodium_memzero(phrase, sizeof phrase);
    return ok;
}

static bool show(const options *o, app_err *err)
{
    worksheet_key k = {.n = 0};
    if (o->n_operands != 2) {
        return app_err_set(
            err, APP_USAGE,
            "give the key: fullminute worksheet open my-sheet/key.sealed");
    }
    if (!open_key(o, &k, err)) {
        return false;
    }
    bool ok = true;
    if (options_given(o, "json")) {
        char *const text = worksheet_key_format(&k);
        ok = text != NULL || app_err_set(err, APP_FAILED, "out of memory");
        (void)puts(ok ? text : "");
        free(text);
    } else {
        worksheet_print_key(&k);
    }
    worksheet_key_free(&k);
    return ok;
}

static bool score(const options *o, app_err *err)
{
    worksheet_key k = {.n = 0};
    worksheet_scores s = {.n_items = 0};
    bytes answers = BYTES_NONE;
    if (o->n_operands != 3) {
        return app_err_set(err, APP_USAGE,
                           "give the key and the answers: fullminute worksheet score "
                           "my-sheet/key.sealed answers.csv");
    }
    bool ok = read_whole(o->operands[2], ANSWERS_BYTES_MOST, &answers, err) &&
              open_key(o, &k, err) &&
              worksheet_score(&k, o->operands[2], answers.data, answers.n,
                              options_number(o, "tolerance", 4.0), &s, err);
    if (ok && options_given(o, "json")) {
        ok = worksheet_print_json(&k, &s, err);
    } else if (ok && options_given(o, "csv")) {
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
        bool (*run)(const options *, app_err *);
    } VERBS[] = {{"make", make}, {"open", show}, {"score", score}};
    for (size_t i = 0; i < sizeof VERBS / sizeof VERBS[0]; i++) {
        if (strcmp(o->operands[0], VERBS[i].name) == 0) {
            return VERBS[i].run(o, err) ? APP_DONE : APP_FAILED;
        }
    }
    return !app_err_set(err, APP_USAGE,
                        "worksheet %.40s is not known; make, open or score",
                        o->operands[0]);
}

const struct command command_worksheet = {
    .name = "worksheet",
    .summary = "Recordings to count in class, a sheet, and a sealed key",
    .usage = "make FOLDER|RECIPE OUT | open KEY | score KEY ANSWERS.csv",
    .details =
        "  make FOLDER|RECIPE OUT    from recordings with their truth beside them, or\n"
        "                            from a recipe file (see compose --recipe): one\n"
        "                            minute each under a neutral name, a sheet to\n"
        "                            print (also as PDF where chromium or weasyprint\n"
        "                            is installed), and the truth sealed with a pass\n"
        "                            phrase; OUT is a new or empty folder\n"
        "  open KEY                  what is true of each item, with the rhythm's "
        "recipe,\n"
        "                            to tell afterwards\n"
        "  score KEY ANSWERS.csv     per student and per item: bias, share within the\n"
        "                            tolerance, what misled whom. Columns of the "
        "answers:\n"
        "                            "
        "student,item,manual_beats,seconds,convention,rhythm,\n"
        "                            breaths; students are seat numbers or initials\n",
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = 3,
    .exits = NULL,
    .run = run,
};
