/*
 * Listening while somebody speaks: phrases come out moments after they were said, for the screen.
 * The mark is made from the recording as a whole (recogniser.h), which knows what came later too.
 *
 * Sound is searched as it comes, from 0.3 s before somebody speaks to 0.5 s after; in between
 * nothing is searched. A phrase is given out when a pause follows, or once it has stood on the best
 * path for a while though the voice goes on.
 *
 * What was given out is not taken back, but it can be heard out: a phrase that begins before the
 * end of one that was given earlier takes its place (sl_listener_replaces).
 *
 * One listener belongs to one thread at a time.
 */
#ifndef SL_SPEECH_LISTENER_H
#define SL_SPEECH_LISTENER_H

#include "core/voice.h"
#include "speech/recogniser.h"

#include <stdbool.h>

struct sl_listener_setup {
    const struct sl_recogniser_paths *paths;
    const struct sl_recogniser_settings *settings; /* NULL: defaults */
    const struct sl_voice *voice; /* NULL or not known: the acoustic model's own mean, and the first
                                     second of a voice is heard less well */
};

struct sl_listener;

/* Makes a listener for the routine's phrasebook. Errors as sl_recogniser_new, and SL_INVALID for a
 * voice whose figures are none. Nothing of the arguments is kept. */
enum sl_status sl_listener_new(const struct sl_routine *routine,
                               const struct sl_listener_setup *setup, struct sl_listener **listener,
                               struct sl_error *error);

/*
 * Feeds the next samples (16 kHz); any number at a time, with the same phrases, but they can only
 * come out at the end of a call: feed 20 ms at a time. Phrases that are settled now are added to
 * `heard`, in order of their end; times are in seconds from the first sample since
 * sl_listener_new or sl_listener_finish. A phrase is given out once.
 */
enum sl_status sl_listener_feed(struct sl_listener *listener, const int16_t *samples,
                                size_t n_samples, struct sl_heard_list *heard,
                                struct sl_error *error);

/* Ends the sound: what is not settled is now. The listener is ready for another sound, and
 * remembers the voice. */
enum sl_status sl_listener_finish(struct sl_listener *listener, struct sl_heard_list *heard,
                                  struct sl_error *error);

/* True when `later` takes the place of `earlier`, which was given out before it: the same words,
 * heard out or heard better. */
bool sl_listener_replaces(const struct sl_heard *later, const struct sl_heard *earlier);

/* True when `later` takes the place of `earlier` and is the same words with more behind them: the
 * phrase went on. */
bool sl_listener_goes_on(const struct sl_heard *later, const struct sl_heard *earlier);

/* Takes the phrases out of a list that another one took the place of. */
void sl_listener_drop_replaced(struct sl_heard_list *heard);

/* True while somebody speaks, or spoke a moment ago. */
bool sl_listener_speaking(const struct sl_listener *listener);

/*
 * The voice as it was heard so far. *speech_s is how many seconds of it were heard since the
 * listener was made, pauses of up to half a second included; below 3 the start values still weigh
 * more than the voice.
 */
struct sl_voice sl_listener_voice(const struct sl_listener *listener, double *speech_s);

/* NULL is fine. */
void sl_listener_free(struct sl_listener *listener);

#endif
