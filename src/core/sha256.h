/*
 * SHA-256 (FIPS 180-4): tells whether a file is still the one that it was.
 */
#ifndef SL_CORE_SHA256_H
#define SL_CORE_SHA256_H

#include <stddef.h>
#include <stdint.h>

#define SL_SHA256_HEX 65 /* characters of a digest in hexadecimal, with the zero at its end */

/* A digest under way: sl_sha256_begin, any number of sl_sha256_add, sl_sha256_end. */
struct sl_sha256 {
    uint32_t state[8];
    unsigned char block[64]; /* what does not yet fill a block */
    uint64_t bytes;          /* so far, in all */
};

void sl_sha256_begin(struct sl_sha256 *sha);
void sl_sha256_add(struct sl_sha256 *sha, const void *bytes, size_t length);

/* The digest in lower-case hexadecimal; `sha` is used up. */
void sl_sha256_end(struct sl_sha256 *sha, char hex[SL_SHA256_HEX]);

#endif
