#include "report/class_words.h"

#include "core/str.h"
#include "core/drive.h"
#include "report/text.h"

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
    struct sl_str text = {0};
    sl_str_addf(&text, "%s, which was wrong in %zu of %zu runs, most often ",
                routine->phases[next.phase].title, right->of - right->hits, right->of);
    sl_text_code(&text, sl_fault_word(next.fault));
    sl_str_addf(&text, ". %s", reason_of(routine, &next));
    return sl_str_take(&text);
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

static void add_kinds(struct sl_str *out, uint64_t came_of)
{
    bool any = false;
    for (int kind = 0; kind < SL_CONSEQUENCE_COUNT; kind++) {
        if ((came_of & SL_CAME_OF(kind)) != 0) {
            sl_str_add(out, any ? ", " : "");
            sl_text_code(out, sl_consequence_word((enum sl_consequence_kind)kind));
            any = true;
        }
    }
    sl_str_add(out, any ? "" : "as planned");
}

/* What came of a drive, where that is anything or was handed in otherwise. */
static void add_drive(struct sl_str *out, const struct sl_submission_run *run)
{
    bool differs = sl_submission_drive_differs(run);
    if (!run->driven || !run->marked || (run->came_of == 0 && !differs)) {
        return;
    }
    sl_str_add(out, out->length > 0 ? " The drive: " : "the drive: ");
    add_kinds(out, run->came_of);
    if (differs) {
        sl_str_add(out, "; handed in: ");
        add_kinds(out, run->was_came_of);
    }
    sl_str_add(out, ".");
}

char *sl_class_remark(const struct sl_submission_run *run)
{
    struct sl_str text = {0};
    if (sl_submission_mark_differs(run)) {
        sl_str_addf(&text,
                    "handed in as %.0f of 100 with faults: %zu; marked from the sound: %.0f with "
                    "faults: %zu.",
                    run->was_score, run->was_faults, run->score, run->faults);
    } else if (run->failure != NULL) {
        sl_str_addf(&text, "cannot be marked: %s.", run->failure);
    } else if (run->objection != NULL) {
        sl_str_addf(&text, "does not count: %s.", run->objection);
    }
    add_drive(&text, run);
    return sl_str_take(&text);
}
