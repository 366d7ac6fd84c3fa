#include "files/digest.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum sl_status sl_file_digest(const char *path, struct sl_digest *digest, struct sl_error *error)
{
    unsigned char block[65536];
    struct sl_sha256 sha;
    size_t n = 0;
    FILE *file = fopen(path, "rb");
    bool broken = file == NULL;
    int number = errno;
    sl_sha256_begin(&sha);
    while (!broken && (n = fread(block, 1, sizeof block, file)) > 0) {
        sl_sha256_add(&sha, block, n);
    }
    if (file != NULL) {
        broken = ferror(file) != 0;
        number = errno;
        (void)fclose(file);
    }
    if (broken) {
        return sl_fail(error, number == ENOENT ? SL_NOT_FOUND : SL_IO, path,
                       "name a file that can be read", "the recording cannot be read: %s",
                       strerror(number));
    }
    digest->bytes = sha.bytes;
    sl_sha256_end(&sha, digest->sha256);
    return SL_OK;
}
