#include "report/class_words.h"

#include "core/str.h"

#include <stdlib.h>

static const char *reason_of(const struct sl_routine *routine, const struct sl_class_next *next)
{
    const char *reason = routine->phases[next->phase].why[next->fault];
    reason = reason != NULL ? reason : routine->why[next->fault];
    return reason != NULL ? reason : "";
}

char *sl_class_teach(const struct sl_routine *routine, const struct sl_class_grid *grid)
{
    const struct sl_class_next next = sl_class_next(grid);
    if (!next.any) {
        return sl_strdup(grid->n_learners == 0 ? "nothing was marked."
                                               : "there was no fault; junctions of another kind.");
    }
    const struct sl_share *right = &grid->right[next.phase];
    return sl_strf("%s, which was wrong in %zu of %zu runs, most often %s. %s",
                   routine->phases[next.phase].title, right->of - right->hits, right->of,
                   sl_fault_word(next.fault), reason_of(routine, &next));
}

char *sl_class_whom(const struct sl_class_grid *grid)
{
    const struct sl_class_next next = sl_class_next(grid);
    struct sl_str text = {0};
    for (size_t i = 0; i < grid->n_learners && next.any; i++) {
        const struct sl_share *right = &grid->learners[i].right[next.phase];
        if (right->hits < right->of) {
            sl_str_addf(&text, "%s%s (%zu of %zu right)", text.length > 0 ? ", " : "",
                        grid->learners[i].name, right->hits, right->of);
        }
    }
    return sl_str_take(&text);
}
