/*
 * A short check number of bytes, to tell whether something is still the same: FNV-1a, 64 bit
 * (Fowler, Noll and Vo; in the public domain). No protection against forgers.
 */
#ifndef SL_CORE_HASH_H
#define SL_CORE_HASH_H

#include <stddef.h>
#include <stdint.h>

#define SL_HASH_START UINT64_C(0xcbf29ce484222325)

/* Goes on from `hash`, which is SL_HASH_START before the first bytes. */
uint64_t sl_hash(uint64_t hash, const void *bytes, size_t n);

#endif
