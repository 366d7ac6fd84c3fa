/*
 * What the acoustic model goes by: a few numbers a frame of sound, the cepstra, in streams.
 */
#ifndef SL_CORE_CEPSTRA_H
#define SL_CORE_CEPSTRA_H

#define SL_VOICE_CEPSTRA 13   /* numbers a frame and stream, c0 first */
#define SL_GAUSSIAN_STREAMS 3 /* the cepstra, their change, the change of that */

#endif
