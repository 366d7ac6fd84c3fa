/*
 * A drive: a whole approach driven by what was said, and what came of it.
 *
 * Every word acts from its first sound, as a passenger's would; nothing is said, nothing happens
 * (feet.h). The same words at the same times give the same drive. What came of them is told in
 * consequences, each with its reason from the routine; what could not be made out moves nothing.
 */
#ifndef SL_CORE_DRIVE_H
#define SL_CORE_DRIVE_H

#include "core/feet.h"
#include "core/heard.h"
#include "core/marking.h"

#include <stdint.h>

/* Between two samples of the trace. */
#define SL_DRIVE_SAMPLE_S 0.05

/* The end at the latest: so long after the planned line and the last word. */
#define SL_DRIVE_LONGEST_S 60.0

/* X(code, word, kind of fault whose reason is told) */
#define SL_CONSEQUENCE_MAP(X)                                                                      \
    X(SL_MIRRORS_UNCHECKED, "mirrors-unchecked", SL_FAULT_MISSED)                                  \
    X(SL_MIRRORS_AFTER_SIGNAL, "mirrors-after-signal", SL_FAULT_OUT_OF_ORDER)                      \
    X(SL_MIRRORS_AFTER_SLOWING, "mirrors-after-slowing", SL_FAULT_LATE)                            \
    X(SL_MIRRORS_LATE, "mirrors-late", SL_FAULT_LATE)                                              \
    X(SL_BLIND_SIDE, "blind-side", SL_FAULT_WRONG_SETTING)                                         \
    X(SL_MIRRORS_SWAPPED, "mirrors-swapped", SL_FAULT_WRONG_SETTING)                               \
    X(SL_NO_SIGNAL, "no-signal", SL_FAULT_MISSED)                                                  \
    X(SL_SIGNAL_FORGOTTEN, "signal-not-thought-of", SL_FAULT_MISSED)                               \
    X(SL_WRONG_SIGNAL, "wrong-signal", SL_FAULT_WRONG_SETTING)                                     \
    X(SL_MISLEADING_SIGNAL, "misleading-signal", SL_FAULT_WRONG_SETTING)                           \
    X(SL_EARLY_SIGNAL, "early-signal", SL_FAULT_EARLY)                                             \
    X(SL_SIGNAL_AFTER_SLOWING, "signal-after-slowing", SL_FAULT_LATE)                              \
    X(SL_LATE_SIGNAL, "late-signal", SL_FAULT_LATE)                                                \
    X(SL_NO_POSITION, "no-position", SL_FAULT_MISSED)                                              \
    X(SL_WRONG_POSITION, "wrong-position", SL_FAULT_WRONG_SETTING)                                 \
    X(SL_MOVED_BEFORE_SIGNAL, "moved-before-signal", SL_FAULT_OUT_OF_ORDER)                        \
    X(SL_EARLY_POSITION, "early-position", SL_FAULT_EARLY)                                         \
    X(SL_LATE_POSITION, "late-position", SL_FAULT_LATE)                                            \
    X(SL_NEVER_SLOWED, "never-slowed", SL_FAULT_MISSED)                                            \
    X(SL_NO_SPEED_NAMED, "no-speed-named", SL_FAULT_WRONG_SETTING)                                 \
    X(SL_SLOWED_EARLY, "slowed-early", SL_FAULT_EARLY)                                             \
    X(SL_SLOWED_LATE, "slowed-late", SL_FAULT_LATE)                                                \
    X(SL_TOO_FAST, "too-fast", SL_FAULT_WRONG_SETTING)                                             \
    X(SL_TOO_SLOW, "too-slow", SL_FAULT_WRONG_SETTING)                                             \
    X(SL_NO_GEAR, "no-gear", SL_FAULT_MISSED)                                                      \
    X(SL_GEAR_BEFORE_SPEED, "gear-before-speed", SL_FAULT_OUT_OF_ORDER)                            \
    X(SL_GEAR_WHILE_SLOWING, "gear-while-slowing", SL_FAULT_EARLY)                                 \
    X(SL_GEAR_LATE, "gear-late", SL_FAULT_LATE)                                                    \
    X(SL_WRONG_GEAR, "wrong-gear", SL_FAULT_WRONG_SETTING)                                         \
    X(SL_JOLT, "jolt", SL_FAULT_WRONG_SETTING)                                                     \
    X(SL_JUDDER, "judder", SL_FAULT_WRONG_SETTING)                                                 \
    X(SL_STALL, "stall", SL_FAULT_WRONG_SETTING)                                                   \
    X(SL_COASTING, "coasting", SL_FAULT_WRONG_SETTING)                                             \
    X(SL_CLUTCH_UP_AT_LINE, "clutch-up-at-line", SL_FAULT_WRONG_SETTING)                           \
    X(SL_UNDECIDED, "undecided", SL_FAULT_MISSED)                                                  \
    X(SL_DECIDED_BEFORE_GEAR, "decided-before-gear", SL_FAULT_OUT_OF_ORDER)                        \
    X(SL_DECIDED_BEFORE_SPEED, "decided-before-speed", SL_FAULT_OUT_OF_ORDER)                      \
    X(SL_DECIDED_BLIND, "decided-blind", SL_FAULT_EARLY)                                           \
    X(SL_DECIDED_EARLY, "decided-early", SL_FAULT_EARLY)                                           \
    X(SL_DECIDED_LATE, "decided-late", SL_FAULT_LATE)                                              \
    X(SL_WENT_INTO_TRAFFIC, "went-into-traffic", SL_FAULT_WRONG_SETTING)                           \
    X(SL_WAITED_FOR_NOBODY, "waited-for-nobody", SL_FAULT_WRONG_SETTING)                           \
    X(SL_RAN_STOP_LINE, "ran-stop-line", SL_FAULT_WRONG_SETTING)                                   \
    X(SL_OVER_THE_LINE, "over-the-line", SL_FAULT_LATE)

