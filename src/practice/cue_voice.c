#include "practice/cue_voice.h"

#include "core/cueing.h"
#include "core/str.h"
#include "files/cue_manifest.h"
#include "sound/speak.h"

#include <stdlib.h>
#include <string.h>

/* A text and its sound, at an address of its own, as the list grows. */
struct spoken_text {
    char *text;
    struct sl_clip clip;
};

struct sl_cue_voice {
    struct sl_cue_manifest pack; /* without entries: no pack */
    char *name;                  /* of the synthetic voice */
    struct spoken_text **made;
    size_t n_made;
    size_t room;
    size_t from_pack, spoken;
};

static enum sl_status check_voice(const char *name, struct sl_error *error)
{
    struct sl_str known = {0};
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++) {
        if (strcmp(*voice, name) == 0) {
            sl_str_clear(&known);
            return SL_OK;
        }
        sl_str_addf(&known, "%s%s", known.length > 0 ? ", " : "choose one of ", *voice);
    }
    enum sl_status status =
        sl_fail(error, SL_NOT_FOUND, name, sl_str_text(&known), "there is no voice of that name");
    sl_str_clear(&known);
    return status;
}

static enum sl_status open_pack(const char *name, struct sl_cue_manifest *pack,
                                struct sl_error *error)
{
    if (name != NULL && strcmp(name, "none") == 0) {
        return SL_OK;
    }
    char *folder = NULL;
    struct sl_error found = {0};
    enum sl_status status = sl_cue_pack_folder(name != NULL ? name : SL_DEFAULT_PACK, &folder,
                                               name != NULL ? error : &found);
    sl_error_clear(&found);
    if (status == SL_NOT_FOUND && name == NULL) {
        return SL_OK;
    }
    if (status == SL_OK) {
        status = sl_load_cue_manifest(folder, pack, error);
    }
    free(folder);
    return status;
}

