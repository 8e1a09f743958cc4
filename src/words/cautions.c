#include "src/words/cautions.h"

static const char *found(const cautions *c, bool uneven, bool outside)
{
    if (uneven) {
        return c->unsure ? "Perhaps irregular" : "Irregular";
    }
    return outside ? "Outside the range" : "";
}

void cautions_add(const cautions *c, lines *to)
{
    const bool uneven = c->uneven && !c->with_breathing;
    const bool outside = c->pulse_outside || c->breaths_outside;
    const bool named = outside && !c->range_said;
    const bool pulse = uneven || c->pulse_outside;
    if (c->uneven && c->with_breathing) {
        lines_break(to);
        lines_add(to, 0,
                  "Uneven in step with breathing: common in children and young adults "
                  "(common practice, no source). Count another calm minute; tell the "
                  "instructor if it stays. How the person looks comes first, whatever "
                  "the rhythm.");
    }
    if (!uneven && !outside) {
        return;
    }
    lines_break(to);
    lines_add(
        to, 0,
        "%s%s%s%s the person first. Faint, breathless, chest pain, grey or confused: "
        "stop and call for help now. Otherwise %s for a full minute%s and tell the "
        "instructor or the responsible clinician by local protocol, even if the person "
        "feels well.%s",
        found(c, uneven, named), uneven && named ? ", and outside the range" : "",
        uneven || named ? ". " : "",
        c->composed ? "If this were a person: look at" : "Look at",
        pulse ? "count again at the apex"
              : "watch the chest and count the respirations again",
        pulse ? "" : ",",
        c->composed ? ""
                    : " A friend's unexpected finding is theirs: tell them privately; "
                      "the instructor only if they agree, unless it is urgent.");
}
