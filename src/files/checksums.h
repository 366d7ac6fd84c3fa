/*
 * The checksums that bags are written with and checked by, of the same bytes at once: those that
 * RFC 8493, section 2.4, wants of every program.
 */
#ifndef SL_FILES_CHECKSUMS_H
#define SL_FILES_CHECKSUMS_H

#include "core/sha256.h"
#include "files/sha512.h"

#include <stdbool.h>

enum sl_checksum { SL_CHECKSUM_SHA512, SL_CHECKSUM_SHA256, SL_CHECKSUM_COUNT };

/* The name in a manifest's name: "sha512"; and how many hexadecimal digits it has. */
const char *sl_checksum_name(enum sl_checksum kind);
size_t sl_checksum_digits(enum sl_checksum kind);

/* Under way. Begin in every case; sl_checksums_clear releases it. */
struct sl_checksums {
    struct sl_sha512 *sha512;
    struct sl_sha256 sha256;
};

/* In small hexadecimal digits, as `sha512sum` and `sha256sum` print them. */
struct sl_checksums_hex {
    char of[SL_CHECKSUM_COUNT][SL_SHA512_HEX];
};

/* False when memory runs out. */
bool sl_checksums_begin(struct sl_checksums *sums);

void sl_checksums_add(struct sl_checksums *sums, const void *bytes, size_t length);

/* What they are of the bytes since the beginning or the last end; begins anew. */
void sl_checksums_end(struct sl_checksums *sums, struct sl_checksums_hex *hex);

void sl_checksums_clear(struct sl_checksums *sums);

#endif
