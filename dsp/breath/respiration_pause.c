#include "dsp/breath/respiration_pause.h"

/* A pause as long as the limit, its ends rounded to 1 ms, is one. */
static const double ROUNDED_S = 0.001;

static int is_infant(double age_months)
{
    return age_months < FM_BREATH_INFANT_MONTHS; /* false for NaN */
}

double fm_breath_pause_from_s(double age_months)
{
    return is_infant(age_months) ? FM_BREATH_PAUSE_INFANT_S : FM_BREATH_PAUSE_S;
}

const char *fm_breath_pause_source(double age_months)
{
    return is_infant(age_months)
               ? "20 s in infants: American Academy of Pediatrics, from memory"
               : "10 s: American Academy of Sleep Medicine, from memory";
}

size_t fm_breath_pauses_keep(fm_breath_pause *pauses, size_t n, double age_months)
{
    const double from_s = fm_breath_pause_from_s(age_months) - ROUNDED_S;
    size_t kept = 0;
    for (size_t i = 0; i < n && i < FM_BREATH_PAUSES_MAX; i++) {
        if (pauses[i].end_s - pauses[i].start_s >= from_s) {
            pauses[kept++] = pauses[i];
        }
    }
    return kept;
}

void fm_breath_name_pauses(fm_breath *breath, double age_months)
{
    breath->n_pauses =
        fm_breath_pauses_keep(breath->pauses, breath->n_pauses, age_months);
    if (breath->n_pauses == 0 && breath->pattern == FM_BREATH_PATTERN_WITH_PAUSES) {
        breath->pattern = FM_BREATH_PATTERN_UNEVEN;
    }
}
