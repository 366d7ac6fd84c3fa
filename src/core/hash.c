#include "core/hash.h"

uint64_t sl_hash(uint64_t hash, const void *bytes, size_t n)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < n; i++) {
        hash = (hash ^ byte[i]) * UINT64_C(0x100000001b3);
    }
    return hash;
}
