/* What one setting that is not the right one would do to a drive that is right in all else. */
#include "core/drive.h"

#include "core/drive_parts.h"

/* Says all as planned, but for one setting; a part of 0 changes nothing. */
static enum sl_status say_plan(const struct sl_task *task, unsigned part,
                               const struct sl_settings *said, struct sl_heard_list *words,
                               struct sl_error *error)
{
    const struct sl_settings other = sl_settings_only(said, part);
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < task->routine->n_phases && status == SL_OK; i++) {
        struct sl_heard right = sl_drive_right_words(task, i);
        if ((sl_settings_named(&right.settings) & part) != 0) {
            sl_settings_merge(&right.settings, &other);
        }
        status = sl_heard_add(words, &right, error);
    }
    return status;
}

static enum sl_status drive_plan(const struct sl_driving *driving, unsigned part,
                                 const struct sl_settings *said, struct sl_drive *drive,
                                 struct sl_error *error)
{
    struct sl_heard_list words = {0};
    struct sl_driving again = *driving;
    enum sl_status status = say_plan(driving->task, part, said, &words, error);
    if (status == SL_OK) {
        again.heard = &words;
        status = sl_drive_make(&again, drive, error);
    }
    sl_heard_clear(&words);
    return status;
}

/* How much a consequence tells of the part that was changed. */
static int worth(const struct sl_consequence *one, const struct sl_routine *routine, unsigned part)
{
    return (sl_consequence_fault(one->kind) == SL_FAULT_WRONG_SETTING ? 2 : 0) +
           ((routine->phases[one->phase].carries & part) != 0 ? 1 : 0);
}

/* The first of the consequences that are not known and worth most; NULL: none. */
static struct sl_consequence *best_new(const struct sl_routine *routine, struct sl_drive *drive,
                                       uint64_t known, unsigned part)
{
    struct sl_consequence *best = NULL;
    for (size_t i = 0; i < drive->n_consequences; i++) {
        struct sl_consequence *one = &drive->consequences[i];
        if ((known & SL_CAME_OF(one->kind)) == 0 &&
            (best == NULL || worth(one, routine, part) > worth(best, routine, part))) {
            best = one;
        }
    }
    return best;
}

enum sl_status sl_drive_with_setting(const struct sl_driving *driving, enum sl_setting part,
                                     const struct sl_settings *said, struct sl_consequence *told,
                                     struct sl_error *error)
{
    struct sl_drive planned = {0};
    struct sl_drive drive = {0};
    enum sl_status status = drive_plan(driving, 0, said, &planned, error);
    if (status == SL_OK) {
        status = drive_plan(driving, (unsigned)part, said, &drive, error);
    }
    if (status == SL_OK) {
        uint64_t known = sl_drive_came_of(&planned) | SL_CAME_OF(SL_WRONG_GEAR);
        struct sl_consequence *one =
            best_new(driving->task->routine, &drive, known, (unsigned)part);
        *told = one != NULL ? *one : (struct sl_consequence){0};
        if (one != NULL) {
            one->what = one->reason = NULL; /* taken over */
        }
    }
    sl_drive_clear(&planned);
    sl_drive_clear(&drive);
    return status;
}
