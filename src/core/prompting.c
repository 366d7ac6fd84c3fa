#include "core/prompting.h"

#include <string.h>

static const char *const words[] = {"full", "partial", "none"};

const char *sl_prompting_word(enum sl_prompting prompting)
{
    return (size_t)prompting < SL_PROMPTING_COUNT ? words[prompting] : NULL;
}

enum sl_prompting sl_prompting_from_word(const char *word)
{
    size_t i = 0;
    while (i < SL_PROMPTING_COUNT && strcmp(words[i], word) != 0) {
        i++;
    }
    return (enum sl_prompting)i;
}

enum run { RUN_CLEAN, RUN_LATE, RUN_UNCLEAR, RUN_FAULTY };

static enum run run_of_fault(enum sl_fault_kind kind)
{
    switch (kind) {
    case SL_FAULT_EARLY:
    case SL_FAULT_LATE:
        return RUN_LATE;
    case SL_FAULT_UNCLEAR:
        return RUN_UNCLEAR;
    default:
        return RUN_FAULTY;
    }
}

static enum run run_of(unsigned kinds)
{
    enum run worst = RUN_CLEAN;
    for (unsigned i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        enum run run = (kinds & 1U << i) != 0 ? run_of_fault((enum sl_fault_kind)i) : RUN_CLEAN;
        worst = run > worst ? run : worst;
    }
    return worst;
}

struct sl_fading sl_fading_start(void)
{
    return (struct sl_fading){.level = SL_PROMPTING_FULL};
}

static struct sl_fading more(struct sl_fading fading)
{
    enum sl_prompting level = fading.level > SL_PROMPTING_FULL
                                  ? (enum sl_prompting)(fading.level - 1)
                                  : SL_PROMPTING_FULL;
    return (struct sl_fading){.level = level};
}

static struct sl_fading less(struct sl_fading fading)
{
    enum sl_prompting level = fading.level < SL_PROMPTING_NONE
                                  ? (enum sl_prompting)(fading.level + 1)
                                  : SL_PROMPTING_NONE;
    return (struct sl_fading){.level = level};
}

struct sl_fading sl_fading_after(struct sl_fading fading, const struct sl_mark *mark)
{
    unsigned kinds = 0;
    for (size_t i = 0; i < mark->n_faults; i++) {
        kinds |= 1U << mark->faults[i].kind;
    }
    return sl_fading_after_kinds(fading, kinds);
}

struct sl_fading sl_fading_after_kinds(struct sl_fading fading, unsigned kinds)
{
    switch (run_of(kinds)) {
    case RUN_CLEAN:
        fading.late_runs = 0;
        fading.clean_runs++;
        return fading.clean_runs >= SL_FADE_AFTER_CLEAN ? less(fading) : fading;
    case RUN_LATE:
        fading.clean_runs = 0;
        fading.late_runs++;
        return fading.late_runs >= SL_FADE_BACK_AFTER_LATE ? more(fading) : fading;
    case RUN_FAULTY:
        return more(fading);
    case RUN_UNCLEAR:
        break;
    }
    return fading;
}
