#include "core/routine.h"

#include "core/units.h"

#include <stdlib.h>
#include <string.h>

const char *sl_fault_word(enum sl_fault_kind kind)
{
    switch (kind) {
#define SL_FAULT_WORD(code, word)                                                                  \
    case code:                                                                                     \
        return word;
        SL_FAULT_MAP(SL_FAULT_WORD)
#undef SL_FAULT_WORD
    case SL_FAULT_KIND_COUNT:
        break;
    }
    return NULL;
}

static const char *const moment_words[SL_MOMENT_COUNT] = {"mirrors", "signal", "position",
                                                          "brake",   "gear",   "decide"};

const char *sl_moment_word(enum sl_moment moment)
{
    return (unsigned)moment < SL_MOMENT_COUNT ? moment_words[moment] : NULL;
}

enum sl_moment sl_moment_from_word(const char *word)
{
    for (size_t i = 0; i < SL_MOMENT_COUNT; i++) {
        if (strcmp(moment_words[i], word) == 0) {
            return (enum sl_moment)i;
        }
    }
    return SL_MOMENT_COUNT;
}

size_t sl_routine_phase(const struct sl_routine *routine, const char *id)
{
    for (size_t i = 0; i < routine->n_phases; i++) {
        if (strcmp(routine->phases[i].id, id) == 0) {
            return i;
        }
    }
    return routine->n_phases;
}

struct sl_wanted sl_routine_wanted(const struct sl_routine *routine, size_t phase,
                                   const struct sl_junction *junction, enum sl_view view)
{
    bool stop_line = junction->control == SL_CONTROL_STOP;
    struct sl_wanted wanted = stop_line ? routine->stop : routine->view[view];
    struct sl_settings settings =
        sl_settings_only(&wanted.settings, SL_SET_SPEED | SL_SET_GEAR | SL_SET_CLUTCH);
    struct sl_settings turn = sl_settings_only(
        &routine->turn[junction->turn], (unsigned)SL_SET_MIRRORS | SL_SET_SIGNAL | SL_SET_POSITION);
    sl_settings_merge(&settings, &turn);
    if (junction->signal_misleads) {
        settings.signal = SL_SIGNAL_NONE;
    }
    if (stop_line) {
        settings.decision = wanted.settings.decision;
    } else if (junction->traffic == SL_TRAFFIC_CLEAR) {
        settings.decision = SL_DECISION_GO;
    } else if (junction->traffic == SL_TRAFFIC_BUSY) {
        settings.decision = SL_DECISION_WAIT;
    }
    unsigned carries = routine->phases[phase].carries;
    wanted.settings = sl_settings_only(&settings, carries);
    if ((carries & SL_SET_SPEED) == 0) {
        wanted.speed_min_mps = 0;
        wanted.speed_max_mps = 0;
    }
    return wanted;
}

void sl_routine_clear(struct sl_routine *routine)
{
    for (size_t i = 0; i < routine->n_phases; i++) {
        free(routine->phases[i].id);
        free(routine->phases[i].title);
        for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
            free(routine->phases[i].why[kind]);
        }
    }
    for (size_t i = 0; i < routine->n_rules; i++) {
        free(routine->rules[i].id);
        free(routine->rules[i].text);
        free(routine->rules[i].reason);
    }
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        free(routine->why[kind]);
    }
    free(routine->phases);
    free(routine->rules);
    free(routine->name);
    free(routine->title);
    sl_phrasebook_clear(&routine->phrasebook);
    *routine = (struct sl_routine){0};
}
