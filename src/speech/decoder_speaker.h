/*
 * Fitting the acoustic model to whoever speaks in the sound that is loaded, by what was heard of it
 * (core/mllr.h): nobody has to read anything beforehand, and what is learnt is forgotten with the
 * sound.
 */
#ifndef SL_SPEECH_DECODER_SPEAKER_H
#define SL_SPEECH_DECODER_SPEAKER_H

#include "speech/decoder.h"

/* Less speech than this, in frames, says too little about a voice. */
#define SL_SPEAKER_LEAST_FRAMES ((size_t)200)

/*
 * `trusted`, as many as `words`, tells which of the words and phones that were heard to learn from.
 * The model as it is in this sound by now is what is fitted. *adapted is false, and the model as it
 * was, when they are less than SL_SPEAKER_LEAST_FRAMES or do not determine a voice, or the model
 * cannot be fitted. SL_NO_MEMORY, SL_UNSUPPORTED, SL_IO.
 */
enum sl_status sl_decoder_adapt(struct sl_decoder *decoder, const struct sl_segments *words,
                                const bool *trusted, bool *adapted, struct sl_error *error);

#endif
