#include "src/usecase/document_files.h"

#include "src/document/rhythm_file.h"
#include "src/port/file.h"
#include "src/port/read_whole.h"
#include "src/port/sealed.h"

#include <stdlib.h>
#include <string.h>

/* A day's sitting with every tap is a few MB; so are a million times with comments. */
static const size_t DOCUMENT_BYTES_MOST = (size_t)64 << 20;

enum {
    KEY_BYTES_MOST = 1 << 20
};

char *truth_document_path(const char *sound_path)
{
    return file_beside(sound_path, ".truth.json");
}

char *sitting_document_path(const char *sound_path)
{
    return file_beside(sound_path, ".sitting.json");
}

bool truth_document_read(const char *path, truth_document *d, app_err *err)
{
    bytes all = BYTES_NONE;
    *d = (truth_document)TRUTH_NONE;
    const bool ok = read_whole_regular(path, DOCUMENT_BYTES_MOST, &all, err) &&
                    truth_document_parse(path, all.data, all.n, d, err);
    bytes_free(&all);
    return ok;
}

bool sitting_document_read(const char *path, sitting_document *d, app_err *err)
{
    bytes all = BYTES_NONE;
    *d = sitting_document_none();
    const bool ok = read_whole_regular(path, DOCUMENT_BYTES_MOST, &all, err) &&
                    sitting_document_parse(path, all.data, all.n, d, err);
    bytes_free(&all);
    return ok;
}

bool sitting_document_write(const sitting_document *d, const char *path, app_err *err)
{
    char *const text = sitting_document_format(d);
    const bool ok =
        text != NULL
            ? file_write_private(path, text, strlen(text), true, err)
            : app_err_set(err, APP_FAILED, "cannot write %s: out of memory", path);
    free(text);
    return ok;
}

bool times_file_read(const char *path, times_kind kind, times *out, app_err *err)
{
    bytes all = BYTES_NONE;
    *out = (times)TIMES_NONE;
    const bool ok = read_whole(path, DOCUMENT_BYTES_MOST, &all, err) &&
                    times_parse(path, all.data, all.n, kind, out, err);
    bytes_free(&all);
    return ok;
}

bool rhythm_file_read(const char *path, times *out, app_err *err)
{
    bytes all = BYTES_NONE;
    *out = (times)TIMES_NONE;
    const bool ok = read_whole(path, DOCUMENT_BYTES_MOST, &all, err) &&
                    rhythm_file_parse(path, all.data, all.n, out, err);
    bytes_free(&all);
    return ok;
}

bool recipe_file_read(const char *path, recipe_file *out, app_err *err)
{
    bytes all = BYTES_NONE;
    *out = (recipe_file){0};
    const bool ok = read_whole(path, DOCUMENT_BYTES_MOST, &all, err) &&
                    recipe_file_parse(path, all.data, all.n, out, err);
    bytes_free(&all);
    return ok;
}

bool worksheet_key_write(const worksheet_key *k,
                         const char *path,
                         const char *phrase,
                         app_err *err)
{
    bytes sealed = BYTES_NONE;
    char *const text = worksheet_key_format(k);
    if (text == NULL) {
        return app_err_memory(err);
    }
    const bool ok = sealed_make(phrase, text, strlen(text), &sealed, err) &&
                    file_write_private(path, sealed.data, sealed.n, false, err);
    sealed_wipe(text, strlen(text));
    free(text);
    bytes_free(&sealed);
    return ok;
}

bool worksheet_key_read(const char *path,
                        const char *phrase,
                        worksheet_key *k,
                        app_err *err)
{
    bytes sealed = BYTES_NONE;
    bytes open = BYTES_NONE;
    const bool ok = read_whole(path, KEY_BYTES_MOST, &sealed, err) &&
                    sealed_open(path, phrase, sealed.data, sealed.n, &open, err) &&
                    worksheet_key_parse(open.data, open.n, k, err);
    if (open.data != NULL) {
        sealed_wipe(open.data, open.n);
    }
    bytes_free(&open);
    bytes_free(&sealed);
    return ok;
}