enum sl_consequence_kind {
#define SL_CONSEQUENCE_ENUM(code, word, kind) code,
    SL_CONSEQUENCE_MAP(SL_CONSEQUENCE_ENUM)
#undef SL_CONSEQUENCE_ENUM
        SL_CONSEQUENCE_COUNT
};

/* The word in JSON; never NULL for a valid value. */
const char *sl_consequence_word(enum sl_consequence_kind kind);

/* The kind of fault whose reason is told with it. */
enum sl_fault_kind sl_consequence_fault(enum sl_consequence_kind kind);

/* A kind as an element of a set of them. */
#define SL_CAME_OF(kind) ((uint64_t)1 << (unsigned)(kind))

/* Whether something in the set would have made an instructor step in: the car was far too fast at
 * the line, stalled, went undecided, unseeing or where it must not, or stood over the line. Common
 * practice, no source. */
bool sl_came_of_danger(uint64_t came_of);

struct sl_consequence {
    enum sl_consequence_kind kind;
    size_t phase; /* of the routine, that brought it about */
    char *what;   /* what happened, in figures; owned */
    char *reason; /* why it matters, the routine's words; owned */
    bool unclear; /* the phase was not made out: perhaps it was said */
};

/* The car at one moment of the trace. */
struct sl_drive_sample {
    double time_s;     /* on the plan's clock */
    double distance_m; /* to the line, negative behind it */
    double speed_mps, engine_rpm;
    int gear; /* 0: the lever is between two */
    bool clutch_up;
    bool braking;
    bool pulls;   /* the foot is on the accelerator */
    bool judders; /* the engine labours below its judder speed */
};

