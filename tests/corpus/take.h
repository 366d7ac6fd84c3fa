/*
 * A run as it is recorded: the steps put into words, spoken, placed in time, mixed with the room,
 * and labelled.
 */
#ifndef CORPUS_TAKE_H
#define CORPUS_TAKE_H

#include "labels.h"
#include "microphone.h"
#include "room.h"
#include "steps.h"
#include "voice.h"

struct corpus_manner {
    struct corpus_voice voice;
    struct corpus_speakers speakers; /* where the voice comes from, and those of a babble */
    enum corpus_room room;
    enum corpus_noise noise;
    double snr_db; /* speech to noise, before the microphone */
    enum corpus_microphone microphone;
    bool from_start;          /* the junction is announced as the recording begins */
    double filler_chance;     /* "okay" and the like before a step */
    double off_topic_chance;  /* a sentence about something else, at two places of a run */
    double hesitation_chance; /* "um" before or inside the words of a step */
    double restart_chance;    /* a step is begun, broken off and begun again */
    double outside_share; /* of steps that the phrasebook does not understand as they are said */
    double book_share;    /* of steps that are worded from the phrasebook */
    bool own_words;       /* our own lists only, whether the phrasebook has them or not */
};

/* What is to be recorded; nothing is owned. */
struct corpus_run {
    const struct corpus_scene *scene;
    const struct corpus_steps *steps;
    const struct corpus_manner *manner;
};

/* Initialise with {0}; release with corpus_take_clear. */
struct corpus_take {
    struct corpus_sound sound;
    struct corpus_labels labels; /* `file` is left for the caller */
};

/*
 * SL_INVALID when what came out is not what the steps say: a step that should be in time is not,
 * as the words took too long. The caller draws again.
 */
enum sl_status corpus_take_make(struct corpus_rng *rng, const struct corpus_run *run,
                                struct corpus_take *take, struct sl_error *error);

void corpus_take_clear(struct corpus_take *take);

#endif
