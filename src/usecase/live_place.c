#include "src/usecase/live_place.h"

#include "src/document/sitting_document.h"
#include "src/port/file.h"
#include "src/port/home.h"
#include "src/port/utc.h"
#include "src/usecase/document_files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    PLACE_BYTES = 4096,
    SAME_SECOND_MAX = 100
};

static char *recordings_folder(app_err *err)
{
    return home_path(HOME_DATA, "recordings", "no home folder to keep recordings in",
                     HINT_RECORDING, err);
}

bool live_place_holds(const char *path)
{
    char place[PLACE_BYTES];
    app_err ignored = APP_ERR_NONE;
    sitting_document d = sitting_document_none();
    const size_t n = strlen(path);
    const size_t n_folder = (size_t)(file_base_name(path) - path);
    if (n < sizeof ".wav" || strcmp(path + n - 4, ".wav") != 0 || n_folder == 0 ||
        n >= sizeof place || !file_is_plain(path)) {
        return false;
    }
    memcpy(place, path, n_folder);
    place[n_folder] = '\0';
    char *const folder = recordings_folder(&ignored);
    char *const document = sitting_document_path(path);
    const bool ours = folder != NULL && file_is_same(folder, place) &&
                      document != NULL && file_is_plain(document) &&
                      sitting_document_read(document, &d, &ignored);
    sitting_document_free(&d);
    free(document);
    free(folder);
    return ours;
}

/* In the recordings folder, which is made; a name that nothing has. */
static bool name_new(char place[PLACE_BYTES], app_err *err)
{
    char name[UTC_BYTES];
    char *const folder = recordings_folder(err);
    if (folder == NULL) {
        return false;
    }
    utc_name_now(name);
    (void)snprintf(place, PLACE_BYTES, "%s/%s.wav", folder, name);
    for (int i = 2; i < SAME_SECOND_MAX && file_is_there(place); i++) {
        (void)snprintf(place, PLACE_BYTES, "%s/%s-%d.wav", folder, name, i);
    }
    free(folder);
    return file_make_folders(place, true, err) ||
           app_err_hint(err, HINT_NONE, HINT_RECORDING);
}

char *live_place_new(const char *wanted, app_err *err)
{
    char place[PLACE_BYTES];
    if (wanted == NULL && !name_new(place, err)) {
        return NULL;
    }
    char *const copy = strdup(wanted != NULL ? wanted : place);
    if (copy == NULL) {
        (void)app_err_memory(err);
    }
    return copy;
}
