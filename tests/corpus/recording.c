#include "recording.h"

#include "core/str.h"
#include "sound/sound_writer.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define BLOCK 4096

static enum sl_status write_samples(const struct corpus_sound *sound,
                                    struct sl_sound_writer *writer, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t at = 0; at < sound->n && status == SL_OK; at += BLOCK) {
        int16_t block[BLOCK];
        size_t n = sound->n - at < BLOCK ? sound->n - at : BLOCK;
        for (size_t i = 0; i < n; i++) {
            block[i] = (int16_t)lrintf(sound->samples[at + i] * 32767.0F);
        }
        status = sl_sound_write(writer, block, n, error);
    }
    return status;
}

enum sl_status corpus_recording_sound(const struct corpus_sound *sound, const char *path,
                                      struct sl_error *error)
{
    struct sl_sound_writer *writer = NULL;
    enum sl_status status = sl_sound_create(path, CORPUS_RATE_HZ, &writer, error);
    if (status != SL_OK) {
        return status;
    }
    status = write_samples(sound, writer, error);
    if (status != SL_OK) {
        sl_sound_abandon(writer);
        return status;
    }
    return sl_sound_finish(writer, error);
}

enum sl_status corpus_recording_write(struct corpus_take *take, const char *folder,
                                      const char *name, struct sl_error *error)
{
    char *sound_path = sl_strf("%s/%s.flac", folder, name);
    char *labels_path = sl_strf("%s/%s.labels", folder, name);
    free(take->labels.file);
    take->labels.file = sl_strf("%s.flac", name);
    bool whole = sound_path != NULL && labels_path != NULL && take->labels.file != NULL;
    enum sl_status status =
        whole ? corpus_recording_sound(&take->sound, sound_path, error) : sl_fail_memory(error);
    if (status == SL_OK) {
        status = corpus_labels_write(&take->labels, labels_path, error);
    }
    free(sound_path);
    free(labels_path);
    return status;
}
