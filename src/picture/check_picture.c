#include "src/picture/picture.h"

#include "src/words/person_first.h"

picture check_picture_of(const check_view *view)
{
    const person_first person = person_first_of(view);
    return (picture){
        .count = view->count,
        .convention = view->comparison->manual.convention,
        .comparison = view->comparison,
        .taps = view->taps,
        .title = view->source->name,
        .outside = check_view_outside(view),
        .act_now = person_first_is_reached(&person),
        .composed = person.composed,
        .breaths = view->breaths != NULL ? view->breaths->comparison : NULL,
        .n_breaths = view->breaths != NULL ? view->breaths->n_starts : 0,
        .breath_s = view->breaths != NULL ? view->breaths->starts_s : NULL,
        .n_pauses = view->breaths != NULL ? view->breaths->n_pauses : 0,
        .pauses = view->breaths != NULL ? view->breaths->pauses : NULL,
        .pauses_known = view->breaths != NULL && view->breaths->breathing_known,
        .breathing = view->breaths != NULL ? view->breaths->pattern
                                           : FM_BREATH_PATTERN_UNDETERMINED,
    };
}
