/*
 * The model commentary: what a good answer to a junction sounds like, phrase by phrase, each at its
 * due moment.
 */
#ifndef SL_CORE_COMMENTARY_H
#define SL_CORE_COMMENTARY_H

#include "core/cueing.h"

/* Silence between two phrases of the model, at least: enough that they are heard as two. */
#define SL_MODEL_GAP_S 0.3

/*
 * The phrases as cues of kind SL_CUE_MODEL, in routine order; the announcement is not among them.
 * Each names everything that the junction wants of its phase, in words that the routine's own
 * phrasebook understands as just that (checked with sl_phrasebook_match). Where the junction leaves
 * the decision to the traffic, the model finds the way clear and goes.
 *
 * A phrase begins when it is due; earlier, but not before its window opens, where it would run into
 * the next; later where that is not enough. The phrasebook must be compiled. What *list held is
 * released, also on an error (then it is empty). SL_UNSUPPORTED when the phrasebook understands no
 * wording of a required setting, or when length_s cannot speak a text.
 */
enum sl_status sl_commentary_make(const struct sl_cueing *cueing, struct sl_cue_list *list,
                                  struct sl_error *error);

#endif
