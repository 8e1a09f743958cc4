#include "describe.h"

#include <string.h>

static size_t true_count(const rhythm_truth *truth,
                         fm_finding_kind kind,
                         const fm_window *w)
{
    size_t n = 0;
    for (size_t i = 0; i < truth->n_findings; i++) {
        const fm_finding *f = &truth->findings[i];
        for (size_t k = 0; f->kind == kind && k < f->count && k < FM_FINDING_TIMES;
             k++) {
            n += f->times_s[k] >= w->start_s && f->times_s[k] < w->end_s;
        }
    }
    return n;
}

static size_t said_count(const fm_rhythm *said, fm_finding_kind kind)
{
    for (size_t i = 0; i < said->n_findings; i++) {
        if (said->findings[i].kind == kind) {
            return said->findings[i].count;
        }
    }
    return 0;
}

static bool findings_are_right(const rhythm_truth *truth, const fm_count *count)
{
    for (int kind = 0; kind < (int)FM_FINDING_KIND_COUNT; kind++) {
        const fm_finding_kind k = (fm_finding_kind)kind;
        if (true_count(truth, k, &count->heart.count.window) !=
            said_count(&count->rhythm, k)) {
            return false;
        }
    }
    return true;
}

rhythm_score score_rhythm(const rhythm_truth *truth, const fm_count *count)
{
    rhythm_score s = {
        .known = truth->known, .truth = truth->pattern, .said = count->rhythm.pattern};
    memcpy(s.truth_repeat, truth->repeat, sizeof s.truth_repeat);
    memcpy(s.said_repeat, count->rhythm.repeat, sizeof s.said_repeat);
    s.pattern_right =
        s.known && s.said == s.truth && strcmp(s.said_repeat, s.truth_repeat) == 0;
    s.findings_right = s.known && findings_are_right(truth, count);
    return s;
}

fm_pattern pattern_of_word(const char *word)
{
    int pattern = 0;
    while (pattern < (int)FM_PATTERN_COUNT &&
           strcmp(word, fm_pattern_word((fm_pattern)pattern)) != 0) {
        pattern++;
    }
    return (fm_pattern)pattern;
}

fm_finding_kind finding_of_word(const char *word)
{
    int kind = 0;
    while (kind < (int)FM_FINDING_KIND_COUNT &&
           strcmp(word, fm_finding_word((fm_finding_kind)kind)) != 0) {
        kind++;
    }
    return (fm_finding_kind)kind;
}
