/*
 * PocketSphinx behind a small header: a stretch of sound is loaded and searched for the phrases of
 * a grammar.
 */
#ifndef SL_SPEECH_DECODER_H
#define SL_SPEECH_DECODER_H

#include "core/status.h"
#include "speech/grammar.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_FRAME_SAMPLES 160 /* a frame every 10 ms */
#define SL_FRAME_S 0.01

enum sl_segment_kind {
    SL_SEGMENT_SILENCE,
    SL_SEGMENT_PHONE,
    SL_SEGMENT_WORD,
    SL_SEGMENT_GAP /* here the search ended and began anew; takes no frame */
};

/* A stretch of the best path. */
struct sl_segment {
    enum sl_segment_kind kind;
    size_t word;     /* SL_SEGMENT_WORD: an index into the words of the graph */
    size_t arc;      /* SL_SEGMENT_WORD: of the graph; known after sl_spans_gather (phrases.h) */
    size_t codebook; /* SL_SEGMENT_PHONE: of the acoustic model; SL_GRAMMAR_NONE: not known */
    size_t start_frame, n_frames; /* from the first frame of what was loaded */
    double score; /* acoustic log likelihood, nats, against the best sound a frame */
    bool ends;    /* SL_SEGMENT_WORD: the last word of a phrase */
};

/* Initialise with {0}; release with sl_segments_clear. */
struct sl_segments {
    struct sl_segment *items;
    size_t count;
    size_t room;
};

struct sl_decoder_setup {
    const char *acoustic_model; /* NULL: Debian's en-us */
    const struct sl_grammar *grammar;
    const struct sl_recogniser_settings *settings;
};

struct sl_decoder;

/* Everything in `setup` is copied. SL_NOT_FOUND when the model is not there (mend: the package),
 * SL_FORMAT when it is not one. */
enum sl_status sl_decoder_new(const struct sl_decoder_setup *setup, struct sl_decoder **decoder,
                              struct sl_error *error);

/* A stretch of 16 kHz sound. */
struct sl_stretch {
    const int16_t *samples;
    size_t n_samples;
    const bool *speech; /* n_samples / SL_FRAME_SAMPLES + 1 frames; NULL: all is speech */
    const bool *noise; /* likewise; the acoustic model is fitted to the noise of these frames. NULL:
                          to none */
};

/*
 * Computes the features of a stretch of sound. Frames with speech[i] false are not searched: each
 * run of the others is searched by itself, so that no phrase reaches over a pause. The mean of what
 * is searched, all of it together, is taken off. All frames are searched when `speech` is NULL or
 * names less than half a second. With less than
 * SL_NOISE_LEAST_FRAMES of noise, or with another acoustic model than Debian's, the model stays as
 * it is. Forgets what was loaded before.
 */
enum sl_status sl_decoder_load(struct sl_decoder *decoder, const struct sl_stretch *stretch,
                               struct sl_error *error);

/* True when the acoustic model is fitted to the noise of what is loaded. */
bool sl_decoder_fitted(const struct sl_decoder *decoder);

/* Searches what was loaded; replaces *segments, in order of time. No segment when there is less
 * than a frame. */
enum sl_status sl_decoder_run(struct sl_decoder *decoder, struct sl_segments *segments,
                              struct sl_error *error);

/*
 * Searches again each run of frames in which one of `frames` (as many as sl_stretch's) is true, and
 * makes all its frames true; the segments of the others stay. NULL: all frames. For when the
 * acoustic model was fitted to the speaker (decoder_speaker.h) since. *segments as it was on
 * failure.
 */
enum sl_status sl_decoder_run_again(struct sl_decoder *decoder, bool *frames,
                                    struct sl_segments *segments, struct sl_error *error);

/* NULL is fine, for both. */
void sl_decoder_free(struct sl_decoder *decoder);
void sl_segments_clear(struct sl_segments *segments);

#endif
