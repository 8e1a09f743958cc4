#include "src/picture/picture.h"

#include "src/document/count_document.h"
#include "src/picture/chart_interval_strip.h"
#include "src/picture/chart_marks.h"
#include "src/picture/chart_minute_dial.h"
#include "src/picture/picture_words.h"
#include "src/picture/svg.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN     16.0
#define TITLE_SIZE 17.0
#define ROW_SIZE   18.0
#define ROW_HEIGHT 26.0
#define VALUE_X    136.0
#define NOTE_SIZE  14.0
#define LEGEND_GAP 6.0 /* between a drawing and its legend */

enum {
    CAUTION_BYTES = 256
};

/* "from 0 s to 60 s": which part of the recording this is; its width. */
static double draw_window(svg *s, double y, const fm_window *w)
{
    char text[2 * SVG_NUMBER_BYTES + 32];
    (void)snprintf(text, sizeof text, "from %s s to %s s", SVG_NUMBER(w->start_s, 1),
                   SVG_NUMBER(w->end_s, 1));
    svg_text(s, CHART_WIDTH - MARGIN, y,
             (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_END, false}, text);
    return svg_text_width(text, SVG_TEXT_PX);
}

/* The usual size, or as much less as a long value needs to stay inside the margin. */
static double value_size(const char *value)
{
    const double room = CHART_WIDTH - MARGIN - VALUE_X;
    const double width = svg_text_width(value, ROW_SIZE);
    return width > room ? ROW_SIZE * room / width : ROW_SIZE;
}

static double draw_words(svg *s, double y, const picture_words *words)
{
    for (size_t i = 0; i < words->n_rows; i++) {
        const double size = value_size(words->rows[i].value);
        y += ROW_HEIGHT;
        svg_text(s, MARGIN, y, (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_START, false},
                 words->rows[i].label);
        svg_text(s, VALUE_X, y, (svg_type){size, SVG_INK, SVG_START, false},
                 words->rows[i].value);
    }
    return svg_text_block(s, MARGIN, y + ROW_HEIGHT, CHART_WIDTH - 2.0 * MARGIN,
                          (svg_type){SVG_TEXT_PX, SVG_INK, SVG_START, false},
                          words->sentences);
}

/* "" where nothing is uneven, outside the range or at a line to act on. */
static void caution_of(const picture *p, char out[CAUTION_BYTES])
{
    static const char AGAIN[] =
        "look at the person first, count again at the apex for a "
        "full minute, and report it.";
    const bool calm = count_is_with_breathing(p->count);
    const bool uneven = count_is_uneven(p->count) && !calm;
    const bool doubtful = p->count->heart.count.status == FM_CAUTION;
    out[0] = '\0';
    if (p->act_now) {
        (void)snprintf(
            out, CAUTION_BYTES,
            "%s number is at the line to act on: look at the person; in trouble: "
            "call for help. Tell the nurse now, then count a full minute.",
            p->composed ? "If this were a person: a" : "A");
    } else if (uneven || p->outside) {
        (void)snprintf(out, CAUTION_BYTES, "%s%s: %s",
                       !uneven    ? "Outside the range"
                       : doubtful ? "Perhaps irregular"
                                  : "Irregular",
                       p->composed ? "; if this were a person" : "", AGAIN);
    } else if (calm) {
        (void)snprintf(out, CAUTION_BYTES,
                       "Uneven in step with breathing: common in children and young "
                       "adults. Count another calm minute; tell the instructor if it "
                       "stays.");
    }
}

/* Everything below the opening of the picture; returns its height. */
static double draw_body(svg *s, const picture *p, const picture_words *words)
{
    const svg_type title = {TITLE_SIZE, SVG_INK, SVG_START, true};
    const svg_type note = {NOTE_SIZE, SVG_GREY, SVG_START, false};
    const chart_minute_dial dial = {
        .count = p->count,
        .taps = p->taps,
        .taps_on_known = p->comparison != NULL && p->comparison->against_truth,
        .n_breaths = p->n_breaths,
        .breath_s = p->breath_s,
        .n_pauses = p->n_pauses,
        .pauses = p->pauses,
        .pauses_known = p->pauses_known,
    };
    const double inner = CHART_WIDTH - 2.0 * MARGIN;
    const double beside = draw_window(s, 26.0, &p->count->heart.count.window) + MARGIN;
    double y = 26.0 + TITLE_SIZE * 1.35;
    if (p->title != NULL && p->title[0] != '\0') {
        y = svg_text_block(s, MARGIN, 26.0, inner - beside, title, p->title);
    }
    y -= TITLE_SIZE;
    const unsigned of_dial = chart_minute_dial_draw(s, 0.0, y, &dial);
    y += chart_minute_dial_height(&dial) + LEGEND_GAP;
    y = draw_words(s, chart_legend_draw(s, MARGIN, y, inner, of_dial), words);
    const bool refused = p->count->heart.count.status == FM_REFUSED;
    if (!refused && p->count->rhythm.n_intervals > 0) {
        const unsigned of_strip = chart_interval_strip_draw(s, 0.0, y + 4.0, p->count);
        y += chart_interval_strip_height(&p->count->heart.count.window) + LEGEND_GAP;
        y = chart_legend_draw(s, MARGIN, y, inner, of_strip);
    }
    y += 24.0;
    if (!refused && isfinite(p->count->heart.count.rate_low_per_min)) {
        y = svg_text_block(
            s, MARGIN, y, inner, note,
            "In brackets: the range that holds the true rate 19 times in "
            "20.");
    }
    char caution[CAUTION_BYTES];
    caution_of(p, caution);
    if (caution[0] != '\0') {
        y = svg_text_block(s, MARGIN, y, inner, note, caution);
    }
    return svg_text_block(s, MARGIN, y, inner, note,
                          "A learning and research aid, not a medical device.");
}

static char *description(const picture_words *words)
{
    svg text = {0};
    for (size_t i = 0; i < words->n_rows; i++) {
        svg_put(&text, "%s%s%s. ", words->rows[i].label,
                words->rows[i].label[0] != '\0' ? ": " : "", words->rows[i].value);
    }
    svg_raw(&text, words->sentences);
    return svg_take(&text, NULL);
}

char *picture_format(const picture *p, size_t *n_bytes)
{
    picture_words words;
    svg body = {0};
    picture_words_make(p, &words);
    const double height = ceil(draw_body(&body, p, &words));
    char *const desc = description(&words);
    char *const text =
        svg_whole(&body, CHART_WIDTH, height,
                  p->title != NULL ? p->title : "One minute", desc, n_bytes);
    free(desc);
    return text;
}
