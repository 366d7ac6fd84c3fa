/*
 * Getting to know a voice: from a recording of somebody who read known phrases, the transform that
 * fits the acoustic model to that voice, and whether it helps.
 *
 * What was read is found by searching for the phrases; the phones' times come from the same search.
 * Whether the transform helps is measured on phrases that it was not made from: the phrases are
 * split into SL_VOICE_FOLDS parts, each part is heard with the transform of the others, by a search
 * that may take any phone after any other, and the share of frames whose phone comes out right is
 * compared with that of the model as it is.
 */
#ifndef SL_SPEECH_VOICE_LEARN_H
#define SL_SPEECH_VOICE_LEARN_H

#include "core/mllr.h"
#include "core/status.h"
#include "speech/pronunciation.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_VOICE_PHRASES_MOST 40
/* Fewer phrases are too little to learn from. */
#define SL_VOICE_PHRASES_LEAST 9
/* The share of frames heard right must rise by this much, and more phrases must gain than lose. On
 * the tuning voices gains of 0.02 and less made no difference to the phrases of a routine, or a bad
 * one; from 0.06 on errors fell by a third and more (docs/method.md). */
#define SL_VOICE_GAIN_LEAST 0.04

/* What is read; nothing is owned. */
struct sl_voice_task {
    const char *acoustic_model; /* folder; NULL: Debian's en-us */
    const struct sl_pronunciations *pronunciations;
    const char *const *phrases; /* plain words, single spaces between */
    size_t n_phrases;           /* at most SL_VOICE_PHRASES_MOST */
    /* Told the share that is done, 0 to 1. May be NULL. */
    void (*progress)(void *user, double share);
    void *user;
};

struct sl_voice_learnt {
    struct sl_mllr mllr;
    uint64_t fingerprint; /* of the acoustic model */
    bool read[SL_VOICE_PHRASES_MOST];
    size_t n_read;
    double right_before, right_after; /* share of frames whose phone was heard right */
    size_t n_better, n_worse;         /* phrases */
    bool helps;
};

/* Which phrases of the task are in the sound, 16 kHz: `read` is filled, nothing else. */
enum sl_status sl_voice_find(const struct sl_voice_task *task, const int16_t *samples,
                             size_t n_samples, struct sl_voice_learnt *learnt,
                             struct sl_error *error);

/*
 * Learns from the whole recording, 16 kHz. SL_INVALID when fewer than SL_VOICE_PHRASES_LEAST of the
 * phrases are in it, or a word has no pronunciation; SL_NOT_FOUND, SL_FORMAT and SL_UNSUPPORTED of
 * the acoustic model. With SL_OK the transform is to be used only if `helps`.
 */
enum sl_status sl_voice_learn(const struct sl_voice_task *task, const int16_t *samples,
                              size_t n_samples, struct sl_voice_learnt *learnt,
                              struct sl_error *error);

#endif
