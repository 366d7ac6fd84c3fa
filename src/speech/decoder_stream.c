#include "speech/decoder_stream.h"

#include "speech/decoder_parts.h"

#include <sphinxbase/cmn.h>
#include <sphinxbase/fe.h>

#include <stdlib.h>

struct sl_stream {
    struct sl_decoder *decoder;
    bool searching;
    fe_t *fe; /* features; the decoder's own start anew with every search */
};

static enum sl_status check_features(struct sl_stream *stream, struct sl_error *error)
{
    ps_decoder_t *ps = sl_decoder_library(stream->decoder).ps;
    stream->fe = fe_init_auto_r(ps_get_config(ps));
    if (stream->fe == NULL || fe_get_output_size(stream->fe) != SL_VOICE_CEPSTRA) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                       "the acoustic model wants other features than %d cepstra a frame",
                       SL_VOICE_CEPSTRA);
    }
    return SL_OK;
}

enum sl_status sl_stream_new(const struct sl_decoder_setup *setup, struct sl_stream **stream,
                             struct sl_error *error)
{
    struct sl_stream *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_decoder_new(setup, &made->decoder, error);
    if (status == SL_OK) {
        status = check_features(made, error);
    }
    if (status == SL_OK && !sl_decoder_choose(made->decoder)) {
        status = sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx lost the grammar");
    }
    if (status != SL_OK) {
        sl_stream_free(made);
        return status;
    }
    sl_stream_reset(made);
    *stream = made;
    return SL_OK;
}

void sl_stream_free(struct sl_stream *stream)
{
    if (stream == NULL) {
        return;
    }
    if (stream->searching) { /* else the library loses memory */
        (void)ps_end_utt(sl_decoder_library(stream->decoder).ps);
    }
    if (stream->fe != NULL) {
        fe_free(stream->fe);
    }
    sl_decoder_free(stream->decoder);
    free(stream);
}

struct sl_voice sl_stream_usual_voice(const struct sl_stream *stream)
{
    struct sl_voice voice = {.known = true};
    mfcc_t mean[SL_VOICE_CEPSTRA];
    cmn_live_get(ps_get_feat(sl_decoder_library(stream->decoder).ps)->cmn_struct, mean);
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        voice.mean[i] = (double)mean[i];
    }
    return voice;
}

void sl_stream_reset(struct sl_stream *stream)
{
    fe_start_stream(stream->fe);
    (void)fe_start_utt(stream->fe);
}

size_t sl_stream_features(struct sl_stream *stream, const int16_t *samples, size_t n_samples,
                          struct sl_row rows[SL_STREAM_ROWS])
{
    mfcc_t *to[SL_STREAM_ROWS];
    for (size_t i = 0; i < SL_STREAM_ROWS; i++) {
        to[i] = rows[i].cepstra;
    }
    size_t left = n_samples;
    int32 n_frames = SL_STREAM_ROWS;
    int done = fe_process_frames(stream->fe, &samples, &left, to, &n_frames, NULL);
    return done >= 0 && n_frames > 0 ? (size_t)n_frames : 0;
}

enum sl_status sl_stream_begin(struct sl_stream *stream, struct sl_error *error)
{
    ps_decoder_t *ps = sl_decoder_library(stream->decoder).ps;
    if (ps_start_stream(ps) != 0 || ps_start_utt(ps) != 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not start a search");
    }
    stream->searching = true;
    return SL_OK;
}

enum sl_status sl_stream_step(struct sl_stream *stream, const struct sl_row *row,
                              struct sl_error *error)
{
    struct sl_row copy = *row; /* the library wants to write into it */
    mfcc_t *cepstra = copy.cepstra;
    if (ps_process_cep(sl_decoder_library(stream->decoder).ps, &cepstra, 1, FALSE, FALSE) < 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx broke off the search");
    }
    return SL_OK;
}

enum sl_status sl_stream_look(struct sl_stream *stream, struct sl_segments *segments,
                              struct sl_error *error)
{
    struct sl_decoder_library library = sl_decoder_library(stream->decoder);
    segments->count = 0;
    return sl_segments_take(&library, 0, segments, error);
}

enum sl_status sl_stream_end(struct sl_stream *stream, struct sl_error *error)
{
    stream->searching = false;
    if (ps_end_utt(sl_decoder_library(stream->decoder).ps) != 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not end a search");
    }
    return SL_OK;
}
