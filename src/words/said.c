#include "src/words/said.h"

#include "src/words/breath_text.h"
#include "src/words/reason_text.h"

#include <assert.h>

static_assert((int)COUNT_REASON_BYTES >= (int)REASON_TEXT_BYTES &&
                  (int)COUNT_REASON_BYTES >= (int)BREATH_REASON_BYTES,
              "a document has room for what is said");

json_t *said_count(const count_source *source, const fm_count *count)
{
    const fm_event_count *const h = &count->heart.count;
    count_said said;
    (void)reason_text_format(h->reason, &h->reason_span, said.heart_reason);
    (void)breath_text_reason(count->breath.count.reason, said.breath_reason);
    return count_document_build(source, count, &said);
}
