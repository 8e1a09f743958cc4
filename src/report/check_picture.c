#include "src/report/check_picture.h"

#include "src/report/check_breaths.h"

picture check_picture_of(const check_view *view)
{
    return (picture){
        .count = view->count,
        .convention = view->comparison->manual.convention,
        .comparison = view->comparison,
        .taps = view->taps,
        .title = view->source->name,
        .outside = check_view_outside(view),
        .breaths = view->breaths != NULL ? view->breaths->comparison : NULL,
        .n_breaths = view->breaths != NULL ? view->breaths->n_starts : 0,
        .breath_s = view->breaths != NULL ? view->breaths->starts_s : NULL,
    };
}
