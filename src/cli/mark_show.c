#include "cli/mark_show.h"

#include "files/models.h"
#include "files/result_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void wipe_progress(struct sl_mark_show *marking)
{
    if (marking->told) {
        fputs("\r\033[K", stderr);
        marking->told = false;
    }
}

static void tell_progress(void *user, double share)
{
    struct sl_mark_show *marking = user;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    double since_s = (double)(now.tv_sec - marking->begun.tv_sec) +
                     1e-9 * (double)(now.tv_nsec - marking->begun.tv_nsec);
    if (marking->talkative && since_s > 1.0) {
        fprintf(stderr, "\rlistening: %3.0f %%", 100.0 * share);
        marking->told = true;
    }
}

static void add_json(struct sl_str *out, const struct sl_batch_file *file,
                     const struct sl_attempt *attempt, const struct sl_error *failure)
{
    struct sl_error error = {0};
    char *json = NULL;
    if (attempt == NULL) {
        sl_error_to_json(file->path, failure, &json, &error);
    } else {
        struct sl_result result = sl_batch_result(file, attempt);
        sl_result_to_json(&result, &json, &error);
    }
    out->failed = out->failed || json == NULL;
    sl_str_addf(out, "%s\n", json == NULL ? "" : json);
    free(json);
    sl_error_clear(&error);
}

static struct sl_mark_view view_of(const struct sl_batch_file *file,
                                   const struct sl_attempt *attempt)
{
    return (struct sl_mark_view){.file =
                                     strcmp(file->path, "-") == 0 ? "standard input" : file->path,
                                 .routine = file->task->routine,
                                 .junction = file->task->junction,
                                 .plan = file->task->plan,
                                 .levels = &attempt->levels,
                                 .heard = &attempt->heard,
                                 .mark = &attempt->mark,
                                 .from_s = file->task->options.from_s};
}

static void add_table(struct sl_str *out, const struct sl_mark_show *marking,
                      const struct sl_batch_file *file, const struct sl_attempt *attempt)
{
    struct sl_mark_view view = view_of(file, attempt);
    if (marking->marked > 0) {
        sl_str_add(out, "\n");
    }
    sl_report_mark(out, &view, &marking->style);
}

/* Wrong use, or a file that cannot be used. */
static enum sl_exit code_of(const struct sl_batch_file *file, const struct sl_error *failure)
{
    bool answers = failure->where != NULL && strcmp(failure->where, "--settle-as") == 0;
    return answers ? SL_EXIT_USAGE : file->task == NULL ? sl_exit_for(failure) : SL_EXIT_FAILED;
}

/* In the history, and as pages, where that is wanted. */
static void keep(struct sl_mark_show *marking, size_t index, const struct sl_attempt *attempt)
{
    struct sl_error error = {0};
    const struct sl_batch_file *file = &marking->files[index];
    const struct sl_mark_view view = view_of(file, attempt);
    enum sl_status status = SL_OK;
    if (marking->keeping.history != NULL) {
        status = sl_mark_keep(&marking->keeping, &marking->names[index], file, attempt, &error);
    }
    if (status == SL_OK) {
        status = sl_mark_pages_write(&marking->pages, &view, file->path, &error);
    }
    if (status != SL_OK) {
        sl_complain(&error);
        marking->unkept = true;
    }
    sl_error_clear(&error);
}

static bool hand_out(void *user, size_t index, struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct sl_mark_show *marking = user;
    const struct sl_batch_file *file = &marking->files[index];
    struct sl_str out = {0};
    struct sl_error unsettled = {0};
    wipe_progress(marking);
    if (attempt != NULL && marking->settling != NULL &&
        sl_mark_settle(marking->settling, file, attempt, &unsettled) != SL_OK) {
        attempt = NULL;
        failure = &unsettled;
    }
    if (marking->json) {
        add_json(&out, file, attempt, failure);
    } else if (attempt != NULL) {
        add_table(&out, marking, file, attempt);
    }
    if (attempt == NULL) {
        sl_complain(failure);
        marking->code = code_of(file, failure);
        marking->failed++;
    } else {
        marking->marked++;
        marking->overall_sum += attempt->mark.scores.overall;
        keep(marking, index, attempt);
    }
    marking->broken = !sl_print(&out) || marking->broken;
    sl_str_clear(&out);
    sl_error_clear(&unsettled);
    return !marking->broken;
}

void sl_mark_show_sum(struct sl_mark_show *marking)
{
    if (marking->json || marking->broken || marking->marked + marking->failed < 2) {
        return;
    }
    struct sl_str out = {0};
    sl_str_addf(&out, "\n%zu of %zu recordings marked", marking->marked,
                marking->marked + marking->failed);
    if (marking->marked > 0) {
        sl_str_addf(&out, "; mean score %.0f of 100",
                    marking->overall_sum / (double)marking->marked);
    }
    sl_str_add(&out, ".\n");
    marking->broken = !sl_print(&out);
    sl_str_clear(&out);
}

enum sl_status sl_mark_show_files(struct sl_mark_show *marking, const struct sl_mark_files *files,
                                  struct sl_batch *batch, struct sl_error *error)
{
    char *pronunciations = NULL;
    enum sl_status status = sl_models_path("pronunciations.dict", &pronunciations, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    marking->files = files->files;
    marking->names = files->names;
    // cppcheck-suppress autoVariables ; taken back below
    batch->paths = &paths;
    batch->files = files->files;
    batch->n_files = files->n_files;
    batch->done = hand_out;
    batch->progress = tell_progress;
    batch->user = marking;
    status = sl_mark_batch(batch, error);
    batch->paths = NULL;
    free(pronunciations);
    return status;
}
