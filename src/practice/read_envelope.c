#include "practice/read_envelope.h"

#include "sound/sound_reader.h"

#define RATE_HZ 8000 /* enough for a picture */
#define STRETCH (RATE_HZ / 50)
#define BLOCK 4096

enum sl_status sl_read_envelope(const char *path, struct sl_envelope *envelope,
                                struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    int16_t samples[BLOCK];
    size_t n = BLOCK;
    struct sl_envelope read = {.rate_hz = RATE_HZ, .stretch = STRETCH};
    enum sl_status status = sl_sound_open(path, RATE_HZ, &reader, error);
    while (status == SL_OK && n > 0) {
        status = sl_sound_read(reader, samples, BLOCK, &n, error);
        if (status == SL_OK) {
            status = sl_envelope_add(&read, samples, n, error);
        }
    }
    sl_sound_close(reader);
    if (status == SL_OK) {
        sl_envelope_clear(envelope);
        *envelope = read;
    } else {
        sl_envelope_clear(&read);
    }
    return status;
}
