/*
 * The learner's voice as `sayline voice` got to know it: voice.json in the learner's folder.
 * JSON; docs/formats.md, "The learner's voice".
 */
#ifndef SL_FILES_OWN_VOICE_H
#define SL_FILES_OWN_VOICE_H

#include "core/mllr.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_OWN_VOICE_VERSION 1
#define SL_OWN_VOICE_ID_SIZE 17

/* {0}: not known. */
struct sl_own_voice {
    bool known;
    struct sl_mllr mllr;
    uint64_t model;                   /* fingerprint of the acoustic model that it fits */
    double learnt_s;                  /* when, in seconds since 1970 */
    size_t n_read;                    /* phrases */
    double right_before, right_after; /* share of sounds heard right, 0 to 1 */
};

/* voice.json in the learner's folder (files/learner.h). The caller frees. Errors of
 * sl_learner_folder. */
enum sl_status sl_own_voice_path(const char *learner, char **path, struct sl_error *error);

/* Reads the file; one that does not exist is a voice that is not known. SL_FORMAT, SL_UNSUPPORTED
 * for a later version, SL_TOO_LARGE, SL_IO. */
enum sl_status sl_own_voice_load(const char *path, struct sl_own_voice *voice,
                                 struct sl_error *error);

/* Writes the file, whole or not at all, readable for the user alone. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_own_voice_save(const char *path, const struct sl_own_voice *voice,
                                 struct sl_error *error);

/* Removes the file; none is fine. SL_IO. */
enum sl_status sl_own_voice_remove(const char *path, struct sl_error *error);

/* Which state of the voice it is, 16 hexadecimal digits: the same transform has the same. It is
 * the hash (core/hash.h) of the transform's numbers in single precision, little-endian. */
void sl_own_voice_id(const struct sl_own_voice *voice, char id[SL_OWN_VOICE_ID_SIZE]);

/* What came of learning. */
struct sl_own_voice_trial {
    bool helps;
    size_t n_better, n_worse; /* phrases in which more, fewer sounds were heard right */
};

/* One object on one line, without the line end, which the caller frees: what is kept of the voice
 * but its numbers, and the trial unless it is NULL. */
enum sl_status sl_own_voice_to_json(const struct sl_own_voice *voice,
                                    const struct sl_own_voice_trial *trial, char **json,
                                    struct sl_error *error);

#endif
