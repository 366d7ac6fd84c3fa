/*
 * The texts that a cue pack needs: every sentence that some junction can ask for.
 */
#ifndef SL_PRACTICE_CUE_TEXTS_H
#define SL_PRACTICE_CUE_TEXTS_H

#include "core/status.h"

#include <stddef.h>

/* Each sentence once, in the order in which they were first met. Initialise with {0}. */
struct sl_cue_texts {
    char **items;
    size_t count;
    size_t room;
};

/*
 * The texts of the named junctions (names or files as sl_load_junction takes them) with every
 * routine that is installed. No names: all junctions that are installed. A junction for which a
 * routine has no plan is passed over for it. Errors as the loaders'.
 */
enum sl_status sl_cue_texts_collect(const char *const *junctions, size_t n_junctions,
                                    struct sl_cue_texts *texts, struct sl_error *error);

void sl_cue_texts_clear(struct sl_cue_texts *texts);

#endif
