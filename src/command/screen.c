#include "src/command/screen.h"

#include "src/host/aside.h"

#include <fcntl.h>
#include <string.h>
#include <unistd.h>

void screen_open(screen *s)
{
    *s = (screen){.to = stderr, .kept = -1};
    if (isatty(STDIN_FILENO) != 1 || isatty(STDERR_FILENO) != 1) {
        return;
    }
    s->kept = aside_begin();
    const int copy = s->kept >= 0 ? fcntl(s->kept, F_DUPFD_CLOEXEC, 3) : -1;
    FILE *const to = copy >= 0 ? fdopen(copy, "w") : NULL;
    if (to != NULL) {
        s->to = to;
    } else if (copy >= 0) {
        (void)close(copy);
    }
}

int screen_descriptor(const screen *s)
{
    return s->kept >= 0 ? s->kept : STDERR_FILENO;
}

void screen_begin(const screen *s)
{
    (void)fputs("\033[?1049h\033[2J\033[H\033[?25l", s->to);
}

void screen_draw(screen *s, const char *text)
{
    if (strncmp(text, s->drawn, sizeof s->drawn) == 0) {
        return;
    }
    (void)snprintf(s->drawn, sizeof s->drawn, "%s", text);
    (void)fputs("\033[H", s->to);
    for (const char *line = text; *line != '\0';) {
        const size_t n = strcspn(line, "\n");
        (void)fprintf(s->to, "%.*s\033[K\n", (int)n, line);
        line += n + (line[n] == '\n');
    }
    (void)fputs("\033[J", s->to);
    (void)fflush(s->to);
}

void screen_close(screen *s)
{
    if (s->to != stderr) {
        (void)fclose(s->to);
    }
    aside_end(s->kept);
}
