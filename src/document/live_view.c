#include "src/document/live_view.h"

#include "src/document/document_parts.h"

static json_t *open_part(const live_view *v, const live_envelope *envelope)
{
    json_t *marks = json_array();
    json_t *values = json_array();
    for (int i = 0; i < v->n_marks; i++) {
        marks = document_append(
            marks,
            json_pack("[o,o]", document_time(v->marks[i].time_s),
                      v->marks[i].kind == FM_PROVISIONAL_UNSURE
                          ? json_null()
                          : json_boolean(v->marks[i].kind == FM_PROVISIONAL_S2)));
    }
    for (size_t i = 0; i < envelope->n; i++) {
        values =
            document_append(values, document_number((double)envelope->values[i], 4));
    }
    return json_pack("{s:o,s:o,s:f,s:f}", "marks", marks, "envelope", values,
                     "envelope_from_s", envelope->first_s, "envelope_hz",
                     (double)LIVE_ENVELOPE_HZ);
}

json_t *live_view_json(const live_view *v, const live_envelope *envelope, double at_s)
{
    return json_pack(
        "{s:s,s:s,s:b,s:s,s:i,s:f,s:f,s:b,s:o,s:s,s:o,s:f,s:f,s:f,s:b,s:b,s:b,s:f,s:f,"
        "s:s,s:o*}",
        "phase", TAKING_WORDS[v->phase], "kind",
        v->kind == SITTING_PULSE ? "pulse" : "breath", "watched", v->watched, "entry",
        TAKING_ENTRY_WORDS[v->entry], "seconds", v->seconds, "elapsed_s", v->elapsed_s,
        "left_s", v->left_s, "can_start", v->can_start, "level_dbfs",
        document_number(v->level_dbfs, 3), "advice", v->advice != NULL ? v->advice : "",
        "trouble", document_text(v->trouble != NULL ? v->trouble : ""), "missing_s",
        v->missing_s, "lost_start_s", v->lost_start_s, "lost_length_s",
        v->lost_length_s, "stalled", v->stalled, "checked", envelope == NULL, "ticks",
        v->ticks, "now_s", v->now_s, "at_s", at_s, "person", v->person, "open",
        envelope != NULL ? open_part(v, envelope) : NULL);
}
