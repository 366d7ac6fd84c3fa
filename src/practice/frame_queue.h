/*
 * A queue of sound frames between two threads that grows as it must: the writing end never waits
 * for the reading end and nothing is dropped, so that a slow disk or a busy recogniser costs
 * memory (32 kB a second), not sound. Not for audio callbacks: it locks and allocates.
 */
#ifndef SL_PRACTICE_FRAME_QUEUE_H
#define SL_PRACTICE_FRAME_QUEUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sl_frame_queue;

/* NULL when memory runs out. */
struct sl_frame_queue *sl_frame_queue_new(void);

/* Once neither thread uses it. NULL is fine. */
void sl_frame_queue_free(struct sl_frame_queue *queue);

/* Adds all `n` frames or, when memory runs out, none: false. */
bool sl_frame_queue_put(struct sl_frame_queue *queue, const int16_t *frames, size_t n);

/* Frames put in and not taken yet. */
size_t sl_frame_queue_held(struct sl_frame_queue *queue);

/* No more will be put in. */
void sl_frame_queue_finish(struct sl_frame_queue *queue);

/* Takes up to `room` frames, oldest first; waits until there is one. 0: finished and empty. */
size_t sl_frame_queue_take(struct sl_frame_queue *queue, int16_t *frames, size_t room);

#endif
