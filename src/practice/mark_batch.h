/*
 * Marking many recordings on several threads, a recogniser each; results are handed out in the
 * order of the files.
 */
#ifndef SL_PRACTICE_MARK_BATCH_H
#define SL_PRACTICE_MARK_BATCH_H

#include "files/result_json.h"
#include "practice/mark_recording.h"

#include <stdbool.h>
#include <stddef.h>

#define SL_JOBS_MAX 64

/* A recording and what it is marked against; nothing is owned. */
struct sl_batch_file {
    const char *path;
    const struct sl_task *task;     /* NULL: it cannot be marked, and `failure` says why */
    const struct sl_error *failure; /* handed out in its turn */
};

/* What is marked and what hears of it; nothing is owned. The callbacks run on the calling thread,
 * one at a time. */
struct sl_batch {
    const struct sl_recogniser_paths *paths;
    const struct sl_batch_file *files; /* quickest where those of one routine stand together */
    size_t n_files;
    bool settled; /* apply what an instructor settled beside each recording */
    int jobs;     /* threads, 1 to SL_JOBS_MAX; no more than files are started */

    /*
     * A recording is marked (`failure` NULL) or could not be (`attempt` NULL). Both are released
     * after the call; the attempt may be changed. Files come in order, each once. False ends the
     * batch: no further file is begun or handed out.
     */
    bool (*done)(void *user, size_t file, struct sl_attempt *attempt,
                 const struct sl_error *failure);
    /* Several times a second while files are worked on: the share of the whole, 0 to 1. May be
     * NULL. */
    sl_progress *progress;
    void *user;
};

/* What result files hold of an attempt at a file; points into both. */
struct sl_result sl_batch_result(const struct sl_batch_file *file,
                                 const struct sl_attempt *attempt);

/*
 * Marks all files. Errors that concern no single file: a recogniser cannot be made for the first
 * task, no thread can be started, SL_NO_MEMORY; then nothing was handed out. SL_OK also when `done`
 * ended the batch.
 */
enum sl_status sl_mark_batch(const struct sl_batch *batch, struct sl_error *error);

#endif
