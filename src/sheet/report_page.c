#include "src/sheet/report_page.h"

#include "src/picture/chart_plots.h"
#include "src/picture/svg.h"
#include "src/words/progress_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    REPORT_LINE_BYTES = 512
};

static const char STYLE[] =
    "@page{margin:14mm}\n"
    "body{font-family:" SVG_FONT
    ";color:#000;background:#fff;max-width:46em;margin:1em auto;padding:0 1em;"
    "line-height:1.4}\n"
    "h1{font-size:1.4em;overflow-wrap:anywhere}\n"
    "h2{font-size:1.1em;margin:1.4em 0 .4em}\n"
    "p.charted{border:1px solid #000;padding:.6em .8em;margin:0 1px;overflow-wrap:"
    "anywhere}\n"
    "h2,h3{break-after:avoid}\n"
    "h3{font-size:1em;margin:1em 0 .4em}\n"
    "pre{overflow-x:auto;white-space:pre-wrap;font-size:.85em;line-height:1.35}\n"
    ".row{white-space:pre}\n"
    ".small{font-size:.85em}\n"
    ".whole{break-inside:avoid}\n"
    "figure{margin:1em 0;break-inside:avoid}\n"
    "figure svg{max-width:100%;height:auto}\n"
    "ol,ul{padding-left:2.4em}\n"
    "li{margin:.3em 0;break-inside:avoid;overflow-wrap:anywhere}\n"
    "li span{color:#444}\n"
    /* A figure and its heading on one page, also of Letter, the shorter one. */
    "@media print{body{max-width:none;margin:0;padding:0}figure{margin:.3em 0}"
    "figure svg{max-height:205mm;width:auto}}\n";

static const char CAUTION[] =
    "Practice. A learning and research aid, not a medical device. Where a person is "
    "faint, breathless, grey, confused or in chest pain: stop counting and call for "
    "help. "
    "What a number means depends on the person; follow local protocol and report to "
    "the "
    "instructor or the responsible clinician. Charted lines hold the learner's own "
    "numbers only.";

static void add_caution(svg *to)
{
    svg_raw(to, "<section class=\"whole\">\n<h2>Cautions</h2>\n");
    svg_element(to, "p", CAUTION);
    svg_raw(to, "</section>\n");
}

/* Columns are told by two blanks within a line; a paragraph has none but at its beginning. */
static bool is_row(const char *line)
{
    return strstr(line + strspn(line, " "), "  ") != NULL;
}

/* Line by line: a line end is no character of a drawing. */
static void add_each_line(svg *to, const char *text)
{
    char line[REPORT_LINE_BYTES];
    for (const char *at = text; *at != '\0';) {
        const size_t whole = strcspn(at, "\n");
        const size_t n = whole < sizeof line ? whole : sizeof line - 1;
        memcpy(line, at, n);
        line[n] = '\0';
        const bool row = is_row(line); /* not to be wrapped */
        svg_raw(to, row ? "<span class=\"row\">" : "");
        svg_escaped(to, line);
        svg_raw(to, row ? "</span>" : "");
        svg_raw(to, n == whole ? "\n" : "");
        at += n + (at[n] == '\n');
    }
}

static void add_lines(svg *to, const char *heading, const char *text)
{
    if (text != NULL) {
        svg_raw(to, "<section>\n");
        svg_element(to, "h2", heading);
        svg_raw(to, "<pre>");
        add_each_line(to, text);
        svg_raw(to, "</pre>\n</section>\n");
    }
}

static void add_figure(svg *to, const char *heading, const char *picture)
{
    if (picture != NULL) {
        svg_raw(to, "<section>\n");
        svg_element(to, "h2", heading);
        svg_raw(to, "<figure>\n");
        svg_raw(to, picture);
        svg_raw(to, "\n</figure>\n</section>\n");
    }
}

/* ---- The comparison, in the order of first_view.h ---- */

static void add_sentences(svg *to, const first_lines *from, const char *after)
{
    for (size_t i = 0; i < from->n; i++) {
        svg_escaped(to, from->text[i]);
        svg_raw(to, after);
    }
}

