#include "src/picture/picture.h"

#include "src/words/breath_text.h"
#include "src/words/count_text.h"

static picture picture_of(const count_source *source, const fm_count *count)
{
    const person_first person = count_text_person(source, count);
    const fm_breath *const breath = &count->breath;
    const bool breaths = fm_is_known(&breath->count) && !breath_text_own_window(count);
    return (picture){.count = count,
                     .convention = source->convention,
                     .title = source->name,
                     .outside = count_text_is_outside(source, count),
                     .act_now = person_first_is_reached(&person),
                     .n_breaths = breaths ? breath->count.n : 0,
                     .breath_s = breath->count.onsets_s,
                     .n_pauses = breath->n_pauses,
                     .pauses = breath->pauses,
                     .breathing = breath->pattern};
}

char *count_picture_format(const count_source *source, const fm_count *count)
{
    const picture shown = picture_of(source, count);
    return picture_format(&shown, NULL);
}
