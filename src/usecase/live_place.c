#include "src/usecase/live_place.h"

#include "src/document/sitting_document.h"
#include "src/port/file.h"
#include "src/usecase/document_files.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    PLACE_BYTES = 4096,
    SAME_SECOND_MAX = 100
};

/* Makes every folder of the path, for the owner only. */
static bool make_folders(char *path, app_err *err)
{
    for (char *c = path + 1;; c++) {
        if (*c == '/' || *c == '\0') {
            const char kept = *c;
            *c = '\0';
            if (mkdir(path, S_IRWXU) != 0 && errno != EEXIST) {
                (void)app_err_set(err, APP_FAILED, "cannot make the folder %s: %s",
                                  path, APP_CAUSE(errno));
                return app_err_hint(err, HINT_NONE, HINT_RECORDING);
            }
            *c = kept;
            if (kept == '\0') {
                return true;
            }
        }
    }
}

static bool name_folder(char out[PLACE_BYTES])
{
    /* Nothing changes the environment. NOLINTBEGIN(concurrency-mt-unsafe) */
    const char *const data = getenv("XDG_DATA_HOME");
    const char *const home = getenv("HOME");
    /* NOLINTEND(concurrency-mt-unsafe) */
    int n = -1;
    if (data != NULL && data[0] == '/') {
        n = snprintf(out, PLACE_BYTES, "%s/fullminute/recordings", data);
    } else if (home != NULL && home[0] == '/') {
        n = snprintf(out, PLACE_BYTES, "%s/.local/share/fullminute/recordings", home);
    }
    return n >= 0 && n < PLACE_BYTES - SITTING_TEXT_BYTES;
}

static bool recordings_folder(char out[PLACE_BYTES], app_err *err)
{
    if (!name_folder(out)) {
        (void)app_err_set(err, APP_FAILED, "no home folder to keep recordings in");
        return app_err_hint(err, HINT_NONE, HINT_RECORDING);
    }
    return make_folders(out, err);
}

static bool is_plain_file(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0 && S_ISREG(info.st_mode);
}

bool live_place_holds(const char *path)
{
    char folder[PLACE_BYTES];
    char place[PLACE_BYTES];
    app_err ignored = APP_ERR_NONE;
    sitting_document d = sitting_document_none();
    const size_t n = strlen(path);
    const size_t n_folder = (size_t)(file_base_name(path) - path);
    if (n < sizeof ".wav" || strcmp(path + n - 4, ".wav") != 0 || n_folder == 0 ||
        n >= sizeof place || !name_folder(folder) || !is_plain_file(path)) {
        return false;
    }
    memcpy(place, path, n_folder);
    place[n_folder] = '\0';
    char *const document = sitting_document_path(path);
    const bool ours = file_is_same(folder, place) && document != NULL &&
                      is_plain_file(document) &&
                      sitting_document_read(document, &d, &ignored);
    sitting_document_free(&d);
    free(document);
    return ours;
}

char *live_place_new(const char *wanted, app_err *err)
{
    char place[PLACE_BYTES];
    if (wanted != NULL) {
        (void)snprintf(place, sizeof place, "%s", wanted);
    } else {
        char name[SITTING_TEXT_BYTES] = "recording";
        const time_t now = time(NULL);
        struct tm local;
        if (!recordings_folder(place, err)) {
            return NULL;
        }
        if (localtime_r(&now, &local) != NULL) {
            (void)strftime(name, sizeof name, "%Y-%m-%d-%H%M%S", &local);
        }
        const size_t n = strlen(place);
        (void)snprintf(place + n, sizeof place - n, "/%s.wav", name);
        for (int i = 2; i < SAME_SECOND_MAX && access(place, F_OK) == 0; i++) {
            (void)snprintf(place + n, sizeof place - n, "/%s-%d.wav", name, i);
        }
    }
    char *const copy = strdup(place);
    if (copy == NULL) {
        (void)app_err_memory(err);
    }
    return copy;
}
