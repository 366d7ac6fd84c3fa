#include "practice/keep.h"

#include "core/car.h"
#include "core/situation.h"
#include "core/str.h"
#include "files/atomic.h"
#include "files/digest.h"
#include "files/models.h"
#include "files/path.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

enum sl_status sl_keep_path(char **path, struct sl_error *error)
{
    char *folder = sl_user_folder();
    if (folder == NULL) {
        return sl_fail(error, SL_NOT_FOUND, NULL, "set HOME or XDG_DATA_HOME",
                       "there is no folder to keep a history in");
    }
    char *made = sl_strf("%s/history.sqlite", folder);
    free(folder);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *path = made;
    return SL_OK;
}

enum sl_status sl_keep_open(struct sl_history **history, struct sl_error *error)
{
    char *path = NULL;
    enum sl_status status = sl_keep_path(&path, error);
    if (status == SL_OK) {
        status = sl_make_folders(path, error);
    }
    if (status == SL_OK) {
        status = sl_history_open(path, history, error);
    }
    free(path);
    return status;
}

enum sl_status sl_keep_attempt(struct sl_history *history, const struct sl_history_run *run,
                               const struct sl_attempt *attempt, struct sl_error *error)
{
    struct sl_history_run whole = *run;
    struct sl_mark_options options = *run->options;
    struct sl_digest digest;
    char *sound = NULL;
    enum sl_status status = SL_OK;
    options.hiding = attempt->hiding;
    whole.options = &options;
    whole.at_s = (int64_t)time(NULL);
    whole.heard = &attempt->heard;
    whole.mark = &attempt->mark;
    whole.settlements = &attempt->settled.settlements;
    if (run->sound != NULL && strcmp(run->sound, "-") != 0) {
        status = sl_file_digest(run->sound, &digest, error);
        whole.sha256 = digest.sha256;
        sound = status == SL_OK ? realpath(run->sound, NULL) : NULL;
        if (status == SL_OK && sound == NULL) {
            status = sl_fail(error, SL_IO, run->sound, NULL, "the recording cannot be found again");
        }
    }
    whole.sound = sound;
    if (status == SL_OK) {
        status = sl_history_add_run(history, &whole, error);
    }
    free(sound);
    return status;
}

/* What runs are marked against. */
struct against {
    const struct sl_history_kept *of; /* loaded for this run; NULL: nothing is loaded */
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_settlements settlements; /* of the run at hand */
};

static void clear_against(struct against *against)
{
    sl_routine_clear(&against->routine);
    sl_junction_clear(&against->junction);
    sl_car_clear(&against->car);
    *against = (struct against){0};
}

static int compare(const struct sl_history_kept *a, const struct sl_history_kept *b)
{
    int order = strcmp(a->routine, b->routine);
    order = order == 0 ? strcmp(a->junction, b->junction) : order;
    order = order == 0 ? strcmp(a->car, b->car) : order;
    int faster = (a->approach_mps > b->approach_mps) - (a->approach_mps < b->approach_mps);
    order = order == 0 ? faster : order;
    order = order == 0 ? (int)a->driven - (int)b->driven : order;
    return order == 0 ? (a->seed > b->seed) - (a->seed < b->seed) : order;
}

static int compare_kept(const void *a, const void *b)
{
    return compare(a, b);
}

static enum sl_status load(struct against *against, const struct sl_history_kept *kept,
                           struct sl_error *error)
{
    if (against->of != NULL && compare(against->of, kept) == 0) {
        return SL_OK;
    }
    clear_against(against);
    enum sl_status status = sl_load_routine(kept->routine, &against->routine, error);
    if (status == SL_OK) {
        status = sl_load_junction(kept->junction, &against->junction, error);
    }
    if (status == SL_OK) {
        status = sl_load_car(kept->car, &against->car, error);
    }
    if (status == SL_OK && kept->approach_mps > 0) {
        against->junction.approach_mps = kept->approach_mps;
        status = sl_junction_check(&against->junction, error);
    }
    if (status == SL_OK) {
        status = sl_plan_make(&against->junction, &against->routine, &against->car, &against->plan,
                              error);
    }
    if (status == SL_OK && kept->driven) {
        struct sl_situation others;
        sl_situation_make(&against->junction, &against->routine, &against->plan, kept->seed,
                          &others);
        sl_situation_apply(&others, &against->junction);
    }
    if (status == SL_OK) {
        against->of = kept;
    } else {
        clear_against(against);
    }
    return status;
}

