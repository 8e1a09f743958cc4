#include "src/words/person_first.h"

#include "dsp/breath/respiration_pause.h"
#include "dsp/compare/act_now.h"

#include <math.h>
#include <stdio.h>

enum {
    SAID_MOST = 8
};

static const char SIGNS[] =
    "The person first. No answer and no normal breathing, or only gasps: call for help "
    "(at home the emergency number) and begin resuscitation as trained; do not count "
    "again. Struggling to breathe, blue or grey, drowsy or confused, faint, chest "
    "pain, "
    "or unable to finish a sentence: call for help and stay.";

static const char INFANT_SIGNS[] =
    "In an infant: grunting, the chest drawing in, flaring nostrils, blue, floppy, "
    "hard "
    "to wake, not feeding, a pause in breathing of 20 s, or any pause with a change of "
    "colour or limpness: call for help. Short pauses in young infants can be normal.";

static const char PULSE_BY_THE_SIGNS[] = "For the pulse no published line to act on is "
                                         "used at this age: go by the signs and "
                                         "the local chart.";

static const char BY_THE_SIGNS[] =
    "No published line to act on is used at this age: go by the signs and the local "
    "chart.";

person_first person_first_none(void)
{
    const double none = (double)NAN;
    return (person_first){none, false, none, none, none, none};
}

person_first person_first_of(const check_view *view)
{
    person_first p = person_first_none();
    const fm_comparison *const c = view->comparison;
    p.age_months = view->age_known ? view->age_months : (double)NAN;
    if (c != NULL) {
        p.composed = c->against_truth;
        p.own_pulse = c->manual_per_min;
        p.second_pulse = c->minute_known ? c->minute_per_min : (double)NAN;
    }
    if (view->watched) {
        p.own_breaths = (double)view->watched_breaths;
    }
    if (view->breaths != NULL) {
        const fm_comparison *const b = view->breaths->comparison;
        p.composed = c != NULL ? p.composed : b->against_truth;
        p.own_breaths = b->manual_per_min;
        p.second_breaths = b->minute_known ? b->minute_per_min : (double)NAN;
    }
    return p;
}

/* How far beyond its line a rate lies, as a share: 1 at the line; none at all is the worst,
 * inside it 0. */
static double badness(const person_first *p, fm_act_sign sign, double per_min)
{
    const fm_act_line line = fm_act_line_find(sign, p->age_months);
    switch (fm_act_judge(sign, p->age_months, per_min)) {
    case FM_ACT_HIGH:
        return per_min / line.high;
    case FM_ACT_LOW:
        return per_min <= 0.0 ? HUGE_VAL : line.low / per_min;
    case FM_ACT_UNKNOWN:
    case FM_ACT_INSIDE:
    default:
        return 0.0;
    }
}

/* The worse of two, by how far beyond its line it lies; of equals the learner's. */
static bool worse_of(const person_first *p, fm_act_sign sign, double *per_min)
{
    const bool pulse = sign == FM_ACT_PULSE;
    const double both[] = {pulse ? p->own_pulse : p->own_breaths,
                           pulse ? p->second_pulse : p->second_breaths};
    const bool second = badness(p, sign, both[1]) > badness(p, sign, both[0]);
    *per_min = both[second ? 1 : 0];
    return fm_act_is_reached(fm_act_judge(sign, p->age_months, *per_min));
}

bool person_first_is_reached(const person_first *p)
{
    double ignored = 0.0;
    return worse_of(p, FM_ACT_PULSE, &ignored) ||
           worse_of(p, FM_ACT_RESPIRATIONS, &ignored);
}

/* "A pulse of 131 a minute is at or over 131 (...): tell the nurse now ..." */
static void say_line(const person_first *p,
                     fm_act_sign sign,
                     char out[LINES_PARAGRAPH_BYTES])
{
    const fm_act_line line = fm_act_line_find(sign, p->age_months);
    double per_min = 0.0;
    out[0] = '\0';
    if (!worse_of(p, sign, &per_min)) {
        return;
    }
    const char *const whose = p->composed ? "If this were a person: " : "";
    const char *const what = sign == FM_ACT_PULSE ? "beats" : "respirations";
    if (per_min <= 0.0) {
        (void)snprintf(out, LINES_PARAGRAPH_BYTES,
                       "%s0 %s: none %s for a whole minute, or could you not count? "
                       "None: call for help, look for an answer and for breathing, "
                       "and with neither begin resuscitation as trained. Not counted "
                       "is an answer of its own, and never 0.",
                       whose, what, sign == FM_ACT_PULSE ? "felt or heard" : "seen");
        return;
    }
    const bool high = isgreaterequal(per_min, line.high);
    (void)snprintf(out, LINES_PARAGRAPH_BYTES,
                   "%s%.0f %s a minute is at the line to act on, %.0f or %s (%s): tell "
                   "the nurse now, however well the person looks, then count a full "
                   "minute.",
                   whose, per_min, what, high ? line.high : line.low,
                   high ? "more" : "fewer", line.source);
}

/* Where no line is published, that is said; "" where there is one. */
static const char *without_a_line(const person_first *p)
{
    const bool pulse = isfinite(p->own_pulse) || isfinite(p->second_pulse);
    if (p->composed || !(p->age_months < FM_ACT_ADULT_MONTHS)) {
        return "";
    }
    return p->age_months >= FM_ACT_CHILD_MONTHS ? BY_THE_SIGNS
           : pulse                              ? PULSE_BY_THE_SIGNS
                                                : "";
}

const char *person_first_say(const person_first *p,
                             int n,
                             char out[LINES_PARAGRAPH_BYTES])
{
    int at = 0;
    for (int k = 0; k < 5; k++) {
        out[0] = '\0';
        if (k == 0 && !p->composed) {
            (void)snprintf(out, LINES_PARAGRAPH_BYTES, "%s", SIGNS);
        } else if (k == 1 && !p->composed && p->age_months < FM_BREATH_INFANT_MONTHS) {
            (void)snprintf(out, LINES_PARAGRAPH_BYTES, "%s", INFANT_SIGNS);
        } else if (k == 2 || k == 3) {
            say_line(p, k == 2 ? FM_ACT_RESPIRATIONS : FM_ACT_PULSE, out);
        } else if (k == 4) {
            (void)snprintf(out, LINES_PARAGRAPH_BYTES, "%s", without_a_line(p));
        }
        if (out[0] != '\0' && at++ == n) {
            return out;
        }
    }
    out[0] = '\0';
    return out;
}

const char *person_first_line(const person_first *p, char out[LINES_PARAGRAPH_BYTES])
{
    say_line(p, FM_ACT_RESPIRATIONS, out);
    if (out[0] == '\0') {
        say_line(p, FM_ACT_PULSE, out);
    }
    return out;
}

const char *person_first_next(const check_view *view)
{
    const person_first p = person_first_of(view);
    const check_breaths *const b = view->breaths;
    if (p.composed) {
        return NULL;
    }
    if (person_first_is_reached(&p)) {
        return "look at the person, as said above; counting comes after.";
    }
    return b != NULL && b->n_pauses > 0 && !b->breathing_known
               ? "look at the chest now; then count the respirations again for a full "
                 "minute."
               : NULL;
}

void person_first_add(const person_first *p, lines *to)
{
    char text[LINES_PARAGRAPH_BYTES];
    for (int n = 0; n < SAID_MOST && person_first_say(p, n, text)[0] != '\0'; n++) {
        lines_add(to, 0, "%s", text);
    }
    lines_break(to);
}
