#include "src/host/progress.h"

#include <stdio.h>
#include <unistd.h>

progress progress_start(const char *what)
{
    return (progress){.on = isatty(STDERR_FILENO) != 0 && isatty(STDOUT_FILENO) == 0,
                      .shown = -1,
                      .what = what};
}

void progress_show(progress *p, double done, double total)
{
    if (!p->on || !(total > 0.0) || !(done >= 0.0)) {
        return;
    }
    const int percent = done < total ? (int)(100.0 * done / total) : 100;
    if (percent != p->shown) {
        (void)fprintf(stderr, "\r%s: %3d %%", p->what, percent);
        (void)fflush(stderr);
        p->shown = percent;
    }
}

void progress_end(progress *p)
{
    if (p->shown >= 0) {
        (void)fputs("\r\033[K", stderr);
        (void)fflush(stderr);
        p->shown = -1;
    }
}
