/*
 * Faults that rest on words which were not heard surely enough.
 *
 * A phrase that is clear is right more often than not, and that is enough to count it as said. To
 * name a fault on it, it has to be surer than that: a right answer that is marked wrong costs more
 * than a wrong one that is overlooked. So where a fault rests on a phrase that is not sure, the
 * phrase is taken as unclear, and the mark is made again without it:
 *   - wrong settings, extra steps, early and late ones rest on the phrases of their step;
 *   - a step out of order rests on those of its step and of the steps it is out of order with;
 *   - a mirror that was not named rests, besides, on there having been no other words beside the
 *     step that could not be made out: it may have been among them.
 * In sound that hides words no phrase is sure enough: a step that was lost may have been heard as
 * another, and nobody is faulted for a fan. What an instructor settled is sure.
 */
#include "core/marking_parts.h"

/* The least confidence of a phrase that a fault may rest on: on its having been said; on what it
 * named; on its having been said once more, which talk about something else may seem to do at any
 * moment. Chosen on generated runs of the tuning voices (docs/method.md). */
#define SURE_SAID 0.75
#define SURE_NAMED 0.85
#define SURE_AGAIN 0.9
#define SURE_NEVER 2.0 /* no phrase is as sure */

static bool belongs(const struct sl_marking *marking, const struct sl_heard *heard,
                    const struct sl_step *step)
{
    double from_s = marking->options->from_s;
    return heard->phase == step->phase && !heard->unclear &&
           heard->start_s - from_s >= step->start_s && heard->end_s - from_s <= step->end_s;
}

/* Takes the phrases of a step as unclear that are less sure than `least`. True when there was one.
 */
static bool doubt_step(const struct sl_marking *marking, const struct sl_step *step, double least,
                       struct sl_heard_list *heard)
{
    least = marking->options->hiding != 0 ? SURE_NEVER : least;
    bool doubted = false;
    for (size_t i = 0; i < heard->count; i++) {
        struct sl_heard *item = &heard->items[i];
        bool sure = item->confidence >= least || item->settled != SL_SETTLED_NOT;
        if (!sure && belongs(marking, item, step)) {
            item->unclear = true;
            doubted = true;
        }
    }
    return doubted;
}

/* Whether something that could not be made out lies next to the step: between it and the clear
 * phrases of other steps before and after. */
static bool words_beside(const struct sl_marking *marking, const struct sl_step *step)
{
    const struct sl_heard_list *heard = marking->heard;
    bool beside = false;
    bool passed = false;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (belongs(marking, item, step)) {
            passed = true;
        } else if (item->unclear) {
            beside = true;
        } else if (item->phase < marking->routine->n_phases) {
            if (passed) {
                break;
            }
            beside = false;
        }
        if (passed && beside) {
            break;
        }
    }
    return passed && beside;
}

static bool doubt_order(const struct sl_marking *marking, const struct sl_step *step,
                        struct sl_heard_list *heard)
{
    bool doubted = doubt_step(marking, step, SURE_SAID, heard);
    for (size_t i = 0; i < marking->n_steps && !doubted; i++) {
        const struct sl_step *other = &marking->steps[i];
        if ((other->phase < step->phase && other->start_s > step->start_s) ||
            (other->phase > step->phase && other->start_s < step->start_s)) {
            doubted = doubt_step(marking, other, SURE_SAID, heard);
        }
    }
    return doubted;
}

static bool doubt_fault(const struct sl_marking *marking, const struct sl_fault *fault,
                        const struct sl_step *step, struct sl_heard_list *heard)
{
    switch (fault->kind) {
    case SL_FAULT_OUT_OF_ORDER:
        return doubt_order(marking, step, heard);
    case SL_FAULT_WRONG_SETTING: {
        bool more =
            marking->phases[fault->phase].wrong == SL_SET_MIRRORS && words_beside(marking, step);
        return doubt_step(marking, step, more ? SURE_NEVER : SURE_NAMED, heard);
    }
    case SL_FAULT_EXTRA:
        return doubt_step(marking, step, SURE_AGAIN, heard);
    case SL_FAULT_EARLY:
    case SL_FAULT_LATE:
        return doubt_step(marking, step, SURE_SAID, heard);
    default:
        return false;
    }
}

bool sl_marking_doubt(const struct sl_marking *marking, struct sl_heard_list *heard)
{
    const struct sl_mark *mark = marking->mark;
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        for (size_t s = 0; s < marking->n_steps; s++) {
            const struct sl_step *step = &marking->steps[s];
            /* a fault's time is its step's, copied; that of a missed phase is no number */
            if (step->phase == fault->phase && step->start_s == fault->at_s &&
                doubt_fault(marking, fault, step, heard)) {
                return true; /* the other faults may go with it */
            }
        }
    }
    return false;
}
