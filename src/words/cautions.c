#include "src/words/cautions.h"

#include "src/base/text.h"
#include "src/words/pieces.h"

#include <string.h>

#define PUT(out, ...) text_add((out), LINES_PARAGRAPH_BYTES, __VA_ARGS__)

static const char *found(const cautions *c, bool uneven, bool outside)
{
    if (uneven) {
        return c->unsure ? "Perhaps irregular" : "Irregular";
    }
    return outside ? "Outside the range" : "";
}

static void put_with_breathing(char *out)
{
    PUT(out,
        "Uneven in step with breathing: common in children and young adults (common "
        "practice, no source). Count another calm minute; tell the instructor if it "
        "stays. How the person looks comes first, whatever the rhythm.");
}

static void put_finding(const cautions *c, bool uneven, char *out)
{
    const bool outside = c->pulse_outside || c->breaths_outside;
    const bool named = outside && !c->range_said;
    PUT(out, "%s%s%s", found(c, uneven, named),
        uneven && named ? ", and outside the range" : "", uneven || named ? ". " : "");
    if (!c->signs_said) {
        PUT(out,
            "%s the person first. Faint, breathless, chest pain, grey or confused: "
            "stop "
            "and call for help now. Otherwise ",
            c->composed ? "If this were a person: look at" : "Look at");
    }
    const size_t at = strlen(out);
    PUT(out,
        c->pulse_outside || uneven
            ? "count again at the apex for a full minute"
            : "watch the chest and count the respirations again for a full minute,");
    if (c->signs_said) {
        piece_capital(out + at);
    }
    PUT(out, " and tell the instructor or the responsible clinician by local protocol, "
             "even if the person feels well.");
    if (!c->composed) {
        PUT(out, " A friend's unexpected finding is theirs: tell them privately; the "
                 "instructor only if they agree, unless it is urgent.");
    }
}

const char *cautions_say(const cautions *c, int n, char out[LINES_PARAGRAPH_BYTES])
{
    const bool uneven = c->uneven && !c->with_breathing;
    const bool step = c->uneven && c->with_breathing;
    out[0] = '\0';
    if (step && n == 0) {
        put_with_breathing(out);
    } else if ((uneven || c->pulse_outside || c->breaths_outside) && n == step) {
        put_finding(c, uneven, out);
    }
    return out;
}

void cautions_add(const cautions *c, lines *to)
{
    char text[LINES_PARAGRAPH_BYTES];
    for (int n = 0; cautions_say(c, n, text)[0] != '\0'; n++) {
        lines_break(to);
        lines_add(to, 0, "%s", text);
    }
}
