#include "practice/event_queue.h"

#include <pthread.h>
#include <stdlib.h>

struct node {
    struct node *next;
    struct sl_event event;
    struct sl_heard_list heard; /* the event's, if it has one */
};

/* `lock` guards all but `taken`, which is the reading thread's. */
struct sl_event_queue {
    pthread_mutex_t lock;
    pthread_cond_t change;
    struct node *first, *last;
    struct node *taken;
    unsigned producers;
};

struct sl_event_queue *sl_event_queue_new(unsigned producers)
{
    struct sl_event_queue *made = calloc(1, sizeof *made);
    if (made == NULL || pthread_mutex_init(&made->lock, NULL) != 0) {
        free(made);
        return NULL;
    }
    if (pthread_cond_init(&made->change, NULL) != 0) {
        pthread_mutex_destroy(&made->lock);
        free(made);
        return NULL;
    }
    made->producers = producers;
    return made;
}

static void free_node(struct node *node)
{
    if (node != NULL) {
        sl_heard_clear(&node->heard);
        free(node);
    }
}

void sl_event_queue_free(struct sl_event_queue *queue)
{
    if (queue == NULL) {
        return;
    }
    while (queue->first != NULL) {
        struct node *next = queue->first->next;
        free_node(queue->first);
        queue->first = next;
    }
    free_node(queue->taken);
    pthread_cond_destroy(&queue->change);
    pthread_mutex_destroy(&queue->lock);
    free(queue);
}

bool sl_event_queue_put(struct sl_event_queue *queue, const struct sl_event *event)
{
    struct node *node = calloc(1, sizeof *node);
    if (node == NULL) {
        return false;
    }
    node->event = *event;
    if (event->heard != NULL) {
        if (sl_heard_add(&node->heard, event->heard, NULL) != SL_OK) {
            free_node(node);
            return false;
        }
        node->event.heard = node->heard.items;
    }
    pthread_mutex_lock(&queue->lock);
    if (queue->first == NULL) {
        queue->first = node;
    } else {
        queue->last->next = node;
    }
    queue->last = node;
    pthread_cond_signal(&queue->change);
    pthread_mutex_unlock(&queue->lock);
    return true;
}

void sl_event_queue_leave(struct sl_event_queue *queue)
{
    pthread_mutex_lock(&queue->lock);
    queue->producers--;
    pthread_cond_signal(&queue->change);
    pthread_mutex_unlock(&queue->lock);
}

bool sl_event_queue_take(struct sl_event_queue *queue, struct sl_event *event)
{
    pthread_mutex_lock(&queue->lock);
    while (queue->first == NULL && queue->producers > 0) {
        pthread_cond_wait(&queue->change, &queue->lock);
    }
    struct node *node = queue->first;
    if (node != NULL) {
        queue->first = node->next;
    }
    pthread_mutex_unlock(&queue->lock);
    free_node(queue->taken);
    queue->taken = node;
    if (node != NULL) {
        *event = node->event;
    }
    return node != NULL;
}
