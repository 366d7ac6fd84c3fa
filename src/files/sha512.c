#include "files/sha512.h"

#include <nettle/sha2.h>
#include <stdlib.h>

struct sl_sha512 {
    struct sha512_ctx context;
};

struct sl_sha512 *sl_sha512_new(void)
{
    struct sl_sha512 *digest = malloc(sizeof *digest);
    if (digest != NULL) {
        sha512_init(&digest->context);
    }
    return digest;
}

void sl_sha512_add(struct sl_sha512 *digest, const void *bytes, size_t length)
{
    sha512_update(&digest->context, length, bytes);
}

void sl_sha512_end(struct sl_sha512 *digest, char hex[SL_SHA512_HEX])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t bytes[SHA512_DIGEST_SIZE];
    sha512_digest(&digest->context, sizeof bytes, bytes);
    for (size_t i = 0; i < sizeof bytes; i++) {
        hex[2 * i] = digits[bytes[i] >> 4];
        hex[2 * i + 1] = digits[bytes[i] & 15];
    }
    hex[2 * sizeof bytes] = '\0';
}

void sl_sha512_free(struct sl_sha512 *digest)
{
    free(digest);
}