/* Marks what was heard in one run; SL_OK with a mark to be released. */
static enum sl_status mark_again(struct sl_history *history, const struct sl_history_kept *kept,
                                 struct against *against, struct sl_mark *mark,
                                 struct sl_error *error)
{
    struct sl_heard_list heard = {0};
    enum sl_status status = load(against, kept, error);
    if (status == SL_OK) {
        status = sl_history_heard(history, kept->id, &against->routine, &heard, error);
    }
    if (status == SL_OK) {
        status =
            sl_history_settled(history, kept->id, &against->routine, &against->settlements, error);
    }
    if (status == SL_OK) {
        const struct sl_task task = {&against->routine, &against->junction, &against->plan,
                                     kept->options};
        status = sl_mark_make(&task, &heard, mark, error);
        if (status == SL_OK) {
            status = sl_settle(&task, &heard, &against->settlements, mark, error);
        }
    }
    sl_heard_clear(&heard);
    return status;
}

/* Marking one run after the other. */
struct remarking {
    struct sl_history *history;
    const char *version;
    struct against against;
    struct sl_remarked *done;
};

static enum sl_status put_again(struct remarking *work, const struct sl_history_kept *kept,
                                const struct sl_mark *mark, struct sl_error *error)
{
    const struct sl_history_run anew = {.marked_with = work->version,
                                        .routine = &work->against.routine,
                                        .plan = &work->against.plan,
                                        .settlements = &work->against.settlements,
                                        .mark = mark};
    char *faults = sl_mark_gist(anew.routine, mark);
    if (faults == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_history_put_mark(work->history, kept->id, &anew, error);
    if (status == SL_OK) {
        work->done->marked++;
        work->done->changed += strcmp(faults, kept->faults) != 0 ? 1 : 0;
    }
    free(faults);
    return status;
}

/* A run that cannot be marked any more is left as it is; only the history itself ends the work. */
static enum sl_status remark(struct remarking *work, const struct sl_history_kept *kept,
                             struct sl_error *error)
{
    struct sl_error why = {0};
    struct sl_mark mark = {0};
    enum sl_status status = SL_OK;
    if (mark_again(work->history, kept, &work->against, &mark, &why) == SL_OK) {
        status = put_again(work, kept, &mark, error);
    } else if (work->done->left++ == 0) {
        work->done->why = why;
        why = (struct sl_error){0};
    }
    sl_mark_clear(&mark);
    sl_error_clear(&why);
    return status;
}

enum sl_status sl_keep_remark(struct sl_history *history, const char *learner, const char *version,
                              struct sl_remarked *done, struct sl_error *error)
{
    struct sl_history_kept *kept = NULL;
    size_t n_kept = 0;
    struct remarking work = {.history = history, .version = version, .done = done};
    enum sl_status status = sl_history_list(history, learner, &kept, &n_kept, error);
    if (n_kept > 1) {
        qsort(kept, n_kept, sizeof *kept, compare_kept); /* so that each file is read once */
    }
    for (size_t i = 0; i <= n_kept && status == SL_OK; i++) {
        if (done->progress != NULL) {
            done->progress(done->user, i, n_kept);
        }
        status = i < n_kept ? remark(&work, &kept[i], error) : SL_OK;
    }
    clear_against(&work.against);
    for (size_t i = 0; i < n_kept; i++) {
        sl_history_kept_clear(&kept[i]);
    }
    free(kept);
    return status;
}
