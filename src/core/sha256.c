/* Names and numbers of sections are those of FIPS 180-4. */
#include "core/sha256.h"

#include <string.h>

/* 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t K[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t rotr(uint32_t x, unsigned n)
{
    return x >> n | x << (32 - n);
}

/* 6.2.2 1: the message schedule of a block. */
static void schedule(const unsigned char *block, uint32_t w[64])
{
    for (size_t t = 0; t < 16; t++) {
        w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
               (uint32_t)block[4 * t + 2] << 8 | (uint32_t)block[4 * t + 3];
    }
    for (size_t t = 16; t < 64; t++) {
        uint32_t s0 = rotr(w[t - 15], 7) ^ rotr(w[t - 15], 18) ^ w[t - 15] >> 3;
        uint32_t s1 = rotr(w[t - 2], 17) ^ rotr(w[t - 2], 19) ^ w[t - 2] >> 10;
        w[t] = s1 + w[t - 7] + s0 + w[t - 16];
    }
}

/* 6.2.2 2 to 4. */
static void take_block(struct sl_sha256 *sha, const unsigned char *block)
{
    uint32_t w[64];
    uint32_t v[8]; /* a to h */
    schedule(block, w);
    memcpy(v, sha->state, sizeof v);
    for (size_t t = 0; t < 64; t++) {
        uint32_t sum1 = rotr(v[4], 6) ^ rotr(v[4], 11) ^ rotr(v[4], 25);
        uint32_t sum0 = rotr(v[0], 2) ^ rotr(v[0], 13) ^ rotr(v[0], 22);
        uint32_t choice = (v[4] & v[5]) ^ (~v[4] & v[6]);
        uint32_t majority = (v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]);
        uint32_t t1 = v[7] + sum1 + choice + K[t] + w[t];
        memmove(v + 1, v, 7 * sizeof *v);
        v[4] += t1;
        v[0] = t1 + sum0 + majority;
    }
    for (size_t i = 0; i < 8; i++) {
        sha->state[i] += v[i];
    }
}

void sl_sha256_begin(struct sl_sha256 *sha)
{
    /* 5.3.3 */
    *sha = (struct sl_sha256){.state = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f,
                                        0x9b05688c, 0x1f83d9ab, 0x5be0cd19}};
}

void sl_sha256_add(struct sl_sha256 *sha, const void *bytes, size_t length)
{
    const unsigned char *from = bytes;
    while (length > 0) {
        size_t held = (size_t)(sha->bytes % sizeof sha->block);
        size_t n = sizeof sha->block - held < length ? sizeof sha->block - held : length;
        memcpy(sha->block + held, from, n);
        sha->bytes += n;
        from += n;
        length -= n;
        if (held + n == sizeof sha->block) {
            take_block(sha, sha->block);
        }
    }
}

void sl_sha256_end(struct sl_sha256 *sha, char hex[SL_SHA256_HEX])
{
    static const char digits[] = "0123456789abcdef";
    const unsigned char one = 0x80;
    const unsigned char zero = 0;
    uint64_t bits = sha->bytes * 8;
    unsigned char length[8];
    for (size_t i = 0; i < sizeof length; i++) {
        length[i] = (unsigned char)(bits >> (56 - 8 * i));
    }
    /* 5.1.1: a one, zeros, and the length at the end of a block. */
    sl_sha256_add(sha, &one, 1);
    while (sha->bytes % sizeof sha->block != sizeof sha->block - sizeof length) {
        sl_sha256_add(sha, &zero, 1);
    }
    sl_sha256_add(sha, length, sizeof length);
    for (size_t i = 0; i < SL_SHA256_HEX - 1; i++) {
        hex[i] = digits[sha->state[i / 8] >> (28 - 4 * (i % 8)) & 15U];
    }
    hex[SL_SHA256_HEX - 1] = '\0';
}
