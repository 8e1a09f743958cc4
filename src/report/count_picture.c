#include "src/report/count_picture.h"

#include "src/report/breath_text.h"
#include "src/report/count_text.h"
#include "src/report/picture.h"

#include <stdlib.h>

/* A count and the picture that borrows from it. */
struct shown {
    fm_count count;
    picture picture;
};

/* To be freed; NULL without memory. */
static struct shown *show(const count_source *source, const fm_count *count)
{
    struct shown *const s = malloc(sizeof *s);
    if (s == NULL) {
        return NULL;
    }
    s->count = *count;
    fm_heart *const heart = &s->count.heart;
    heart->beats = count_source_beats(source, count);
    heart->rate_bpm = count_source_rate(source, count, heart->rate_bpm);
    heart->rate_low_bpm = count_source_rate(source, count, heart->rate_low_bpm);
    heart->rate_high_bpm = count_source_rate(source, count, heart->rate_high_bpm);
    const person_first person = count_text_person(source, count);
    const fm_breath *const breath = &s->count.breath;
    const bool breaths =
        breath->status != FM_REFUSED && !breath_text_own_window(&s->count);
    s->picture = (picture){.count = &s->count,
                           .title = source->name,
                           .outside = count_text_is_outside(source, count),
                           .act_now = person_first_is_reached(&person),
                           .n_breaths = breaths ? breath->n : 0,
                           .breath_s = breath->starts_s,
                           .n_pauses = breath->n_pauses,
                           .pauses = breath->pauses,
                           .breathing = breath->pattern};
    return s;
}

char *count_picture_format(const count_source *source, const fm_count *count)
{
    struct shown *const s = show(source, count);
    char *const text = s != NULL ? picture_format(&s->picture, NULL) : NULL;
    free(s);
    return text;
}

bool count_picture_write(const count_source *source,
                         const fm_count *count,
                         const char *path,
                         bool force,
                         app_err *err)
{
    struct shown *const s = show(source, count);
    const bool ok =
        s != NULL ? picture_write(&s->picture, path, force, err) : app_err_memory(err);
    free(s);
    return ok;
}