/* How it ended. Times are on the plan's clock; NAN: it did not happen. */
struct sl_arrival {
    double line_s;    /* the front of the car reached the line, or the car stood before it */
    double speed_mps; /* there */
    double engine_rpm;
    int gear;
    bool clutch_down; /* as called */
    bool reached;     /* the line; false: it stood before it, `stands_m` away */
    double stands_m;  /* where it stood at last, to the line, negative over it; NAN: it went on */
    double slow_from_s, slow_to_s; /* braking to the speed named: begun, and reached */
    double firmest_mps2;           /* the firmest of it */
    double gear_from_s, gear_to_s; /* the last change */
    double gear_from_mps;          /* the speed at which it began */
    double rolling_s; /* from when slowing and gear were done to the line; NAN without both */
    double judder_s, judder_rpm; /* how long, and the lowest engine speed of it */
    int judder_gear;             /* at that engine speed */
    double jolt_mps2, jolt_s;    /* the hardest that a clutch coming up held the car back */
    double coasting_s;           /* faster than a walk with the clutch called down */
    double stalled_s, stalled_m; /* when, and how far from the line */
    int stalled_gear;            /* 0: it did not stall */
};

/* Initialise with {0}; release with sl_drive_clear. */
struct sl_drive {
    struct sl_drive_sample *samples; /* every SL_DRIVE_SAMPLE_S from time 0 */
    size_t n_samples, samples_room;
    struct sl_arrival arrival;
    struct sl_consequence *consequences; /* by phase */
    size_t n_consequences, consequences_room;
};

/* What is driven; nothing is owned. */
struct sl_driving {
    const struct sl_task *task; /* options.from_s as in marking; its traffic makes the decision
                                   right or wrong */
    const struct sl_car *car;
    const struct sl_heard_list *heard; /* in order of start */
};

/* Whether the car does what this phrase says: a clear one of a phase, not of the announcement. */
bool sl_drive_hears(const struct sl_task *task, const struct sl_heard *heard);

/* Drives. What *drive held is released, also on an error. SL_NO_MEMORY. */
enum sl_status sl_drive_make(const struct sl_driving *driving, struct sl_drive *drive,
                             struct sl_error *error);

void sl_drive_clear(struct sl_drive *drive);

/* The kinds of its consequences as a set; those of a phase that was not made out are left out, as
 * perhaps it was said. */
uint64_t sl_drive_came_of(const struct sl_drive *drive);

/* Whether two drives ended alike: at the line, before it, past it or stalled alike, in the same
 * gear and clutch, within half a second and 1 m/s. */
bool sl_arrival_alike(const struct sl_arrival *one, const struct sl_arrival *other);

/* One phase said right at its moment instead, and what that would have made of the drive. */
struct sl_drive_change {
    bool found; /* false: there was nothing to better, or no single change betters it */
    size_t phase;
    double at_s;               /* when it would have been said */
    struct sl_settings said;   /* and what */
    struct sl_arrival arrival; /* how it would have ended */
    size_t n_consequences;     /* that would be left */
};

/* The change of one phase that leaves the fewest consequences; of equal ones the first in routine
 * order. `drive` is what came of the words as they were. SL_NO_MEMORY. */
enum sl_status sl_drive_one_change(const struct sl_driving *driving, const struct sl_drive *drive,
                                   struct sl_drive_change *change, struct sl_error *error);

/*
 * What the car would have done with one setting as in `said`, the speed, the gear or the clutch,
 * and all else said as planned: of the consequences that the plan itself does not have, and that
 * tell more than that the gear was wrong, one of a wrong setting before one of time or order, one
 * of the phase with the setting before others, then the first. told->what is NULL where there is
 * none; else the caller frees it and the reason. driving->heard is not looked at. SL_NO_MEMORY.
 */
enum sl_status sl_drive_with_setting(const struct sl_driving *driving, enum sl_setting part,
                                     const struct sl_settings *said, struct sl_consequence *told,
                                     struct sl_error *error);

/* The car at a time on the plan's clock, between two samples in proportion; before the first and
 * after the last as there. The drive has at least one sample. */
struct sl_drive_sample sl_drive_at(const struct sl_drive *drive, double at_s);

/* When, on the plan's clock, the car came to a place; NAN: it never did. distance_m is to the line,
 * negative behind it. */
double sl_drive_time_s(const struct sl_drive *drive, double distance_m);

#endif
