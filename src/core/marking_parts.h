/*
 * Marking, inside: the parts between which a mark travels. Only the marking_*.c files and their
 * siblings scoring.c and advice.c include this header; everybody else includes core/marking.h.
 */
#ifndef SL_CORE_MARKING_PARTS_H
#define SL_CORE_MARKING_PARTS_H

#include "core/marking.h"
#include "core/str.h"

#define SL_STEP_NONE ((size_t)-1)

/* Neighbouring clear phrases of one phase, as one thing said. Times on the practice clock. */
struct sl_step {
    size_t phase;
    double start_s, end_s;
    double done_s;           /* end of the last phrase that named anything anew */
    double decision_s;       /* start of the phrase that named the decision as it is in `said` */
    bool waited;             /* said wait, and only then go */
    struct sl_settings said; /* after corrections; only what the phase carries */
    bool corrected;
    struct sl_settings first_said; /* before the first correction; {0} when not corrected */
    enum sl_settled settled;       /* of the phrase that began it */
};

/* What is known of one phase of the routine while it is marked. */
struct sl_phase_state {
    size_t step;      /* the step that counts for it, or SL_STEP_NONE */
    bool moved;       /* that step is one of the smallest set out of the routine's order */
    bool disordered;  /* has an out-of-order fault for its place: not also early or late */
    bool waived;      /* nothing need be said here: no signal going ahead */
    unsigned wrong;   /* settings said wrongly (bits) */
    double outside_s; /* timed: seconds outside the window or beyond a timing rule, 0 when right */
    const struct sl_heard *unclear; /* the clearest of its unclear phrases, or NULL */
};

/* One marking under way. */
struct sl_marking {
    const struct sl_routine *routine;
    const struct sl_junction *junction;
    const struct sl_plan *plan;
    const struct sl_mark_options *options;
    const struct sl_heard_list *heard;
    struct sl_step *steps; /* in the order said */
    size_t n_steps, steps_room;
    struct sl_phase_state phases[SL_PHASE_MAX];
    size_t n_extra;           /* steps said again */
    size_t n_unpaired_orders; /* out-of-order faults that no pair of phases shows: mirror order, or
                                 a rule against the routine's own order */
    struct sl_mark *mark;     /* what is made */
};

/* marking_steps.c: fills steps and unclear. SL_NO_MEMORY only. */
enum sl_status sl_marking_steps(struct sl_marking *marking, const struct sl_heard_list *heard,
                                struct sl_error *error);

/* marking_order.c: aligns, then fills step, moved, waived. SL_TOO_LARGE, SL_NO_MEMORY. */
enum sl_status sl_marking_align(struct sl_marking *marking, struct sl_error *error);
/* marking_order.c: faults missed, unclear, extra and out-of-order. */
enum sl_status sl_marking_order(struct sl_marking *marking, struct sl_error *error);
/* marking_settings.c: faults wrong-setting, and out-of-order inside a step (mirror order). */
enum sl_status sl_marking_settings(struct sl_marking *marking, struct sl_error *error);
/* marking_timing.c: faults early and late; for a timed mark only. */
enum sl_status sl_marking_timing(struct sl_marking *marking, struct sl_error *error);
/* marking_doubt.c: takes phrases as unclear on which a fault rests without their being sure enough
 * for that. True when there were any: then the mark is to be made again. `heard` is the list that
 * was marked. */
bool sl_marking_doubt(const struct sl_marking *marking, struct sl_heard_list *heard);
/* scoring.c: the scores, from the states and the faults. */
void sl_marking_score(struct sl_marking *marking);
/* advice.c: `next`. The faults are in their final order. */
enum sl_status sl_marking_advise(struct sl_marking *marking, struct sl_error *error);

/* marking.c: the step that counts for a phase, or NULL. */
const struct sl_step *sl_marking_step(const struct sl_marking *marking, size_t phase);

/* marking.c: no step counts for the phase, but it cannot be said that it was missed: something like
 * it was heard, or noise may have hidden it, or there was speech in its place that was not
 * understood. */
bool sl_marking_unclear(const struct sl_marking *marking, size_t phase);

/* marking.c: speech that was not understood, or taken for any phrase without being clear, between
 * the steps that count for the phases before and after; NULL when there is none. */
const struct sl_heard *sl_marking_not_understood(const struct sl_marking *marking, size_t phase);

/*
 * marking.c: adds a fault. `rule` may be NULL: then the word of the kind is the rule, and the
 * reason is the phase's or the routine's. `what` is handed over and reset; when it has failed, or
 * memory runs out, SL_NO_MEMORY.
 */
enum sl_status sl_marking_fault(struct sl_marking *marking, const struct sl_fault *fault,
                                const struct sl_rule *rule, struct sl_str *what,
                                struct sl_error *error);

/* marking.c: settings that a phase is judged by: named or required, as far as the junction wants
 * something there (a decision is always wanted, one or the other). */
unsigned sl_marking_judged(const struct sl_marking *marking, size_t phase);

/* marking.c, wording: "the gear step" with that capital or not; settings in words; "it was due at
 * 8.0 s, 40 m before the line". */
void sl_marking_add_step(struct sl_str *text, const struct sl_marking *marking, bool capital,
                         size_t phase);
void sl_marking_add_settings(struct sl_str *text, const struct sl_settings *settings);
void sl_marking_add_due(struct sl_str *text, const struct sl_marking *marking, size_t phase);

#endif
