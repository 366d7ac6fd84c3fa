/*
 * Digests of files.
 */
#ifndef SL_FILES_DIGEST_H
#define SL_FILES_DIGEST_H

#include "core/sha256.h"
#include "core/status.h"

/* What tells a file from another. */
struct sl_digest {
    char sha256[SL_SHA256_HEX]; /* as `sha256sum` prints it */
    uint64_t bytes;
};

/* SL_NOT_FOUND, SL_IO. */
enum sl_status sl_file_digest(const char *path, struct sl_digest *digest, struct sl_error *error);

#endif
