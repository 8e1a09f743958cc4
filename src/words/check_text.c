#include "src/words/check_text.h"

#include "src/base/bytes.h"
#include "src/base/text.h"
#include "src/words/first_look.h"
#include "src/words/lines.h"

#include <stdlib.h>

/* Within a line a sentence begins small; ours are ASCII. */
static char small(char letter)
{
    return (char)(letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter);
}

static void add_side(const first_side *s, lines *to)
{
    lines_add(to, 0, "%s%s%s", s->numbers, s->numbers[0] != '\0' ? " " : "",
              s->difference);
    lines_add(to, 2, "%s", s->sure);
    lines_add(to, 2, "%s", s->word.text);
    lines_add(to, 2, "%s", s->range);
}

/* A slip of the respirations says what it is of, where the pulse's stand there too. */
static void add_slips(const first_view *v, lines *to)
{
    for (size_t i = 0; i < v->n_slips; i++) {
        const first_slip *const s = &v->slips[i];
        if (s->kind == FM_EVENT_BREATH && v->n_sides > 1) {
            lines_add(to, 2, "Respirations: %c%s", small(s->text[0]), s->text + 1);
        } else {
            lines_add(to, 2, "%s", s->text);
        }
    }
}

/* Sentences one after another. */
static void add_paragraph(const first_lines *from, lines *to)
{
    char text[LINES_PARAGRAPH_BYTES] = "";
    for (size_t i = 0; i < from->n; i++) {
        text_add(text, sizeof text, "%s%s", i > 0 ? " " : "", from->text[i]);
    }
    lines_add(to, 0, "%s", text);
}

char *check_text_format(const check_view *view)
{
    lines to = BYTES_NONE;
    first_view *const v = first_look_make(view);
    if (v == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < v->person.n; i++) {
        lines_add(&to, 0, "%s", v->person.text[i]);
    }
    lines_break(&to);
    for (size_t i = 0; i < v->n_sides; i++) {
        add_side(&v->sides[i], &to);
    }
    lines_add(&to, 0, "%s", v->trend);
    lines_add(&to, 0, "Next: %c%s", small(v->next.text[0]), v->next.text + 1);
    lines_break(&to);
    if (v->n_slips > 0) {
        lines_add(&to, 0, "Where the counts differ");
        add_slips(v, &to);
    }
    for (size_t i = 0; i < v->shorter.n; i++) {
        lines_add(&to, 0, "%s", v->shorter.text[i]);
    }
    add_paragraph(&v->method, &to);
    lines_add(&to, 0, "Learning and research aid, not a medical device.");
    free(v);
    return bytes_take(&to, NULL);
}
