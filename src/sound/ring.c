#include "sound/ring.h"

#include <stdalign.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES ((size_t)1 << 30)
#define CACHE_LINE 64 /* keeps the two counters from slowing each other; any value is correct */

struct sl_ring {
    /* Counters of all elements ever written and read; they may wrap, their difference is right. */
    alignas(CACHE_LINE) atomic_size_t written;
    alignas(CACHE_LINE) atomic_size_t taken;
    unsigned char *store;
    size_t bytes; /* of an element */
    size_t room;  /* a power of two */
};

enum sl_status sl_ring_new(size_t room, size_t bytes, struct sl_ring **ring, struct sl_error *error)
{
    if (room == 0 || bytes == 0) {
        return sl_fail(error, SL_INVALID, NULL, NULL, "a ring cannot be empty");
    }
    if (bytes > MOST_BYTES || room > MOST_BYTES / bytes) {
        return sl_fail(error, SL_TOO_LARGE, NULL, NULL, "a ring of %zu elements is too large",
                       room);
    }
    size_t rounded = 1;
    while (rounded < room) {
        rounded *= 2;
    }
    struct sl_ring *made = aligned_alloc(CACHE_LINE, sizeof *made);
    unsigned char *store = calloc(rounded, bytes);
    if (made == NULL || store == NULL) {
        free(made);
        free(store);
        return sl_fail_memory(error);
    }
    made->store = store;
    made->bytes = bytes;
    made->room = rounded;
    atomic_init(&made->written, 0);
    atomic_init(&made->taken, 0);
    *ring = made;
    return SL_OK;
}

void sl_ring_free(struct sl_ring *ring)
{
    if (ring != NULL) {
        free(ring->store);
        free(ring);
    }
}

size_t sl_ring_room(const struct sl_ring *ring)
{
    return ring->room;
}

size_t sl_ring_readable(const struct sl_ring *ring)
{
    /* `taken` first: it never passes `written`, so the difference cannot fall below 0. Seen by
     * the writer the reader may have moved on in between; clamped for whoever else looks. */
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
    size_t written = atomic_load_explicit(&ring->written, memory_order_acquire);
    size_t readable = written - taken;
    return readable < ring->room ? readable : ring->room;
}

size_t sl_ring_writable(const struct sl_ring *ring)
{
    return ring->room - sl_ring_readable(ring);
}

static void copy_in(unsigned char *to, const unsigned char *from, size_t bytes)
{
    if (from == NULL) {
        memset(to, 0, bytes);
    } else {
        memcpy(to, from, bytes);
    }
}

size_t sl_ring_write(struct sl_ring *ring, const void *elements, size_t n)
{
    const unsigned char *from = elements;
    size_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
    size_t free_now = ring->room - (written - taken);
    n = n < free_now ? n : free_now;
    size_t at = written & (ring->room - 1);
    size_t first = n < ring->room - at ? n : ring->room - at;
    copy_in(ring->store + at * ring->bytes, from, first * ring->bytes);
    copy_in(ring->store, from == NULL ? NULL : from + first * ring->bytes,
            (n - first) * ring->bytes);
    atomic_store_explicit(&ring->written, written + n, memory_order_release);
    return n;
}

size_t sl_ring_read(struct sl_ring *ring, void *elements, size_t n)
{
    unsigned char *to = elements;
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_relaxed);
    size_t written = atomic_load_explicit(&ring->written, memory_order_acquire);
    n = n < written - taken ? n : written - taken;
    size_t at = taken & (ring->room - 1);
    size_t first = n < ring->room - at ? n : ring->room - at;
    if (to != NULL) {
        memcpy(to, ring->store + at * ring->bytes, first * ring->bytes);
        memcpy(to + first * ring->bytes, ring->store, (n - first) * ring->bytes);
    }
    atomic_store_explicit(&ring->taken, taken + n, memory_order_release);
    return n;
}
