#include "practice/mark_batch.h"

#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PROGRESS_EVERY_NS 200000000L

/* The result of one file, filled by a worker, emptied by the calling thread. */
struct slot {
    struct sl_attempt attempt;
    struct sl_error failure;
    bool marked;
    bool finished;
    double share; /* 0 to 1 */
};

struct pool;

struct worker {
    struct pool *pool;
    struct sl_recogniser *recogniser;
    const struct sl_routine *routine; /* that it was made for */
    pthread_t thread;
    bool started;
    size_t file; /* that it works on */
};

/* `lock` guards the slots, `next` and `stop`; `change` is signalled when a file is finished. */
struct pool {
    const struct sl_batch *batch;
    struct slot *slots;
    struct worker *workers;
    size_t n_workers;
    pthread_mutex_t lock;
    pthread_cond_t change;
    size_t next;
    bool stop;
};

static void note_share(void *user, double share)
{
    struct worker *worker = user;
    pthread_mutex_lock(&worker->pool->lock);
    worker->pool->slots[worker->file].share = share < 0.0 ? 0.0 : share;
    pthread_mutex_unlock(&worker->pool->lock);
}

/* A recogniser for the file's routine, unless the worker has it. */
static enum sl_status equip(struct worker *worker, const struct sl_batch_file *file,
                            struct sl_error *error)
{
    const struct sl_routine *routine = file->task->routine;
    if (worker->routine == routine) {
        return SL_OK;
    }
    sl_recogniser_free(worker->recogniser);
    worker->recogniser = NULL;
    worker->routine = NULL;
    const struct sl_recogniser_paths *paths = worker->pool->batch->paths;
    enum sl_status status = sl_recogniser_new(routine, paths, NULL, &worker->recogniser, error);
    worker->routine = status == SL_OK ? routine : NULL;
    return status;
}

/* Fills the slot of the worker's file; without the lock. */
static enum sl_status mark_file(struct worker *worker, struct slot *slot)
{
    const struct sl_batch *batch = worker->pool->batch;
    const struct sl_batch_file *file = &batch->files[worker->file];
    if (file->task == NULL) {
        return file->failure->status;
    }
    enum sl_status status = equip(worker, file, &slot->failure);
    if (status == SL_OK) {
        struct sl_marker marker = {worker->recogniser, note_share, worker, batch->settled};
        status = sl_mark_recording(file->task, file->path, &marker, &slot->attempt, &slot->failure);
    }
    return status;
}

static void *work(void *user)
{
    struct worker *worker = user;
    struct pool *pool = worker->pool;
    pthread_mutex_lock(&pool->lock);
    while (!pool->stop && pool->next < pool->batch->n_files) {
        worker->file = pool->next++;
        struct slot *slot = &pool->slots[worker->file];
        pthread_mutex_unlock(&pool->lock);
        enum sl_status status = mark_file(worker, slot);
        pthread_mutex_lock(&pool->lock);
        slot->marked = status == SL_OK;
        slot->finished = true;
        slot->share = 1.0;
        pthread_cond_signal(&pool->change);
    }
    pthread_mutex_unlock(&pool->lock);
    return NULL;
}

static double share_of_all(const struct pool *pool)
{
    double sum = 0.0;
    for (size_t i = 0; i < pool->batch->n_files; i++) {
        sum += pool->slots[i].share;
    }
    return sum / (double)pool->batch->n_files;
}

/* Waits, with the lock held, until the file is finished, telling the progress meanwhile. */
static void await_file(struct pool *pool, const struct slot *slot)
{
    while (!slot->finished) {
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += PROGRESS_EVERY_NS;
        if (until.tv_nsec >= 1000000000L) {
            until.tv_nsec -= 1000000000L;
            until.tv_sec += 1;
        }
        int waited = pthread_cond_timedwait(&pool->change, &pool->lock, &until);
        if (waited == ETIMEDOUT && pool->batch->progress != NULL) {
            double share = share_of_all(pool);
            pthread_mutex_unlock(&pool->lock);
            pool->batch->progress(pool->batch->user, share);
            pthread_mutex_lock(&pool->lock);
        }
    }
}

static void clear_slot(struct slot *slot)
{
    sl_attempt_clear(&slot->attempt);
    sl_error_clear(&slot->failure);
}

