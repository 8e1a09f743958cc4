#include "src/host/aside.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

int aside_begin(void)
{
    (void)fflush(stderr);
    const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (nowhere < 0) {
        return -1;
    }
    const int kept = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3);
    if (kept >= 0) {
        (void)dup2(nowhere, STDERR_FILENO);
    }
    (void)close(nowhere);
    return kept;
}

void aside_end(int kept)
{
    if (kept >= 0) {
        (void)fflush(stderr);
        (void)dup2(kept, STDERR_FILENO);
        (void)close(kept);
    }
}
