#include "practice/frame_queue.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_ROOM 16384

/* `lock` guards all; the frames between `from` and `to` are in the queue. */
struct sl_frame_queue {
    pthread_mutex_t lock;
    pthread_cond_t change;
    int16_t *frames;
    size_t room, from, to;
    bool finished;
};

struct sl_frame_queue *sl_frame_queue_new(void)
{
    struct sl_frame_queue *made = calloc(1, sizeof *made);
    int16_t *frames = malloc(FIRST_ROOM * sizeof *frames);
    if (made == NULL || frames == NULL || pthread_mutex_init(&made->lock, NULL) != 0) {
        free(frames);
        free(made);
        return NULL;
    }
    if (pthread_cond_init(&made->change, NULL) != 0) {
        pthread_mutex_destroy(&made->lock);
        free(frames);
        free(made);
        return NULL;
    }
    made->frames = frames;
    made->room = FIRST_ROOM;
    return made;
}

void sl_frame_queue_free(struct sl_frame_queue *queue)
{
    if (queue != NULL) {
        pthread_cond_destroy(&queue->change);
        pthread_mutex_destroy(&queue->lock);
        free(queue->frames);
        free(queue);
    }
}

/* Room for `n` more frames behind `to`. */
static bool make_room(struct sl_frame_queue *queue, size_t n)
{
    size_t held = queue->to - queue->from;
    if (queue->to + n <= queue->room) {
        return true;
    }
    if (held + n > queue->room / 2) { /* moving down alone would come too often */
        size_t room = 2 * (held + n);
        int16_t *larger = realloc(queue->frames, room * sizeof *larger);
        if (larger == NULL) {
            return false;
        }
        queue->frames = larger;
        queue->room = room;
    }
    memmove(queue->frames, queue->frames + queue->from, held * sizeof *queue->frames);
    queue->from = 0;
    queue->to = held;
    return true;
}

bool sl_frame_queue_put(struct sl_frame_queue *queue, const int16_t *frames, size_t n)
{
    pthread_mutex_lock(&queue->lock);
    bool fits = make_room(queue, n);
    if (fits) {
        memcpy(queue->frames + queue->to, frames, n * sizeof *frames);
        queue->to += n;
        pthread_cond_signal(&queue->change);
    }
    pthread_mutex_unlock(&queue->lock);
    return fits;
}

size_t sl_frame_queue_held(struct sl_frame_queue *queue)
{
    pthread_mutex_lock(&queue->lock);
    size_t held = queue->to - queue->from;
    pthread_mutex_unlock(&queue->lock);
    return held;
}

void sl_frame_queue_finish(struct sl_frame_queue *queue)
{
    pthread_mutex_lock(&queue->lock);
    queue->finished = true;
    pthread_cond_signal(&queue->change);
    pthread_mutex_unlock(&queue->lock);
}

size_t sl_frame_queue_take(struct sl_frame_queue *queue, int16_t *frames, size_t room)
{
    pthread_mutex_lock(&queue->lock);
    while (queue->from == queue->to && !queue->finished) {
        pthread_cond_wait(&queue->change, &queue->lock);
    }
    size_t held = queue->to - queue->from;
    size_t n = held < room ? held : room;
    memcpy(frames, queue->frames + queue->from, n * sizeof *frames);
    queue->from += n;
    pthread_mutex_unlock(&queue->lock);
    return n;
}
