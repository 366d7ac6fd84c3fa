/*
 * What the judges of a drive share; for drive_judge*.c only.
 */
#ifndef SL_CORE_DRIVE_JUDGE_H
#define SL_CORE_DRIVE_JUDGE_H

#include "core/drive.h"

/* A phase as it was said. */
struct sl_drive_said {
    bool heard;                  /* clearly */
    bool unclear;                /* only unclearly */
    double at_s;                 /* on the plan's clock */
    struct sl_settings settings; /* what was named last counts */
};

struct sl_drive_judge {
    const struct sl_driving *driving;
    struct sl_drive *drive;
    struct sl_drive_said said[SL_PHASE_MAX];
    double gear_at_s; /* the first gear called; NAN without */
    size_t phase;     /* judged now */
    enum sl_status status;
    struct sl_error *error;
};

/* Windows are kept to this; a sound's clock is no finer. */
#define SL_DRIVE_SPARE_S 0.05

/* The first phase of a moment, or n_phases. */
size_t sl_drive_phase(const struct sl_routine *routine, enum sl_moment moment);

/* The phase that carries a setting, or n_phases. */
size_t sl_drive_carrier(const struct sl_routine *routine, enum sl_setting setting);

/* What is right in the phase judged now. */
struct sl_wanted sl_drive_wanted(const struct sl_drive_judge *judge);

/* Adds a consequence of the phase judged now; `what` is printf's. */
#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
void sl_drive_tell(struct sl_drive_judge *judge, enum sl_consequence_kind kind, const char *what,
                   ...);

/* Mirrors, signal, position: what others could and could not know. */
void sl_drive_judge_words(struct sl_drive_judge *judge);

/* Going and waiting. */
void sl_drive_judge_decision(struct sl_drive_judge *judge);

#endif
