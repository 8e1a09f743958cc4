/* The summary as lines for a terminal, with bars of letters for the pulse. */
#include "src/words/summary_text.h"
#include "src/words/lines.h"
#include "src/words/summary_words.h"

#include <math.h>

enum {
    BAR_LETTERS = 44
};

static const double RATE_STEP = 10.0;

static void heading(void *to, const char *text)
{
    lines_break(to);
    lines_add_row(to, "%s", text);
}

static void pair(void *to, const char *label, const char *value)
{
    if (label[0] == '\0') {
        lines_add_row(to, "  %s", value);
    } else {
        lines_add_row(to, "  %-28s %s", label, value);
    }
}

static void draw_bars(lines *to, const summary_bins *b, int width)
{
    static const char bar[BAR_LETTERS + 1] =
        "############################################";
    for (size_t i = 0; i < b->n; i++) {
        const double low = b->from + (double)i * b->step;
        const size_t letters =
            (b->count[i] * BAR_LETTERS + b->most - 1) / (b->most > 0 ? b->most : 1);
        lines_add_row(to, "  %*.0f to %*.0f %7zu%s%.*s", width, low, width,
                      low + b->step - 1.0, b->count[i], letters > 0 ? " " : "",
                      (int)letters, bar);
    }
}

char *summary_text_format(const summary *s)
{
    lines text = LINES_NONE;
    const summary_listener l = {&text, heading, pair};
    for (int i = 0; i < SUMMARY_SECTIONS; i++) {
        const summary_section section = (summary_section)i;
        if (!summary_has(s, section)) {
            continue;
        }
        summary_say(s, section, &l);
        if (section == SUMMARY_PULSE) {
            const summary_bins b =
                summary_bins_of(&s->rate_bpm, RATE_STEP, (double)INFINITY);
            draw_bars(&text, &b, 3);
        }
    }
    lines_break(&text);
    lines_add(&text, 0,
              "In brackets: the 95 %% interval. For learning and research; not a "
              "medical device.");
    return lines_take(&text);
}
