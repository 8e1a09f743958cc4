#include "src/host/percent_line.h"

#include <stdio.h>
#include <unistd.h>

percent_line percent_line_start(const char *what)
{
    return (percent_line){.on =
                              isatty(STDERR_FILENO) != 0 && isatty(STDOUT_FILENO) == 0,
                          .shown = -1,
                          .what = what};
}

void percent_line_show(percent_line *p, double done, double total)
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

void percent_line_end(percent_line *p)
{
    if (p->shown >= 0) {
        (void)fputs("\r\033[K", stderr);
        (void)fflush(stderr);
        p->shown = -1;
    }
}
