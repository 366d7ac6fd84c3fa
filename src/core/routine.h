/*
 * A routine: phases in order, what each carries, the rules with their reasons, the settings for
 * each view, the timing and the scoring. All of it is data, read from models/routines/.
 */
#ifndef SL_CORE_ROUTINE_H
#define SL_CORE_ROUTINE_H

#include "core/junction.h"
#include "core/phrasebook.h"
#include "core/settings.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Which moment of the approach plan a phase belongs to. */
enum sl_moment {
    SL_MOMENT_MIRRORS,  /* "mirrors" */
    SL_MOMENT_SIGNAL,   /* "signal" */
    SL_MOMENT_POSITION, /* "position" */
    SL_MOMENT_BRAKE,    /* "brake": slowing begins */
    SL_MOMENT_GEAR,     /* "gear": slowing is finished, the gear is changed */
    SL_MOMENT_DECIDE,   /* "decide": rolling, looking, deciding */
    SL_MOMENT_COUNT
};

/* The kinds of fault, in the order in which a report names them. X(code, word) */
#define SL_FAULT_MAP(X)                                                                            \
    X(SL_FAULT_MISSED, "missed")                                                                   \
    X(SL_FAULT_OUT_OF_ORDER, "out-of-order")                                                       \
    X(SL_FAULT_WRONG_SETTING, "wrong-setting")                                                     \
    X(SL_FAULT_EARLY, "early")                                                                     \
    X(SL_FAULT_LATE, "late")                                                                       \
    X(SL_FAULT_EXTRA, "extra")                                                                     \
    X(SL_FAULT_UNCLEAR, "unclear")

enum sl_fault_kind {
#define SL_FAULT_ENUM(code, word) code,
    SL_FAULT_MAP(SL_FAULT_ENUM)
#undef SL_FAULT_ENUM
        SL_FAULT_KIND_COUNT
};

const char *sl_fault_word(enum sl_fault_kind kind);
const char *sl_moment_word(enum sl_moment moment);
enum sl_moment sl_moment_from_word(const char *word); /* SL_MOMENT_COUNT: none */

struct sl_phase {
    char *id;    /* "gear"; the phrasebook's name for it */
    char *title; /* "Gear" */
    enum sl_moment moment;
    unsigned carries;  /* settings (bits) that belong to this phase */
    unsigned required; /* those of them that must be named for full marks */
    /* Why, for the learner, one sentence a kind of fault; NULL: the routine's own `why` is used. */
    char *why[SL_FAULT_KIND_COUNT];
};

enum sl_rule_kind {
    SL_RULE_AFTER,      /* "after": `phase` comes after `other` */
    SL_RULE_ROLLING,    /* "rolling": at least `seconds` of rolling are left once `phase` is done */
    SL_RULE_LOOK_FIRST, /* "look-first": `phase` does not say go more than `seconds` before enough
                           can be seen */
    SL_RULE_MIRROR_ORDER, /* "mirror-order": in `phase`, mirrors in the wanted order */
    SL_RULE_KIND_COUNT
};

struct sl_rule {
    char *id; /* "gear-after-speed" */
    enum sl_rule_kind kind;
    size_t phase; /* index of the phase that breaks it */
    size_t other; /* SL_RULE_AFTER only */
    double seconds;
    char *text;   /* the rule in words */
    char *reason; /* why, in words that a learner understands */
};

/* What a view or a stop line asks for: always a speed and a gear; a decision only at a stop line,
 * as elsewhere the traffic settles it. */
struct sl_wanted {
    struct sl_settings settings;
    double speed_min_mps, speed_max_mps; /* heard speeds in this range are right */
};

struct sl_timing {
    double comfort_mps2; /* planned slowing, on the level */
    double firm_mps2;  /* the firmest that is still comfortable: the last moments are computed with
                          it */
    double reaction_s; /* before a stop */
    double rolling_s;  /* rolling that must be left after the gear */
    double rolling_margin_s; /* planned on top of it */
    double gear_change_s;    /* taken by the change, at target speed */
    double announce_s;       /* from the announcement to the first due phase, at least */
    double step_s; /* planned from one of mirrors, signal, position to the next, and to the brake */
    double early_s;   /* a phase may be this much before its due moment (mirrors: from the
                         announcement on) */
    double at_line_s; /* closed or stop line: the decision may come this long after reaching the
                         line */
};

/* Scores are 0 to 100; the formula is in docs/method.md, its numbers are here. */
struct sl_scoring {
    double weight_order, weight_completeness, weight_settings,
        weight_timing;    /* overall: weighted mean */
    double timing_zero_s; /* seconds outside its window at which a phase scores 0 for timing */
    double extra_penalty; /* points off completeness for each extra */
    double unclear_share; /* share of a phase's completeness points that an unclear one earns, 0 to
                             1 */
};

/* Initialise with {0}; release with sl_routine_clear. */
struct sl_routine {
    char *name;
    char *title;
    struct sl_phase *phases; /* in routine order */
    size_t n_phases;
    struct sl_rule *rules;
    size_t n_rules;
    char *why[SL_FAULT_KIND_COUNT];         /* general reasons, all set */
    struct sl_wanted view[SL_VIEW_COUNT];   /* speed, gear, clutch, ... for open and closed */
    struct sl_wanted stop;                  /* at a stop line, instead of the view's */
    struct sl_settings turn[SL_TURN_COUNT]; /* mirrors, signal, position */
    struct sl_timing timing;
    struct sl_scoring scoring;
    struct sl_phrasebook phrasebook;
};

#define SL_PHASE_MAX 16

/* Index of the phase with this id, or n_phases. */
size_t sl_routine_phase(const struct sl_routine *routine, const char *id);

/*
 * What is right at this junction for one phase: the settings that the phase carries, from turn,
 * view and stop line. `view` is the resolved view (see plan.h). signal_misleads turns the signal
 * into none; traffic clear or busy sets the decision; with any, no decision is wanted in
 * particular. At a stop line the decision is the stop line's, whatever the traffic.
 */
struct sl_wanted sl_routine_wanted(const struct sl_routine *routine, size_t phase,
                                   const struct sl_junction *junction, enum sl_view view);

/* Ranges, indices, at least one phase, a phrase for every phase, every general reason present,
 * speed and gear for each view and the stop line. SL_INVALID with what is wrong and the mend;
 * `where` is the phase, the rule or the number. The phrasebook need not be compiled. */
enum sl_status sl_routine_check(const struct sl_routine *routine, struct sl_error *error);

void sl_routine_clear(struct sl_routine *routine);

#endif
