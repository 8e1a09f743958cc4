#include "src/port/folder.h"

#include <dirent.h>
#include <errno.h>
#include <stddef.h>
#include <string.h>

bool folder_each(const char *path, folder_reader *reader, void *context, app_err *err)
{
    DIR *const folder = opendir(path);
    if (folder == NULL) {
        return app_err_set(err, APP_UNREADABLE, "cannot open the folder %s: %s", path,
                           APP_CAUSE(errno));
    }
    const struct dirent *e = NULL;
    bool more = true;
    /* One stream a thread: readdir needs no lock here. */
    /* cppcheck-suppress readdirCalled */ /* NOLINTNEXTLINE(concurrency-mt-unsafe) */
    while (more && (e = readdir(folder)) != NULL) {
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0) {
            more = reader(context, e->d_name);
        }
    }
    (void)closedir(folder);
    return true;
}
