/*
 * Stands in for the kernel's account of sound cards (src/capture/hardware_watch.h), for a program
 * that it is loaded into: glob() of /proc/asound looks in the folder $FULLMINUTE_TEST_ASOUND. The
 * first look finds nothing: so it is before the input is opened.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char ROOT[] = "/proc/asound";

typedef int glob_function(const char *, int, int (*)(const char *, int), glob_t *);

/* Named as the C library names them, but for the underscores. */
int glob(const char *restrict pattern,
         int flags,
         int (*errfunc)(const char *, int),
         glob_t *restrict pglob)
{
    static int looks = 0;
    char other[1024];
    const char *const folder = getenv("FULLMINUTE_TEST_ASOUND");
    glob_function *plain = NULL;
    *(void **)&plain = dlsym(RTLD_NEXT, "glob");
    if (folder != NULL && strncmp(pattern, ROOT, strlen(ROOT)) == 0) {
        (void)snprintf(other, sizeof other, "%s%s%s", folder,
                       looks++ == 0 ? "/before" : "", pattern + strlen(ROOT));
        pattern = other;
    }
    return plain(pattern, flags, errfunc, pglob);
}
