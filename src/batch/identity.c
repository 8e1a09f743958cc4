#include "src/batch/identity.h"

#include "src/port/file.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

static const int64_t NS_PER_S = 1000000000;

/* FAT keeps times to two seconds, the coarsest in use (from memory). */
static const int64_t REST_NS = 3000000000;

static int64_t to_ns(struct timespec t)
{
    return (int64_t)t.tv_sec * NS_PER_S + (int64_t)t.tv_nsec;
}

static void look_beside(const char *path, identity *out)
{
    struct stat info;
    char *const sitting = file_beside(path, ".sitting.json");
    if (sitting != NULL && stat(sitting, &info) == 0) {
        (void)snprintf(out->beside, sizeof out->beside, "%" PRId64 ":%" PRId64,
                       (int64_t)info.st_size, to_ns(info.st_mtim));
    }
    free(sitting);
}

identity identity_look(const char *path, bool beside)
{
    identity out = {0};
    struct stat info;
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_REALTIME, &now);
    if (stat(path, &info) != 0 || !S_ISREG(info.st_mode)) {
        return out;
    }
    out.regular = true;
    out.size_bytes = info.st_size;
    out.mtime_ns = to_ns(info.st_mtim);
    out.looked_ns = to_ns(now);
    out.inode = (uint64_t)info.st_ino;
    if (beside) {
        look_beside(path, &out);
    }
    return out;
}

bool identity_is_alike(const identity *a, const identity *b)
{
    return a->regular && b->regular && a->size_bytes == b->size_bytes &&
           a->mtime_ns == b->mtime_ns && strcmp(a->beside, b->beside) == 0;
}

bool identity_was_at_rest(const identity *i)
{
    return i->mtime_ns + REST_NS < i->looked_ns;
}
