/* The summary as one page of HTML: tables and plots, no script, nothing loaded. */
#include "src/picture/chart_plots.h"
#include "src/picture/svg.h"
#include "src/words/summary_text.h"
#include "src/words/summary_words.h"

#include <math.h>
#include <stdio.h>

enum {
    HEADING_BYTES = 1024
};

static const double RATE_STEP = 10.0;
static const double BREATH_STEP = 4.0;
static const double SHARE_STEP = 0.05;

static void heading(void *to, const char *text)
{
    svg_raw(to, "<section>\n");
    svg_element(to, "h2", text);
    svg_raw(to, "<table>\n");
}

static void pair(void *to, const char *label, const char *value)
{
    svg_raw(to, label[0] != '\0' ? "<tr><th scope=\"row\">" : "<tr><td colspan=\"2\">");
    if (label[0] != '\0') {
        svg_escaped(to, label);
        svg_raw(to, "</th><td>");
    }
    svg_escaped(to, value);
    svg_raw(to, "</td></tr>\n");
}

static void draw_series(svg *to,
                        const char *title,
                        const char *unit,
                        const summary_series *series,
                        double step,
                        double top,
                        int decimals)
{
    const chart_histogram h = {title, unit, decimals,
                               summary_bins_of(series, step, top)};
    svg_raw(to, "<figure>\n");
    chart_histogram_draw(to, &h);
    svg_raw(to, "</figure>\n");
}

static void draw_pairs(svg *to, const char *title, const summary_pairs *pairs)
{
    svg_raw(to, "<figure>\n");
    chart_differences_draw(to, title, pairs);
    svg_raw(to, "</figure>\n");
}

static void draw_plots(svg *to, const summary *s, summary_section section)
{
    switch (section) {
    case SUMMARY_PULSE:
        draw_series(to, "Pulse: number of rows", "beats per minute", &s->rate_bpm,
                    RATE_STEP, (double)INFINITY, 0);
        break;
    case SUMMARY_BREATH:
        draw_series(to, "Respirations: number of rows", "per minute",
                    &s->breath_per_min, BREATH_STEP, (double)INFINITY, 0);
        break;
    case SUMMARY_QUALITY:
        draw_series(to, "Quality: number of rows", "0 unusable to 1 clean", &s->quality,
                    SHARE_STEP, 1.0, 2);
        draw_series(to, "Confidence: number of rows",
                    "probability that the rate is within 3", &s->confidence, SHARE_STEP,
                    1.0, 2);
        break;
    case SUMMARY_RATE_AGREEMENT:
        draw_pairs(to, "Pulse: measured less true, per minute", &s->rate);
        break;
    case SUMMARY_BREATH_AGREEMENT:
        draw_pairs(to, "Respirations: measured less true, per minute", &s->breath);
        break;
    default:
        break;
    }
}

static const char STYLE[] =
    "body{font-family:" SVG_FONT
    ";color:#000;background:#fff;max-width:46em;margin:1em auto;padding:0 1em}\n"
    "h1{font-size:1.4em;overflow-wrap:anywhere}\n"
    "h2{font-size:1.1em;margin:1.6em 0 .4em}\n"
    "table{border-collapse:collapse}\n"
    "th{text-align:left;font-weight:normal;color:#444;padding-right:1.2em;"
    "vertical-align:top}\n"
    "td,th{padding:.15em 1.2em .15em 0}\n"
    "td{overflow-wrap:anywhere}\n"
    "figure{margin:1em 0}\n"
    "section{break-inside:avoid}\n";

char *summary_page_format(const summary *s, const char *title, size_t *n)
{
    char name[HEADING_BYTES];
    svg page = {0};
    (void)snprintf(name, sizeof name, "Summary of %s", title);
    svg_page(&page, name, STYLE);
    const summary_listener l = {&page, heading, pair};
    for (int i = 0; i < SUMMARY_SECTIONS; i++) {
        const summary_section section = (summary_section)i;
        if (summary_has(s, section)) {
            summary_say(s, section, &l);
            svg_raw(&page, "</table>\n");
            draw_plots(&page, s, section);
            svg_raw(&page, "</section>\n");
        }
    }
    svg_raw(&page,
            "<p>In brackets: the 95 % interval. For learning and research; not a "
            "medical device.</p>\n");
    return svg_page_take(&page, n);
}
