#include "files/checksums.h"

static const struct {
    const char *name;
    size_t digits;
} kinds[SL_CHECKSUM_COUNT] = {
    [SL_CHECKSUM_SHA512] = {"sha512", SL_SHA512_HEX - 1},
    [SL_CHECKSUM_SHA256] = {"sha256", SL_SHA256_HEX - 1},
};

const char *sl_checksum_name(enum sl_checksum kind)
{
    return kinds[kind].name;
}

size_t sl_checksum_digits(enum sl_checksum kind)
{
    return kinds[kind].digits;
}

bool sl_checksums_begin(struct sl_checksums *sums)
{
    sums->sha512 = sl_sha512_new();
    sl_sha256_begin(&sums->sha256);
    return sums->sha512 != NULL;
}

void sl_checksums_add(struct sl_checksums *sums, const void *bytes, size_t length)
{
    sl_sha512_add(sums->sha512, bytes, length);
    sl_sha256_add(&sums->sha256, bytes, length);
}

void sl_checksums_end(struct sl_checksums *sums, struct sl_checksums_hex *hex)
{
    sl_sha512_end(sums->sha512, hex->of[SL_CHECKSUM_SHA512]);
    sl_sha256_end(&sums->sha256, hex->of[SL_CHECKSUM_SHA256]);
    sl_sha256_begin(&sums->sha256);
}

void sl_checksums_clear(struct sl_checksums *sums)
{
    sl_sha512_free(sums->sha512);
    sums->sha512 = NULL;
}
