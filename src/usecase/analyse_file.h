/**
 * @file analyse_file.h
 * From a sound file to counts: picks the channel, feeds the analyser the window and its
 * context, or a row of windows, and hands out the results. Memory does not depend on
 * the length of the recording; what lies outside the window is not decoded where the
 * format can seek.
 */
#ifndef USECASE_ANALYSE_FILE_H
#define USECASE_ANALYSE_FILE_H

#include "dsp/analyser.h"
#include "dsp/compare/compare.h"
#include "dsp/result.h"
#include "src/base/error.h"
#include "src/base/options.h"
#include "src/document/count_document.h"

/**
 * Where the respirations' own window lies. In practice the pulse is counted first, then,
 * hand and chest piece left where they are, the respirations in the next minute.
 */
typedef enum breath_window {
    BREATH_WINDOW_AUTO, /**< the next minute where the pulse has a whole minute and the
                             recording holds another after it; else the same window */
    BREATH_WINDOW_SAME, /**< the pulse's window */
    BREATH_WINDOW_NEXT, /**< the minute after the pulse's window, or what there is of it */
    BREATH_WINDOW_AT    /**< the minute from a time named on, or what there is of it */
} breath_window;

/** An analyser that is used again for the next file of the same rate. Start it as {0}. */
typedef struct analyser_keep {
    fm_analyser *analyser; /**< NULL: none waits */
    double rate_hz;
} analyser_keep;

/** Frees what waits. */
void analyser_keep_free(analyser_keep *keep);

/** What to count. */
typedef struct analyse_request {
    const char *path;            /**< a file; "-" is standard input */
    double start_s;              /**< window start, >= 0 */
    double seconds;              /**< window length, > 0, at most FM_WINDOW_MAX_S */
    bool whole;                  /**< a row of windows of that length up to the end */
    int channel;                 /**< 1..; 0: the one of best quality */
    fm_convention convention;    /**< ZERO, ONE: the window starts at the first S1 */
    breath_window breath_window; /**< a row of windows takes the same for each */
    double breath_start_s;       /**< for BREATH_WINDOW_AT, >= 0 */
    bool start_given;            /**< by the person: wins over a sitting's */
    bool seconds_given;
    bool breath_window_given;
    bool age_known; /**< picks ranges, and from which length a pause is named */
    double age_months;
    bool use_sitting; /**< take windows and gaps from NAME.sitting.json, if there */
    analyser_keep
        *keep; /**< NULL, or where the analyser waits from one file to the next */
} analyse_request;

/** Defaults: the first minute, best channel, window on the clock, breath AUTO. */
analyse_request analyse_request_default(const char *path);

/**
 * The options --start, --channel, --first-beat, --breath-window and --no-sitting as rows
 * for an option table, so that they read the same in every command. `request` is the
 * plan's member that holds the request, from analyse_request_unasked.
 */
/* A member is a path of names, which no parentheses may enclose. */
/* NOLINTBEGIN(bugprone-macro-parentheses) */
#define ANALYSE_OPTION_START(plan, request)                                            \
    {                                                                                  \
        "start", "S", OPTION_NUMBER(plan, request.start_s, 0.0, 1e7),                  \
            "where the window starts, in seconds from the first sample (default 0)"    \
    }
#define ANALYSE_OPTION_CHANNEL(plan, request)                                          \
    {                                                                                  \
        "channel", "N|best",                                                           \
            OPTION_OR_WORD(plan, request.channel, 1, 1024, analyse_channel_words),     \
            "channel to count, from 1, or 'best': the one that counts most surely "    \
            "(default best; the result says which)"                                    \
    }
#define ANALYSE_OPTION_FIRST_BEAT(plan, request)                                       \
    {                                                                                  \
        "first-beat", "zero|one",                                                      \
            OPTION_CHOICE(plan, request.convention, analyse_first_beat_words),         \
            "start the window at the first beat (S1) and call it zero or one; "        \
            "without this it starts on the clock and the first beat heard is one"      \
    }
#define ANALYSE_OPTION_BREATH_WINDOW(plan, request)                                    \
    {                                                                                  \
        "breath-window", "same|next|START",                                            \
            OPTION_OR_WORD(plan, request.breath_start_s, 0.0, 1e7,                     \
                           analyse_breath_window_words),                               \
            "where respirations are counted: in the same seconds as the pulse, in "    \
            "the next minute, or in the minute from START s on (default: the next "    \
            "minute where the recording holds two, else the same)"                     \
    }
#define ANALYSE_OPTION_NO_SITTING(plan, request)                                       \
    {                                                                                  \
        "no-sitting", NULL, OPTION_FLAG(plan, request.use_sitting),                    \
            "leave out what NAME.sitting.json beside a live recording says of its "    \
            "windows and gaps"                                                         \
    }
/* NOLINTEND(bugprone-macro-parentheses) */
extern const field_word analyse_breath_window_words[];
extern const field_word analyse_channel_words[];
extern const field_word analyse_first_beat_words[];

/** A request for options to fill: start, seconds (INFINITY: all there is), breath's start
 *  and age are NaN where nobody asks for them. To be settled before it is used. */
analyse_request analyse_request_unasked(void);

/** From what was asked for to what is done: defaults, and what was given. */
void analyse_request_settle(analyse_request *request, const char *path);

/** One counted window and where it came from. About 50 KB: keep it on the heap. */
typedef struct analysed {
    count_source source; /**< texts live as long as the request's path */
    fm_count count;      /**< as the analyser gave it: nothing taken off for ZERO; its
                              breath may be that of a window of its own */
} analysed;

/**
 * Takes one result of a row.
 *
 * @return false with err to stop
 */
typedef bool (*analyse_sink)(void *context, const analysed *result, app_err *err);

/**
 * Count what was asked for; the sink gets one result a window, in order.
 *
 * @return false with err: APP_UNREADABLE (file missing, empty, not sound, no such
 *         rate), APP_USAGE (start behind the end, channel that is not there),
 *         APP_FAILED (memory), APP_INTERRUPTED, or what the sink said
 */
bool analyse_file(const analyse_request *request,
                  analyse_sink sink,
                  void *context,
                  app_err *err);

/**
 * The same for one window (whole is ignored).
 *
 * @return the result, to be freed with free(); NULL with err
 */
analysed *analyse_file_window(const analyse_request *request, app_err *err);

/** A recording that is open and holds what was asked for; nothing of it is analysed yet. */
typedef struct run analyse_opened;

/**
 * The same in two steps, for whoever has something to do between them. request's path is
 * borrowed until analyse_close.
 *
 * @return for the two calls below; NULL with err as above
 */
analyse_opened *analyse_open(const analyse_request *request, app_err *err);

/** Once. @return as analyse_file_window */
analysed *analyse_count(analyse_opened *run, app_err *err);

/** NULL is allowed. */
void analyse_close(analyse_opened *run);

#endif
