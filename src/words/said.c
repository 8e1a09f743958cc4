#include "src/words/said.h"

#include "src/words/breath_text.h"
#include "src/words/check_slip.h"
#include "src/words/person_first.h"
#include "src/words/reason_text.h"

#include <assert.h>
#include <stdlib.h>

static_assert((int)COUNT_REASON_BYTES >= (int)REASON_TEXT_BYTES &&
                  (int)COUNT_REASON_BYTES >= (int)BREATH_REASON_BYTES &&
                  (int)CHECK_SAID_BYTES >= (int)CHECK_WORDS_BYTES &&
                  (int)CHECK_SAID_BYTES >= (int)LINES_PARAGRAPH_BYTES,
              "a document has room for what is said");

static count_said of_count(const fm_count *count)
{
    const fm_event_count *const h = &count->heart.count;
    count_said said;
    (void)reason_text_format(h->reason, &h->reason_span, said.heart_reason);
    (void)breath_text_reason(count->breath.count.reason, said.breath_reason);
    return said;
}

json_t *said_count(const count_source *source, const fm_count *count)
{
    const count_said said = of_count(count);
    return count_document_build(source, count, &said);
}

json_t *said_check(const check_view *view)
{
    const person_first first = person_first_of(view);
    check_said *const said = calloc(1, sizeof *said);
    if (said == NULL) {
        return NULL;
    }
    said->count = of_count(view->count);
    if (view->comparison != NULL) {
        (void)check_view_slip_text(view, view->comparison, said->slip);
    }
    if (view->breaths != NULL) {
        (void)check_view_slip_text(view, view->breaths->comparison, said->breath_slip);
    }
    said->act_now = person_first_is_reached(&first);
    said->composed = first.composed;
    while (said->n_first < CHECK_FIRST_MOST &&
           person_first_say(&first, (int)said->n_first,
                            said->first[said->n_first])[0] != '\0') {
        said->n_first++;
    }
    json_t *const document = check_document_build(view, said);
    free(said);
    return document;
}
