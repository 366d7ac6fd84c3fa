/* What one change would have done: the drive again, with one phase said right at its moment. */
#include "core/drive.h"

#include "core/drive_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The words without those of one phase, and that phase as it should be. */
static enum sl_status changed_words(const struct sl_driving *driving, size_t phase,
                                    const struct sl_heard *right, struct sl_heard_list *words,
                                    struct sl_error *error)
{
    enum sl_status status = SL_OK;
    bool placed = false;
    const struct sl_heard_list *heard = driving->heard;
    for (size_t i = 0; i < heard->count && status == SL_OK; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (!placed && item->start_s > right->start_s) {
            status = sl_heard_add(words, right, error);
            placed = true;
        }
        if (status == SL_OK && item->phase != phase) {
            status = sl_heard_add(words, item, error);
        }
    }
    return status == SL_OK && !placed ? sl_heard_add(words, right, error) : status;
}

struct sl_heard sl_drive_right_words(const struct sl_task *task, size_t phase)
{
    static char nothing[] = "";
    struct sl_heard right = {.phase = phase, .text = nothing, .confidence = 1.0};
    right.settings =
        sl_routine_wanted(task->routine, phase, task->junction, task->plan->view).settings;
    if (task->routine->phases[phase].moment == SL_MOMENT_DECIDE &&
        right.settings.decision == SL_DECISION_UNSAID) {
        right.settings.decision = SL_DECISION_GO;
    }
    right.start_s = task->plan->windows[phase].due_s + task->options.from_s;
    right.end_s = right.start_s + 1.0;
    return right;
}

/* What the learner decided, where the junction leaves it open. */
static void keep_decision(const struct sl_driving *driving, size_t phase, struct sl_heard *right)
{
    const struct sl_task *task = driving->task;
    struct sl_settings wanted =
        sl_routine_wanted(task->routine, phase, task->junction, task->plan->view).settings;
    for (size_t i = 0; wanted.decision == SL_DECISION_UNSAID && i < driving->heard->count; i++) {
        const struct sl_heard *item = &driving->heard->items[i];
        if (item->phase == phase && item->settings.decision != SL_DECISION_UNSAID) {
            right->settings.decision = item->settings.decision;
        }
    }
}

static bool caused_any(const struct sl_drive *drive, size_t phase)
{
    for (size_t i = 0; i < drive->n_consequences; i++) {
        if (drive->consequences[i].phase == phase) {
            return true;
        }
    }
    return false;
}

static enum sl_status try_phase(const struct sl_driving *driving, size_t phase,
                                struct sl_drive_change *best, struct sl_error *error)
{
    struct sl_heard right = sl_drive_right_words(driving->task, phase);
    keep_decision(driving, phase, &right);
    struct sl_heard_list words = {0};
    struct sl_drive drive = {0};
    enum sl_status status = changed_words(driving, phase, &right, &words, error);
    if (status == SL_OK) {
        struct sl_driving again = *driving;
        again.heard = &words;
        status = sl_drive_make(&again, &drive, error);
    }
    if (status == SL_OK && drive.n_consequences < best->n_consequences) {
        *best = (struct sl_drive_change){.found = true,
                                         .phase = phase,
                                         .at_s = right.start_s - driving->task->options.from_s,
                                         .said = right.settings,
                                         .arrival = drive.arrival,
                                         .n_consequences = drive.n_consequences};
    }
    sl_drive_clear(&drive);
    sl_heard_clear(&words);
    return status;
}

enum sl_status sl_drive_one_change(const struct sl_driving *driving, const struct sl_drive *drive,
                                   struct sl_drive_change *change, struct sl_error *error)
{
    struct sl_drive_change best = {.n_consequences = drive->n_consequences};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < driving->task->routine->n_phases && status == SL_OK; i++) {
        if (caused_any(drive, i)) {
            status = try_phase(driving, i, &best, error);
        }
    }
    if (status == SL_OK) {
        *change = best;
    }
    return status;
}
