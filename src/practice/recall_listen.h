/*
 * Spoken questions and answers over an endpoint: says a question, waits for the answer to begin and
 * to end, has it recognised.
 *
 * The time to answer is counted in captured frames from the end of the question (its last frame as
 * it comes back into the microphone) to the beginning of the first phrase that was understood.
 */
#ifndef SL_PRACTICE_RECALL_LISTEN_H
#define SL_PRACTICE_RECALL_LISTEN_H

#include "core/recall.h"
#include "core/status.h"
#include "practice/cue_voice.h"
#include "sound/endpoint.h"
#include "speech/listener.h"
#include "speech/recogniser.h"

#include <stdbool.h>

/* How long is waited for an answer to begin. */
#define SL_ANSWER_WAIT_S 15.0
/* An answer is over after so much silence: longer than people pause between two settings. */
#define SL_ANSWER_PAUSE_S 1.3
/* And after so much once all that was asked for was understood. */
#define SL_ANSWER_DONE_S 0.5
/* No answer is longer. */
#define SL_ANSWER_MAX_S 30.0

/*
 * Settings of the recogniser for answers to scenes: one word is less sound than a routine's phrase,
 * and the few phrases there are cannot be mixed up with each other, so they are made cheaper
 * against the loop that soaks up other speech. Found on the four built-in voices (docs/method.md).
 */
struct sl_recogniser_settings sl_recall_scene_settings(void);

/* What an ear works with; nothing is owned. */
struct sl_ear_setup {
    struct sl_endpoint *endpoint;  /* started */
    struct sl_cue_voice *voice;    /* NULL: questions are not spoken */
    bool (*wants_end)(void *user); /* asked several times a second; NULL: never */
    void *user;
};

struct sl_ear;

enum sl_status sl_ear_new(const struct sl_ear_setup *setup, struct sl_ear **ear,
                          struct sl_error *error);

/* NULL is fine. */
void sl_ear_free(struct sl_ear *ear);

/* Speaks the text to its end, if there is a voice. Either way the question ends now: what was
 * captured until then belongs to no answer. SL_DEVICE when the device went away. */
enum sl_status sl_ear_say(struct sl_ear *ear, const char *text, struct sl_error *error);

enum sl_hearing_kind {
    SL_HEARD_ANSWER,  /* something was understood, or was unclear */
    SL_HEARD_WORDS,   /* somebody spoke, nothing was understood */
    SL_HEARD_SILENCE, /* nobody spoke */
    SL_HEARD_END      /* wants_end, or the recording in place of a microphone is over */
};

/* Initialise with {0}; release with sl_hearing_clear. */
struct sl_hearing {
    enum sl_hearing_kind kind;
    struct sl_reply reply; /* SL_HEARD_ANSWER only, as after_s and words */
    double after_s;
    char *words; /* what was understood, phrase by phrase; owned */
};

/* Who understands an answer; nothing is owned. Both are made for a phrasebook of
 * sl_recall_book_make. */
struct sl_understanding {
    struct sl_recogniser *recogniser; /* has the last word: it hears the answer as a whole */
    struct sl_listener *listener;     /* hears it as it comes, for its end; NULL: pauses tell */
    unsigned parts;                   /* asked for (core/recall.h) */
};

/*
 * Waits for one answer and has it understood. Once the listener has all parts, clearly, the answer
 * ends after SL_ANSWER_DONE_S of silence. SL_DEVICE when the device went away, and errors of the
 * recogniser and the listener. Replaces what *hearing held.
 */
enum sl_status sl_ear_hear(struct sl_ear *ear, const struct sl_understanding *by,
                           struct sl_hearing *hearing, struct sl_error *error);

void sl_hearing_clear(struct sl_hearing *hearing);

#endif
