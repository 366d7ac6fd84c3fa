#include "bench/tuning.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define SETTING(name)                                                                              \
    {                                                                                              \
#name, offsetof(struct sl_recogniser_settings, name)                                       \
    }

static const struct {
    const char *name;
    size_t offset;
} known[] = {
    SETTING(language_weight),    SETTING(loop_log10),       SETTING(entry_log10),
    SETTING(silence_log10),      SETTING(margin_s),         SETTING(fit_below_db),
    SETTING(confidence_bias),    SETTING(confidence_score), SETTING(confidence_worst),
    SETTING(confidence_length),  SETTING(confidence_noise), SETTING(adapted_bias),
    SETTING(confidence_stray),   SETTING(longest_pause_s),  SETTING(unclear_below),
    SETTING(drop_below),         SETTING(twin_even_nats),   SETTING(twin_scale_nats),
    SETTING(sure_from),          SETTING(likely_from),      SETTING(doubt_below),
    SETTING(adapted_noisy_bias),
};

bool bench_set(struct sl_recogniser_settings *settings, const char *assignment)
{
    const char *equals = strchr(assignment, '=');
    if (equals == NULL) {
        return false;
    }
    char *end = NULL;
    double value = strtod(equals + 1, &end);
    size_t length = (size_t)(equals - assignment);
    for (size_t i = 0; i < sizeof(known) / sizeof(known[0]) && *end == '\0' && end != equals + 1;
         i++) {
        if (strlen(known[i].name) == length && memcmp(known[i].name, assignment, length) == 0) {
            memcpy((char *)settings + known[i].offset, &value, sizeof(value));
            return true;
        }
    }
    return false;
}
