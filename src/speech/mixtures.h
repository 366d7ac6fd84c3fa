/*
 * Which Gaussians the senones of an acoustic model are made of (core/senones.h), read from its
 * definition and its file "sendump". Only models as Debian's en-us is: one codebook for each phone,
 * SL_GAUSSIAN_STREAMS streams, a byte a weight.
 */
#ifndef SL_SPEECH_MIXTURES_H
#define SL_SPEECH_MIXTURES_H

#include "core/senones.h"
#include "core/status.h"
#include "speech/acoustic_model.h"

/* Makes the senones of the model in `folder` (NULL: Debian's en-us), the model read from it, one
 * unit of weights and scores being so many nats. To be freed with sl_senones_free. SL_NOT_FOUND,
 * SL_FORMAT for a broken file, SL_UNSUPPORTED for a model of another make. */
enum sl_status sl_mixtures_load(const char *folder, const struct sl_acoustic_model *model,
                                double unit, struct sl_senones **senones, struct sl_error *error);

#endif
