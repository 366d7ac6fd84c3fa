/*
 * Events of a rehearsal on their way from the threads that make them to the thread that shows them.
 */
#ifndef SL_PRACTICE_EVENT_QUEUE_H
#define SL_PRACTICE_EVENT_QUEUE_H

#include "practice/rehearsal.h"

#include <stdbool.h>

struct sl_event_queue;

/* A queue that `producers` threads will put events into. NULL when memory runs out. */
struct sl_event_queue *sl_event_queue_new(unsigned producers);

/* Once no thread uses it. NULL is fine. */
void sl_event_queue_free(struct sl_event_queue *queue);

/* Adds an event; `heard` is copied, the cue is not. False when memory runs out. */
bool sl_event_queue_put(struct sl_event_queue *queue, const struct sl_event *event);

/* One of the producers will put no more. */
void sl_event_queue_leave(struct sl_event_queue *queue);

/* Waits for an event; *event is valid until the next call. False: all producers left and nothing
 * is there any more. */
bool sl_event_queue_take(struct sl_event_queue *queue, struct sl_event *event);

#endif
