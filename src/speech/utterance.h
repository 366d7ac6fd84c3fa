/*
 * One stretch of speech while it is said: searched frame by frame, its phrases given out as they
 * settle.
 */
#ifndef SL_SPEECH_UTTERANCE_H
#define SL_SPEECH_UTTERANCE_H

#include "core/heard.h"
#include "speech/decoder_stream.h"
#include "speech/phrases.h"
#include "speech/recogniser.h"

/* What an utterance is searched with; not owned. */
struct sl_utterance_means {
    struct sl_stream *stream;
    const struct sl_paths *paths;
    const struct sl_recogniser_settings *settings;
};

/* What is known around it at the moment. */
struct sl_utterance_place {
    size_t first_frame;  /* where the utterance begins, in frames of the sound */
    size_t quiet_frames; /* how long nobody has spoken, up to now */
    double snr_db;
};

struct sl_utterance;

/* `means` is copied. SL_NO_MEMORY. */
enum sl_status sl_utterance_new(const struct sl_utterance_means *means,
                                struct sl_utterance **utterance, struct sl_error *error);

/* NULL is fine. */
void sl_utterance_free(struct sl_utterance *utterance);

/* Begins another stretch of speech; forgets the one before. */
enum sl_status sl_utterance_begin(struct sl_utterance *utterance, struct sl_error *error);

/* The next frame, the mean of the voice taken off. */
enum sl_status sl_utterance_add(struct sl_utterance *utterance, const struct sl_row *row,
                                struct sl_error *error);

/* Frames since the beginning. */
size_t sl_utterance_frames(const struct sl_utterance *utterance);

/* Looks at the best path and adds to `heard` the phrases on it that are settled now. */
enum sl_status sl_utterance_settle(struct sl_utterance *utterance,
                                   const struct sl_utterance_place *place,
                                   struct sl_heard_list *heard, struct sl_error *error);

/* Nothing more comes: all phrases are settled. */
enum sl_status sl_utterance_end(struct sl_utterance *utterance,
                                const struct sl_utterance_place *place, struct sl_heard_list *heard,
                                struct sl_error *error);

/* True when no phrase is being said as it seems: it can be ended here without cutting one. */
bool sl_utterance_between(const struct sl_utterance *utterance);

#endif
