#include "src/sheet/worksheet_sheet.h"

#include "src/picture/svg.h"

static const char STYLE[] =
    "@page{margin:14mm}\n"
    "body{font-family:" SVG_FONT
    ";color:#000;background:#fff;max-width:48em;margin:1em auto;padding:0 1em;"
    "line-height:1.35}\n"
    "h1{font-size:1.3em;overflow-wrap:anywhere}\n"
    "table{border-collapse:collapse;width:100%;font-size:.9em}\n"
    "th,td{border:1px solid #000;padding:.35em "
    ".5em;text-align:left;vertical-align:top}\n"
    "thead{display:table-header-group}\n"
    "tr{break-inside:avoid}\n"
    "td.box{min-width:4em}\n"
    "tbody th{white-space:nowrap}\n"
    "p.line{margin:.8em 0}\n"
    "div{overflow-x:auto}\n"
    "@media print{body{max-width:none;margin:0;padding:0 1px}div{overflow:visible}}\n";

static const char *const PATTERNS[] = {"regular", "occasionally irregular",
                                       "regularly irregular", "irregularly irregular",
                                       "cannot tell"};

static void add_row(svg *to, size_t number)
{
    svg_put(to, "<tr><th scope=\"row\">item-%02zu", number);
    svg_raw(to, "</th><td class=\"box\"></td><td class=\"box\">60&nbsp;&#9633; "
                "30&nbsp;&#9633; 15&nbsp;&#9633;</td><td>");
    for (size_t i = 0; i < sizeof PATTERNS / sizeof PATTERNS[0]; i++) {
        svg_put(to, "%s&#9633;&nbsp;%s", i > 0 ? "<br>" : "", PATTERNS[i]);
    }
    svg_raw(to, "</td><td class=\"box\"></td></tr>\n");
}

char *worksheet_sheet_format(const char *title, size_t n_items, size_t *n)
{
    svg page = {0};
    svg_page(&page, title, STYLE);
    svg_raw(
        &page,
        "<p class=\"line\">Seat number or initials: ________________ &nbsp; "
        "Date: ____________</p>\n"
        "<p>Each item is one minute of sound. Count the first sound of every beat. "
        "Write what you counted, <em>not multiplied</em>, and for how many seconds; "
        "tick one word for the rhythm; count the respirations if you hear them. Where "
        "you cannot count, leave the number empty: that is an answer too. A "
        "sound alone does not name a rhythm, an electrocardiogram does: the name is "
        "told afterwards.</p>\n"
        "<div><table>\n<thead><tr><th scope=\"col\">Item</th><th scope=\"col\">Beats "
        "counted</th><th scope=\"col\">Seconds</th><th scope=\"col\">Rhythm</th><th "
        "scope=\"col\">Respirations</th></tr></thead>\n<tbody>\n");
    for (size_t i = 1; i <= n_items; i++) {
        add_row(&page, i);
    }
    svg_raw(&page, "</tbody>\n</table></div>\n<p>Composed sound for practice, nobody's "
                   "heart.</p>\n");
    return svg_page_take(&page, n);
}
