/*
 * Files for the tests of reading sound: made byte by byte, and read as a whole.
 */
#ifndef TESTS_SOUND_SOUND_FILES_H
#define TESTS_SOUND_SOUND_FILES_H

#include "sound/sound_reader.h"

#include <stdio.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define RATE_HZ 16000
#define ROOM ((size_t)4 * RATE_HZ)

/* Reads a file in pieces of `chunk` into `to`, which has room for ROOM samples. */
static inline enum sl_status read_all_to(int16_t *to, const char *path, size_t chunk, size_t *n,
                                         struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(path, RATE_HZ, &reader, error);
    *n = 0;
    size_t got = 1;
    while (status == SL_OK && got > 0) {
        size_t room = ROOM - *n < chunk ? ROOM - *n : chunk;
        status = sl_sound_read(reader, to + *n, room, &got, error);
        *n += got;
    }
    sl_sound_close(reader);
    return status;
}

static inline void write_bytes(const char *path, const void *bytes, size_t n)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n, file), n);
    assert_int_equal(fclose(file), 0);
}

/* A WAV header as Microsoft and IBM published it in 1991 (RIFF, fmt, data), of 16-bit PCM. */
static inline void wav_header(unsigned char header[44], uint32_t rate_hz, uint16_t channels,
                              uint32_t data_bytes)
{
    const struct {
        size_t at, size;
        uint32_t value;
    } fields[] = {{4, 4, data_bytes + 36}, {16, 4, 16},      {20, 2, 1},
                  {22, 2, channels},       {24, 4, rate_hz}, {28, 4, rate_hz * channels * 2},
                  {32, 2, channels * 2U},  {34, 2, 16},      {40, 4, data_bytes}};
    memset(header, 0, 44);
    memcpy(header, "RIFF", 4);
    memcpy(header + 8, "WAVEfmt ", 8);
    memcpy(header + 36, "data", 4);
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        for (size_t byte = 0; byte < fields[i].size; byte++) {
            header[fields[i].at + byte] = (unsigned char)(fields[i].value >> (8 * byte));
        }
    }
}

#endif
