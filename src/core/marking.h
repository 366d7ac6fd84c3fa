/*
 * Marking: from what was heard to verdicts that can be explained.
 *
 *  1. Phrases of one phase next to each other are one step; a setting said anew in time replaces
 * the earlier one and is reported as corrected ("first, no, second gear").
 *  2. Steps are aligned to the routine by the least cost; unmatched steps whose phase has a place
 * are the smallest set of moved ones (out-of-order), or extra where the phase was matched already.
 *  3. Settings are compared with what the junction wants, times with the plan's windows, then the
 *     routine's own rules are applied.
 *  4. One cause, one fault: a step out of order is not also early or late, a missed one nothing
 * else.
 */
#ifndef SL_CORE_MARKING_H
#define SL_CORE_MARKING_H

#include "core/heard.h"
#include "core/plan.h"
#include "core/routine.h"

struct sl_fault {
    enum sl_fault_kind kind;
    size_t phase;
    double
        at_s; /* when it was heard, on the practice clock (0: announcement); NAN when it was not */
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
    bool unclear; /* something like it was heard, not clearly */
    double at_s;  /* start of the step on the practice clock; NAN when not heard */
    double end_s;
    struct sl_settings said; /* after corrections */
    struct sl_wanted wanted;
    bool corrected;                /* a setting was put right in time */
    struct sl_settings first_said; /* before the correction */
};

struct sl_scores {
    double order, completeness, settings, timing, overall; /* 0 to 100; timing NAN when untimed */
};

/* Initialise with {0}; release with sl_mark_clear. */
struct sl_mark {
    struct sl_phase_mark phases[SL_PHASE_MAX];
    size_t n_phases;
    struct sl_fault *faults; /* by time of their phase in the routine */
    size_t n_faults;
    size_t faults_room;
    struct sl_scores scores;
    char *next; /* one sentence: what to practise next; owned */
    bool timed;
};

struct sl_mark_options {
    bool timed;    /* false: order, completeness and settings only */
    double from_s; /* where on the sound's clock the junction was announced: time 0 of the plan */
};

/*
 * Marks what was heard. Phrases that end before from_s are not looked at. Pure: the same input
 * gives the same mark. Errors: SL_NO_MEMORY only.
 */
enum sl_status sl_mark_make(const struct sl_routine *routine, const struct sl_junction *junction,
                            const struct sl_plan *plan, const struct sl_heard_list *heard,
                            const struct sl_mark_options *options, struct sl_mark *mark,
                            struct sl_error *error);

void sl_mark_clear(struct sl_mark *mark);

#endif