static void add_side(svg *to, const first_side *s)
{
    const char *const under[] = {s->sure, s->word.text, s->range};
    svg_raw(to, "<p><strong>");
    svg_escaped(to, s->numbers);
    svg_raw(to, "</strong> ");
    svg_escaped(to, s->difference);
    for (size_t i = 0; i < sizeof under / sizeof under[0]; i++) {
        svg_raw(to, under[i][0] != '\0' ? "<br>" : "");
        svg_escaped(to, under[i]);
    }
    svg_raw(to, "</p>\n");
}

static void add_slips(svg *to, const first_view *v)
{
    svg_raw(to, v->n_slips > 0 ? "<h3>Where the counts differ</h3>\n<ul>\n" : "");
    for (size_t i = 0; i < v->n_slips; i++) {
        svg_element(to, "li", v->slips[i].text);
    }
    svg_raw(to, v->n_slips > 0 ? "</ul>\n" : "");
}

static void add_comparison(svg *to, const first_view *v)
{
    svg_raw(to, "<section>\n<h2>The comparison</h2>\n");
    svg_raw(to, "<p>");
    add_sentences(to, &v->person, "<br>");
    svg_raw(to, "</p>\n");
    for (size_t i = 0; i < v->n_sides; i++) {
        add_side(to, &v->sides[i]);
    }
    svg_raw(to, "<p><strong>Next:</strong> ");
    svg_escaped(to, v->next.text);
    svg_raw(to, "</p>\n");
    add_slips(to, v);
    svg_raw(to, "<p class=\"small\">");
    add_sentences(to, &v->shorter, " ");
    add_sentences(to, &v->method, " ");
    svg_raw(to, "</p>\n</section>\n");
}

char *report_page_sitting(const report_sitting *s, size_t *n)
{
    svg page = {0};
    svg_page(&page, s->heading, STYLE);
    svg_raw(&page, "<section>\n<h2>As it is charted</h2>\n<p class=\"charted\">");
    svg_escaped(&page, s->charted);
    svg_raw(&page, "</p>\n</section>\n");
    if (s->comparison == NULL) { /* which has its range, with its source */
        add_lines(&page, "What is usual", s->ranges);
    }
    if (s->missing != NULL) {
        svg_element(&page, "p", s->missing);
    }
    if (s->comparison != NULL) {
        add_comparison(&page, s->comparison);
    }
    add_caution(&page); /* on the first page, beside the numbers */
    add_figure(&page, "The minute", s->picture);
    add_figure(&page, "The sound", s->strip);
    return svg_page_take(&page, n);
}

static void add_rows(svg *to, const report_row *rows, size_t n_rows)
{
    svg_raw(
        to,
        "<section>\n<h2>The newest counts as charted, the newest first</h2>\n<ol>\n");
    for (size_t i = 0; i < n_rows; i++) {
        svg_raw(to, "<li>");
        svg_escaped(to, rows[i].charted);
        svg_raw(to, "<br><span>");
        svg_escaped(to, rows[i].second);
        svg_raw(to, rows[i].verdict[0] != '\0' ? "; " : "");
        svg_escaped(to, rows[i].verdict);
        svg_raw(to, "</span></li>\n");
    }
    svg_raw(to, "</ol>\n</section>\n");
}

char *report_page_learner(const progress *p,
                          const report_row *rows,
                          size_t n_rows,
                          size_t *n)
{
    char heading[PROGRESS_LEARNER_BYTES + 32];
    char *const words = progress_text(p);
    svg page = {0};
    if (words == NULL) {
        return NULL;
    }
    (void)snprintf(heading, sizeof heading, "Counting practice%s%s",
                   p->learner[0] != '\0' ? " of " : "", p->learner);
    svg_page(&page, heading, STYLE);
    svg_raw(&page, "<section>\n<figure>\n");
    chart_progress_draw(&page, p);
    svg_raw(&page, "</figure>\n<figure>\n");
    chart_differences_draw(&page, "Agreement: yours less the second, per minute",
                           &p->pairs);
    svg_raw(&page, "</figure>\n</section>\n");
    add_lines(&page, "In numbers", words);
    if (n_rows > 0) {
        add_rows(&page, rows, n_rows);
    }
    free(words);
    add_caution(&page);
    return svg_page_take(&page, n);
}