static void hand_out(struct pool *pool)
{
    const struct sl_batch *batch = pool->batch;
    bool go_on = true;
    for (size_t i = 0; i < batch->n_files && go_on; i++) {
        struct slot *slot = &pool->slots[i];
        pthread_mutex_lock(&pool->lock);
        await_file(pool, slot);
        pthread_mutex_unlock(&pool->lock);
        const struct sl_error *failure =
            batch->files[i].task == NULL ? batch->files[i].failure : &slot->failure;
        go_on = batch->done(batch->user, i, slot->marked ? &slot->attempt : NULL,
                            slot->marked ? NULL : failure);
        clear_slot(slot);
    }
    pthread_mutex_lock(&pool->lock);
    pool->stop = true;
    pthread_mutex_unlock(&pool->lock);
}

/* At least one thread is enough: the others only make it quicker. */
static enum sl_status start_workers(struct pool *pool, struct sl_error *error)
{
    size_t started = 0;
    for (size_t i = 0; i < pool->n_workers; i++) {
        struct worker *worker = &pool->workers[i];
        worker->started = pthread_create(&worker->thread, NULL, work, worker) == 0;
        started += worker->started ? 1 : 0;
    }
    if (started == 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, "ask for fewer jobs",
                       "no thread could be started");
    }
    return SL_OK;
}

/* Equipped before the first file is begun, so that what is missing for all is said once. */
static enum sl_status make_workers(struct pool *pool, struct sl_error *error)
{
    const struct sl_batch *batch = pool->batch;
    size_t first = 0;
    while (first < batch->n_files && batch->files[first].task == NULL) {
        first++;
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < pool->n_workers && status == SL_OK; i++) {
        struct worker *worker = &pool->workers[i];
        worker->pool = pool;
        if (first < batch->n_files) {
            status = equip(worker, &batch->files[first], error);
        }
    }
    return status;
}

static void free_pool(struct pool *pool)
{
    for (size_t i = 0; pool->workers != NULL && i < pool->n_workers; i++) {
        if (pool->workers[i].started) {
            pthread_join(pool->workers[i].thread, NULL);
        }
        sl_recogniser_free(pool->workers[i].recogniser);
    }
    for (size_t i = 0; pool->slots != NULL && i < pool->batch->n_files; i++) {
        clear_slot(&pool->slots[i]);
    }
    free(pool->workers);
    free(pool->slots);
    pthread_cond_destroy(&pool->change);
    pthread_mutex_destroy(&pool->lock);
}

static bool init_locks(struct pool *pool)
{
    pthread_condattr_t attributes;
    if (pthread_mutex_init(&pool->lock, NULL) != 0) {
        return false;
    }
    pthread_condattr_init(&attributes);
    pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
    bool made = pthread_cond_init(&pool->change, &attributes) == 0;
    pthread_condattr_destroy(&attributes);
    if (!made) {
        pthread_mutex_destroy(&pool->lock);
    }
    return made;
}

enum sl_status sl_mark_batch(const struct sl_batch *batch, struct sl_error *error)
{
    if (batch->n_files == 0) {
        return SL_OK;
    }
    size_t jobs = batch->jobs < 1             ? 1
                  : batch->jobs > SL_JOBS_MAX ? SL_JOBS_MAX
                                              : (size_t)batch->jobs;
    struct pool pool = {.batch = batch, .n_workers = jobs < batch->n_files ? jobs : batch->n_files};
    if (!init_locks(&pool)) {
        return sl_fail_memory(error);
    }
    pool.slots = calloc(batch->n_files, sizeof *pool.slots);
    pool.workers = calloc(pool.n_workers, sizeof *pool.workers);
    bool room = pool.slots != NULL && pool.workers != NULL;
    enum sl_status status = room ? make_workers(&pool, error) : sl_fail_memory(error);
    if (status == SL_OK) {
        status = start_workers(&pool, error);
    }
    if (status == SL_OK) {
        hand_out(&pool);
    }
    free_pool(&pool);
    return status;
}

struct sl_result sl_batch_result(const struct sl_batch_file *file, const struct sl_attempt *attempt)
{
    return (struct sl_result){.file = file->path,
                              .routine = file->task->routine,
                              .junction = file->task->junction,
                              .plan = file->task->plan,
                              .levels = &attempt->levels,
                              .heard = &attempt->heard,
                              .mark = &attempt->mark,
                              .from_s = file->task->options.from_s,
                              .settled = &attempt->settled};
}
