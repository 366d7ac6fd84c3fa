#include "practice/own_voice.h"

#include "speech/voice_model.h"

#include <stdlib.h>

static enum sl_status check_model(const struct sl_own_voice *voice, const char *path,
                                  struct sl_error *error)
{
    uint64_t model = 0;
    enum sl_status status = sl_voice_model_fingerprint(NULL, &model, error);
    if (status == SL_OK && model != voice->model) {
        status = sl_fail(error, SL_INVALID, path,
                         "read the phrases again with `sayline voice`, or use --own-voice never",
                         "your voice was learnt for another acoustic model than this one");
    }
    return status;
}

enum sl_status sl_own_voice_get(const char *learner, struct sl_own_voice *voice,
                                struct sl_error *error)
{
    struct sl_own_voice loaded = {0};
    char *path = NULL;
    if (sl_own_voice_path(learner, &path, NULL) !=
        SL_OK) { /* no home: nothing can have been kept */
        *voice = loaded;
        return SL_OK;
    }
    enum sl_status status = sl_own_voice_load(path, &loaded, error);
    if (status == SL_OK && loaded.known) {
        status = check_model(&loaded, path, error);
    }
    free(path);
    if (status == SL_OK) {
        *voice = loaded;
    }
    return status;
}

const struct sl_mllr *sl_own_voice_mllr(const struct sl_own_voice *voice)
{
    return voice->known ? &voice->mllr : NULL;
}
