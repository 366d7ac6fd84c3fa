/*
 * SHA-512 (FIPS 180-4), by nettle: the only header through which it is reached.
 */
#ifndef SL_FILES_SHA512_H
#define SL_FILES_SHA512_H

#include <stddef.h>

#define SL_SHA512_HEX 129 /* 128 digits and the end of the text */

struct sl_sha512;

/* A digest of nothing yet; sl_sha512_free releases it. NULL when memory runs out. */
struct sl_sha512 *sl_sha512_new(void);

/* Adds bytes. */
void sl_sha512_add(struct sl_sha512 *digest, const void *bytes, size_t length);

/* The digest in small hexadecimal digits, as `sha512sum` prints it; begins anew. */
void sl_sha512_end(struct sl_sha512 *digest, char hex[SL_SHA512_HEX]);

/* NULL is fine. */
void sl_sha512_free(struct sl_sha512 *digest);

#endif
