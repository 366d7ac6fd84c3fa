#include "practice/reading_aloud.h"

#include "practice/cue_recorder.h"
#include "sound/sound_reader.h"

#include <stdlib.h>
#include <string.h>

#define MOST ((size_t)SL_READING_ALOUD_MOST_S * SL_SOUND_RATE_HZ)
#define BLOCK ((size_t)SL_SOUND_RATE_HZ)

static enum sl_status append(struct sl_reading_aloud *aloud, const int16_t *samples, size_t n,
                             struct sl_error *error)
{
    if (aloud->n + n > MOST) {
        return sl_fail(error, SL_TOO_LARGE, NULL, "leave out what is not read aloud",
                       "a reading is at most %.0f s long", SL_READING_ALOUD_MOST_S);
    }
    if (aloud->n + n > aloud->room) {
        size_t room = (aloud->n + n) * 2;
        int16_t *grown = realloc(aloud->samples, room * sizeof(*grown));
        if (grown == NULL) {
            return sl_fail_memory(error);
        }
        aloud->samples = grown;
        aloud->room = room;
    }
    memcpy(aloud->samples + aloud->n, samples, n * sizeof(*samples));
    aloud->n += n;
    return SL_OK;
}

enum sl_status sl_reading_aloud_load(const char *path, struct sl_reading_aloud *aloud,
                                     struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    int16_t *block = malloc(BLOCK * sizeof(*block));
    enum sl_status status = block == NULL ? sl_fail_memory(error)
                                          : sl_sound_open(path, SL_SOUND_RATE_HZ, &reader, error);
    size_t n = 1;
    while (status == SL_OK && n > 0) {
        status = sl_sound_read(reader, block, BLOCK, &n, error);
        if (status == SL_OK && n > 0) {
            status = append(aloud, block, n, error);
        }
    }
    sl_sound_close(reader);
    free(block);
    return status;
}

enum sl_status sl_reading_aloud_hear(struct sl_endpoint *endpoint, const char *phrase,
                                     struct sl_reading_aloud *aloud, bool *spoken,
                                     struct sl_error *error)
{
    struct sl_clip sound = {0};
    enum sl_status status = sl_take_listen(endpoint, phrase, &sound, spoken, error);
    if (status == SL_OK && *spoken) {
        status = append(aloud, sound.samples, sound.n, error);
    }
    sl_clip_clear(&sound);
    return status;
}

void sl_reading_aloud_clear(struct sl_reading_aloud *aloud)
{
    if (aloud != NULL) {
        free(aloud->samples);
        *aloud = (struct sl_reading_aloud){0};
    }
}
