#include "practice/recall_slips.h"

#include "files/path.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct taking {
    const struct sl_recall_stock *stock;
    double *slipped_s;
    bool short_of_memory;
};

static void take(void *user, const struct sl_history_slip *slip)
{
    struct taking *taking = user;
    const struct sl_recall_stock *stock = taking->stock;
    unsigned chance = slip->driven ? (unsigned)SL_SET_SIGNAL | (unsigned)SL_SET_DECISION : 0U;
    unsigned said = stock->routine.phases[slip->phase].carries & ~chance;
    char *name = sl_path_name(slip->junction);
    taking->short_of_memory = taking->short_of_memory || name == NULL;
    for (size_t i = 0; name != NULL && i < stock->n_questions; i++) {
        const char *place = stock->places[i].junction.name;
        if (place != NULL && strcmp(place, name) == 0 && (stock->questions[i].parts & said) != 0) {
            taking->slipped_s[i] = fmax(taking->slipped_s[i], (double)slip->at_s);
        }
    }
    free(name);
}

enum sl_status sl_recall_slips(struct sl_history *history, const struct sl_history_of *of,
                               const struct sl_recall_stock *stock, double **slipped_s,
                               struct sl_error *error)
{
    struct taking taking = {.stock = stock,
                            .slipped_s = calloc(stock->n_questions, sizeof *taking.slipped_s)};
    if (taking.slipped_s == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_history_slips(history, of, take, &taking, error);
    if (status == SL_OK && taking.short_of_memory) {
        status = sl_fail_memory(error);
    }
    if (status != SL_OK) {
        free(taking.slipped_s);
        return status;
    }
    *slipped_s = taking.slipped_s;
    return SL_OK;
}
