#include "sound/speak.h"

#include <flite/flite.h>
#include <flite/cst_cg.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* The voices' own libraries declare these in no header. */
cst_voice *register_cmu_us_awb(const char *voxdir);
cst_voice *register_cmu_us_kal(const char *voxdir);
cst_voice *register_cmu_us_kal16(const char *voxdir);
cst_voice *register_cmu_us_rms(const char *voxdir);
cst_voice *register_cmu_us_slt(const char *voxdir);

#define STRETCH "duration_stretch"
#define SHIFT "f0_shift"
#define MODEL "cg_db"

/* libflite draws the noise of its vocoder from rand(): with the same start the same words come out
 * the same. */
#define NOISE_START 1u

/*
 * rms predicts its pitch with a model that knows no shift. Its plain model does, but comes out
 * lower: 93 Hz against 103 Hz (median over one sentence).
 */
#define RMS_PLAIN_PITCH (103.0 / 93.0)

struct voice {
    const char *name;
    cst_voice *(*get)(const char *voxdir);
    double plain_pitch; /* 0: the voice's own pitch model takes a shift */
};

static const struct voice voices[] = {
    {"awb", register_cmu_us_awb, 0},     {"kal", register_cmu_us_kal, 0},
    {"kal16", register_cmu_us_kal16, 0}, {"rms", register_cmu_us_rms, RMS_PLAIN_PITCH},
    {"slt", register_cmu_us_slt, 0},
};

#define N_VOICES (sizeof voices / sizeof voices[0])

const char *const *sl_voices(void)
{
    static const char *const names[] = {"awb", "kal16", "rms", "slt", NULL};
    return names;
}

static const struct voice *find_voice(const char *name)
{
    for (size_t i = 0; i < N_VOICES; i++) {
        if (strcmp(voices[i].name, name) == 0) {
            return &voices[i];
        }
    }
    return NULL;
}

static cst_utterance *speak_stretched(const char *text, cst_voice *voice, double stretch)
{
    float own = get_param_float(voice->features, STRETCH, 1.0F);
    feat_set_float(voice->features, STRETCH, own * (float)stretch);
    srand(NOISE_START);
    cst_utterance *said = flite_synth_text(text, voice);
    feat_set_float(voice->features, STRETCH, own);
    return said;
}

static cst_utterance *speak_shifted(const char *text, cst_voice *voice,
                                    const struct sl_manner *manner)
{
    feat_set_float(voice->features, SHIFT, (float)manner->pitch);
    cst_utterance *said = speak_stretched(text, voice, manner->stretch);
    feat_remove(voice->features, SHIFT);
    return said;
}

/* With a copy of the voice's model in which the model of pitch that knows no shift is off. */
static cst_utterance *speak_plain(const char *text, cst_voice *voice,
                                  const struct sl_manner *manner)
{
    const cst_val *own = feat_val(voice->features, MODEL);
    cst_cg_db plain = *val_cg_db(own);
    plain.spamf0 = 0;
    plain.freeable = 0;
    val_inc_refcount(own);
    feat_set(voice->features, MODEL, cg_db_val(&plain));
    cst_utterance *said = speak_shifted(text, voice, manner);
    feat_set(voice->features, MODEL, own);
    val_dec_refcount(own);
    return said;
}

static bool manner_is_sound(const struct sl_manner *manner)
{
    return manner->stretch >= 0.2 && manner->stretch <= 5 && manner->pitch >= 0.2 &&
           manner->pitch <= 5;
}

/* 0 means 1; NULL means the voice as it is. */
static struct sl_manner complete(const struct sl_manner *manner)
{
    struct sl_manner whole = {0};
    if (manner != NULL) {
        whole = *manner;
    }
    whole.stretch = whole.stretch == 0 ? 1 : whole.stretch;
    whole.pitch = whole.pitch == 0 ? 1 : whole.pitch;
    return whole;
}

static cst_utterance *speak_utterance(const struct voice *voice, const char *text,
                                      const struct sl_manner *manner)
{
    cst_voice *flite = voice->get(NULL);
    if (flite == NULL) {
        return NULL;
    }
    if (manner->pitch == 1) {
        return speak_stretched(text, flite, manner->stretch);
    }
    if (voice->plain_pitch > 0) {
        struct sl_manner shifted = *manner;
        shifted.pitch *= voice->plain_pitch;
        return speak_plain(text, flite, &shifted);
    }
    return speak_shifted(text, flite, manner);
}

static size_t to_sample(const cst_item *segment, const cst_wave *wave)
{
    double end = item_feat_float(segment, "end") * (double)wave->sample_rate;
    size_t most = (size_t)wave->num_samples;
    return end <= 0 ? 0 : end < (double)most ? (size_t)end : most;
}

static bool is_pause(const cst_item *segment)
{
    return strcmp(item_name(segment), "pau") == 0;
}

/* From the end of the first pauses to the end of the last phone. */
static void find_speech(cst_utterance *said, const cst_wave *wave, struct sl_spoken *spoken)
{
    cst_relation *segments = utt_relation(said, "Segment");
    const cst_item *segment = segments == NULL ? NULL : relation_head(segments);
    spoken->speech_from = 0;
    spoken->speech_to = (size_t)wave->num_samples;
    for (; segment != NULL && is_pause(segment); segment = item_next(segment)) {
        spoken->speech_from = to_sample(segment, wave);
    }
    for (; segment != NULL; segment = item_next(segment)) {
        if (!is_pause(segment)) {
            spoken->speech_to = to_sample(segment, wave);
        }
    }
}

static enum sl_status take_wave(cst_utterance *said, struct sl_spoken *spoken,
                                struct sl_error *error)
{
    const cst_wave *wave = utt_wave(said);
    size_t n = (size_t)wave->num_samples;
    struct sl_spoken taken = {.n_samples = n, .rate_hz = wave->sample_rate};
    taken.samples = malloc(n * sizeof *taken.samples);
    if (taken.samples == NULL) {
        return sl_fail_memory(error);
    }
    memcpy(taken.samples, wave->samples, n * sizeof *taken.samples);
    find_speech(said, wave, &taken);
    *spoken = taken;
    return SL_OK;
}

static bool has_sound(cst_utterance *said)
{
    const cst_wave *wave = said == NULL ? NULL : utt_wave(said);
    return wave != NULL && wave->num_samples > 0;
}

enum sl_status sl_speak(const char *voice, const char *text, const struct sl_manner *manner,
                        struct sl_spoken *spoken, struct sl_error *error)
{
    const struct voice *found = find_voice(voice);
    if (found == NULL) {
        return sl_fail(error, SL_NOT_FOUND, voice, "use awb, kal16, rms or slt",
                       "there is no voice '%s'", voice);
    }
    struct sl_manner whole = complete(manner);
    if (!manner_is_sound(&whole)) {
        return sl_fail(error, SL_INVALID, voice, "keep stretch and pitch between 0.2 and 5",
                       "a stretch of %g with a pitch of %g cannot be spoken", whole.stretch,
                       whole.pitch);
    }
    flite_init();
    cst_utterance *said = speak_utterance(found, text, &whole);
    enum sl_status status = has_sound(said)
                                ? take_wave(said, spoken, error)
                                : sl_fail(error, SL_UNSUPPORTED, voice, "say it in other words",
                                          "the voice made no sound of '%s'", text);
    if (said != NULL) {
        delete_utterance(said);
    }
    return status;
}
