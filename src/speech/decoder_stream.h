/*
 * The decoder fed while the sound comes: features a frame, and a search that goes on frame by frame
 * and can be looked at in between.
 */
#ifndef SL_SPEECH_DECODER_STREAM_H
#define SL_SPEECH_DECODER_STREAM_H

#include "core/voice.h"
#include "speech/decoder.h"

/* The features of a frame. */
struct sl_row {
    float cepstra[SL_VOICE_CEPSTRA];
};

#define SL_STREAM_ROWS 32 /* that come out at once, at most */

struct sl_stream;

/* Errors as sl_decoder_new, and SL_UNSUPPORTED for an acoustic model with other features. */
enum sl_status sl_stream_new(const struct sl_decoder_setup *setup, struct sl_stream **stream,
                             struct sl_error *error);

/* NULL is fine. */
void sl_stream_free(struct sl_stream *stream);

/* The mean that the acoustic model was trained with. */
struct sl_voice sl_stream_usual_voice(const struct sl_stream *stream);

/* A new sound begins: forgets the noise of the one before. */
void sl_stream_reset(struct sl_stream *stream);

/*
 * The next SL_FRAME_SAMPLES samples or fewer. Returns how many frames of features came out, mostly
 * one: frame k begins at sample k * SL_FRAME_SAMPLES and comes with the samples of block k + 2, but
 * at the beginning the library holds back the first ten and then gives them at once.
 */
size_t sl_stream_features(struct sl_stream *stream, const int16_t *samples, size_t n_samples,
                          struct sl_row rows[SL_STREAM_ROWS]);

/* Begins a search for phrases. */
enum sl_status sl_stream_begin(struct sl_stream *stream, struct sl_error *error);

/* Searches one frame more, its mean taken off. */
enum sl_status sl_stream_step(struct sl_stream *stream, const struct sl_row *row,
                              struct sl_error *error);

/* The best path so far, up to the last word that is at an end; replaces *segments, frames counted
 * from the beginning of the search. */
enum sl_status sl_stream_look(struct sl_stream *stream, struct sl_segments *segments,
                              struct sl_error *error);

/* Ends the search; sl_stream_look then gives the final path. */
enum sl_status sl_stream_end(struct sl_stream *stream, struct sl_error *error);

#endif