enum sl_status sl_cue_voice_open(const struct sl_cue_voice_choice *choice,
                                 struct sl_cue_voice **voice, struct sl_error *error)
{
    const char *name = choice->voice != NULL ? choice->voice : SL_DEFAULT_VOICE;
    enum sl_status status = check_voice(name, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_cue_voice *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->name = sl_strdup(name);
    status =
        made->name != NULL ? open_pack(choice->pack, &made->pack, error) : sl_fail_memory(error);
    if (status != SL_OK) {
        sl_cue_voice_close(made);
        return status;
    }
    *voice = made;
    return SL_OK;
}

void sl_cue_voice_close(struct sl_cue_voice *voice)
{
    if (voice == NULL) {
        return;
    }
    for (size_t i = 0; i < voice->n_made; i++) {
        free(voice->made[i]->text);
        sl_clip_clear(&voice->made[i]->clip);
        free(voice->made[i]);
    }
    free(voice->made);
    free(voice->name);
    sl_cue_manifest_clear(&voice->pack);
    free(voice);
}

enum sl_status sl_speak_clip(const char *voice, const char *text, struct sl_clip *clip,
                             struct sl_error *error)
{
    struct sl_spoken spoken = {0};
    enum sl_status status = sl_speak(voice, text, NULL, &spoken, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_clip made = {0};
    struct sl_loudness loudness;
    if (spoken.rate_hz == SL_CLIP_RATE_HZ) {
        status = sl_clip_copy(spoken.samples, spoken.n_samples, &made, error);
    } else {
        status = sl_fail(error, SL_UNSUPPORTED, voice, "choose another voice",
                         "the voice speaks at %d Hz, not %d", spoken.rate_hz, SL_CLIP_RATE_HZ);
    }
    free(spoken.samples);
    if (status == SL_OK) {
        sl_clip_trim(&made);
        status = sl_clip_normalise(&made, &loudness, error);
    }
    if (status != SL_OK) {
        sl_clip_clear(&made);
        return status;
    }
    sl_clip_clear(clip);
    *clip = made;
    return SL_OK;
}

/* One sentence, or a whole text that the pack has. */
static enum sl_status add_sentence(struct sl_cue_voice *voice, const char *sentence,
                                   struct sl_clip *clip, struct sl_error *error)
{
    struct sl_clip part = {0};
    enum sl_status status = SL_OK;
    const struct sl_cue_entry *entry = sl_cue_manifest_find(&voice->pack, sentence);
    if (entry != NULL) {
        char *path = sl_cue_entry_path(&voice->pack, entry);
        status = path != NULL ? sl_clip_load(path, &part, error) : sl_fail_memory(error);
        free(path);
        voice->from_pack += status == SL_OK ? 1 : 0;
    } else {
        status = sl_speak_clip(voice->name, sentence, &part, error);
        voice->spoken += status == SL_OK ? 1 : 0;
    }
    size_t pause = clip->n > 0 ? (size_t)(SL_SENTENCE_PAUSE_S * SL_CLIP_RATE_HZ) : 0;
    if (status == SL_OK) {
        status = sl_clip_append(clip, NULL, pause, error);
    }
    if (status == SL_OK) {
        status = sl_clip_append(clip, part.samples, part.n, error);
    }
    sl_clip_clear(&part);
    return status;
}

static enum sl_status make(struct sl_cue_voice *voice, const char *text, struct sl_clip *clip,
                           struct sl_error *error)
{
    if (sl_cue_manifest_find(&voice->pack, text) != NULL) {
        return add_sentence(voice, text, clip, error);
    }
    enum sl_status status = SL_OK;
    const char *at = text;
    while (*at != '\0' && status == SL_OK) {
        size_t length = sl_sentence_length(at);
        char *sentence = sl_strf("%.*s", (int)length, at);
        status =
            sentence != NULL ? add_sentence(voice, sentence, clip, error) : sl_fail_memory(error);
        free(sentence);
        at += length;
        at += strspn(at, " ");
    }
    return status;
}

static struct spoken_text *find_made(const struct sl_cue_voice *voice, const char *text)
{
    for (size_t i = 0; i < voice->n_made; i++) {
        if (strcmp(voice->made[i]->text, text) == 0) {
            return voice->made[i];
        }
    }
    return NULL;
}

enum sl_status sl_cue_voice_clip(struct sl_cue_voice *voice, const char *text,
                                 const struct sl_clip **clip, struct sl_error *error)
{
    const struct spoken_text *known = find_made(voice, text);
    if (known != NULL) {
        *clip = &known->clip;
        return SL_OK;
    }
    struct spoken_text *made = calloc(1, sizeof *made);
    void *grown = sl_grow(voice->made, voice->n_made, &voice->room, sizeof(struct spoken_text *));
    voice->made = grown != NULL ? grown : voice->made;
    char *copy = sl_strdup(text);
    enum sl_status status = SL_OK;
    if (made == NULL || grown == NULL || copy == NULL) {
        status = sl_fail_memory(error);
    } else {
        status = make(voice, text, &made->clip, error);
    }
    if (status != SL_OK) {
        if (made != NULL) {
            sl_clip_clear(&made->clip);
        }
        free(made);
        free(copy);
        return status;
    }
    made->text = copy;
    voice->made[voice->n_made++] = made;
    *clip = &made->clip;
    return SL_OK;
}

double sl_cue_voice_length_s(void *voice, const char *text)
{
    const struct sl_clip *clip = NULL;
    if (sl_cue_voice_clip(voice, text, &clip, NULL) != SL_OK) {
        return -1;
    }
    return sl_clip_length_s(clip);
}

size_t sl_cue_voice_from_pack(const struct sl_cue_voice *voice)
{
    return voice->from_pack;
}

size_t sl_cue_voice_spoken(const struct sl_cue_voice *voice)
{
    return voice->spoken;
}
