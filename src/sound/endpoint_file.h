/*
 * A recording in place of the microphone, fed in real time on the monotonic clock; what is played
 * is silent. Everything else behaves as a device does.
 */
#ifndef SL_SOUND_ENDPOINT_FILE_H
#define SL_SOUND_ENDPOINT_FILE_H

#include "sound/endpoint.h"

/*
 * Opens the sound file `path` as a microphone. Errors as sl_sound_open. When the file breaks off
 * or cannot be read further, it ends there. The offset is 0 and known.
 */
enum sl_status sl_endpoint_file_open(const char *path, struct sl_endpoint *endpoint,
                                     struct sl_error *error);

/*
 * Lets the file begin at captured frame `frame` (0 unless said), silence before it: at the end of
 * the announcement, for one. Once that frame or the file's first was read it is too late: nothing
 * changes, and the answer is false.
 */
bool sl_endpoint_file_begin_at(struct sl_endpoint *endpoint, uint64_t frame);

/* Length of the file in frames, as the file says; 0 when it does not know. */
uint64_t sl_endpoint_file_length(const struct sl_endpoint *endpoint);

#endif
