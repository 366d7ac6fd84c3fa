/*
 * Settling: an instructor who listened decides about what the recogniser found unclear, and the run
 * is marked anew with that. Only unclear phases can be settled: what was made out stays as it is.
 */
#ifndef SL_CORE_SETTLING_H
#define SL_CORE_SETTLING_H

#include "core/marking.h"

/* The decision about one phase. */
struct sl_settlement {
    enum sl_settled as; /* SL_SETTLED_NOT: none */
    double at_s; /* right and wrong: when it was said, on the sound's clock; NAN: where the clearest
                    of the phase's unclear phrases begins */
};

/* By phase of the routine. {0}: nothing is settled. */
struct sl_settlements {
    struct sl_settlement phases[SL_PHASE_MAX];
};

/* "right", "wrong", "missed"; NULL for SL_SETTLED_NOT. */
const char *sl_settled_word(enum sl_settled settled);
/* SL_SETTLED_NOT where the word is none of them. */
enum sl_settled sl_settled_from_word(const char *word);

/* The clearest unclear phrase of a phase that was said after options.from_s, or NULL. */
const struct sl_heard *sl_settling_clearest(const struct sl_task *task,
                                            const struct sl_heard_list *heard, size_t phase);

/*
 * Marks anew with the decisions about the phases that *mark, made by sl_mark_make from the same
 * task and phrases, calls unclear; decisions about other phases are passed over. Pure.
 *
 *   right    the step was said: what the routine requires there, and what was heard of it
 * unclearly, is taken as the junction wants it. Order and time are marked as ever. wrong    the
 * step was said with another setting than the junction wants. missed   the step was not said.
 *
 * Right and wrong need a moment: at_s or an unclear phrase. SL_INVALID without one, with one before
 * from_s, and for wrong where the junction wants nothing in particular (`where` is the phase's id);
 * SL_NO_MEMORY, SL_TOO_LARGE as sl_mark_make. On an error *mark stays as it was.
 */
enum sl_status sl_settle(const struct sl_task *task, const struct sl_heard_list *heard,
                         const struct sl_settlements *settlements, struct sl_mark *mark,
                         struct sl_error *error);

#endif
