#include "dsp/result.h"

#include "dsp/words.h"

FM_WORD_FUNCTION(fm_reason_code, fm_reason, FM_REASON_COUNT, FM_REASON_MAP)
FM_WORD_FUNCTION(fm_interval_word,
                 fm_interval_kind,
                 FM_INTERVAL_KIND_COUNT,
                 FM_INTERVAL_MAP)
FM_WORD_FUNCTION(fm_pattern_word, fm_pattern, FM_PATTERN_COUNT, FM_PATTERN_MAP)
FM_WORD_FUNCTION(fm_finding_word,
                 fm_finding_kind,
                 FM_FINDING_KIND_COUNT,
                 FM_FINDING_MAP)
FM_WORD_FUNCTION(fm_cue_word, fm_cue, FM_CUE_COUNT, FM_CUE_MAP)
FM_WORD_FUNCTION(fm_breath_pattern_word,
                 fm_breath_pattern,
                 FM_BREATH_PATTERN_COUNT,
                 FM_BREATH_PATTERN_MAP)

size_t fm_count_bytes(void)
{
    return sizeof(fm_count);
}
