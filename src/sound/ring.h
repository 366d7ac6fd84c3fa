/*
 * A lock-free queue between two threads: one that only writes and one that only reads (C11
 * atomics). Neither call ever waits, locks or allocates, so either end may be an audio callback.
 */
#ifndef SL_SOUND_RING_H
#define SL_SOUND_RING_H

#include "core/status.h"

#include <stddef.h>

struct sl_ring;

/*
 * A ring with room for at least `room` elements (rounded up to a power of two) of `bytes` bytes
 * each: an int16_t or float frame, or a struct without pointers to care about. SL_INVALID when
 * either is 0, SL_TOO_LARGE above 2^30 bytes, SL_NO_MEMORY.
 */
enum sl_status sl_ring_new(size_t room, size_t bytes, struct sl_ring **ring,
                           struct sl_error *error);

/* Only once neither thread uses the ring. NULL is fine. */
void sl_ring_free(struct sl_ring *ring);

/* How many elements fit in all. */
size_t sl_ring_room(const struct sl_ring *ring);

/* How many elements can be read now; seen from the writing thread, at most so many. */
size_t sl_ring_readable(const struct sl_ring *ring);

/* How many elements can be written now; seen from the reading thread, at most so many. */
size_t sl_ring_writable(const struct sl_ring *ring);

/* Writing thread: copies up to `n` elements in, oldest first; returns how many fitted. NULL writes
 * elements of zero bytes (silence). */
size_t sl_ring_write(struct sl_ring *ring, const void *elements, size_t n);

/* Reading thread: takes up to `n` elements out; returns how many there were. NULL throws them
 * away. */
size_t sl_ring_read(struct sl_ring *ring, void *elements, size_t n);

#endif
