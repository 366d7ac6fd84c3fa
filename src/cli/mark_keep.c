#include "cli/mark_keep.h"

#include "files/path.h"

#include <stdlib.h>

enum sl_status sl_mark_keep(const struct sl_mark_keeping *keeping,
                            const struct sl_setup_names *names, const struct sl_batch_file *file,
                            const struct sl_attempt *attempt, struct sl_error *error)
{
    char *junction = sl_path_whole(names->junction);
    char *routine = sl_path_whole(names->routine == NULL ? SL_DEFAULT_ROUTINE : names->routine);
    char *car = sl_path_whole(names->car == NULL ? SL_DEFAULT_CAR : names->car);
    const struct sl_history_run run = {
        .learner = keeping->learner,
        .names = {junction, routine, car,
                  names->approach == NULL ? 0 : file->task->junction->approach_mps, names->seeded,
                  names->seed},
        .sound = file->path,
        .marked_with = SL_VERSION,
        .routine = file->task->routine,
        .junction = file->task->junction,
        .plan = file->task->plan,
        .options = &file->task->options};
    bool whole = junction != NULL && routine != NULL && car != NULL;
    enum sl_status status =
        whole ? sl_keep_attempt(keeping->history, &run, attempt, error) : sl_fail_memory(error);
    free(car);
    free(routine);
    free(junction);
    return status;
}
