/*
 * Marking: from what was heard to verdicts that can be explained.
 *
 *  1. Clear phrases of one phase next to each other are one step; a setting said anew in time
 *     replaces the earlier one and is reported as corrected ("first, no, second gear"). Once the
 *     next phase has begun it is too late, unless a word of correction comes inside the phase's
 *     window. Unclear phrases make no step; a phase with nothing else is unclear, not
 *     missed, and so is one in whose place there was speech that was not understood.
 *  2. Steps are aligned to the routine; what cannot be matched is the smallest set of moved steps
 *     (out-of-order), or extra where the phase was matched already. A swap blames one step: the one
 *     that breaks an "after" rule, else the one that jumped ahead.
 *  3. Settings are compared with what the junction wants, times with the plan's windows, then the
 *     routine's own rules are applied. What was left unnamed is no fault; it scores nothing.
 *  4. One cause, one fault: a step out of order is not also early or late, a broken rule of time
 *     takes the place of plain early or late, a missed or unclear phase has no other fault. Each
 *     extra is one fault.
 *  5. A fault that rests on a phrase which is not sure enough is not named: the phrase is taken as
 *     unclear, and the mark made again.
 * The details stand at the top of marking_steps.c, marking_order.c, marking_settings.c,
 * marking_timing.c, marking_doubt.c, scoring.c (the formula) and advice.c.
 */
#ifndef SL_CORE_MARKING_H
#define SL_CORE_MARKING_H

#include "core/heard.h"
#include "core/levels.h"
#include "core/plan.h"
#include "core/routine.h"

struct sl_fault {
    enum sl_fault_kind kind;
    size_t phase;
    double at_s; /* start of what was heard, on the practice clock (0: announcement); NAN: missed */
    double due_s;     /* when it was due; NAN untimed */
    const char *rule; /* id of the routine's rule, or the fault's word; not owned, lives as long as
                         the routine */
    char *what;   /* what happened: "Second gear was said 1.2 s before the slowing was finished";
                     owned */
    char *reason; /* the rule and why; owned */
};

/* One phase of the routine as it was said. */
struct sl_phase_mark {
    bool heard;   /* said clearly */
    bool unclear; /* not heard, but something like it was, or the sound may have hidden it */
    double at_s;  /* start of the step on the practice clock; NAN when not heard, as end_s */
    double end_s;
    struct sl_settings said; /* after corrections; only what the phase carries */
    struct sl_wanted wanted;
    bool corrected;                /* a setting was put right in time */
    struct sl_settings first_said; /* before the correction; {0} when not corrected */
    enum sl_settled settled;       /* by the instructor (settling.h); the rest follows from it */
};

struct sl_scores {
    double order, completeness, settings, timing, overall; /* 0 to 100; timing NAN when untimed */
};

/* Initialise with {0}; release with sl_mark_clear. */
struct sl_mark {
    struct sl_phase_mark phases[SL_PHASE_MAX];
    size_t n_phases;
    struct sl_fault *faults; /* by place of their phase in the routine, then kind, then time */
    size_t n_faults;
    size_t faults_room;
    struct sl_scores scores;
    char *next; /* one sentence: what to practise next; owned */
    bool timed;
    double rolling_s; /* left before the line once all is done that a rule of rolling is about; NAN
                         when untimed or some of it was not heard; negative: done past the line */
};

struct sl_mark_options {
    bool timed;      /* false: order, completeness and settings only */
    double from_s;   /* where on the sound's clock the junction was announced: time 0 of the plan */
    unsigned hiding; /* enum sl_notice bits of what may have hidden words in the sound
                        (sl_levels_hiding): with any, a phase not heard is unclear, not missed */
    unsigned settled_missed; /* phases (1 << index) that were not said: the instructor's word
                                (settling.h), whatever may hide words in the sound */
};

/* What is marked against; nothing is owned. Routine, junction and plan have passed their checks and
 * belong together. */
struct sl_task {
    const struct sl_routine *routine;
    const struct sl_junction *junction;
    const struct sl_plan *plan;
    struct sl_mark_options options;
};

/*
 * Marks what was heard, in order of start. Phrases that lie before from_s by more
 * than half are not looked at: they are words of the announcement. Pure:
 * the same input gives the same mark. An earlier mark in *mark is released. Errors: SL_NO_MEMORY,
 * and SL_TOO_LARGE above 10,000 steps.
 */
enum sl_status sl_mark_make(const struct sl_task *task, const struct sl_heard_list *heard,
                            struct sl_mark *mark, struct sl_error *error);

void sl_mark_clear(struct sl_mark *mark);

#endif
