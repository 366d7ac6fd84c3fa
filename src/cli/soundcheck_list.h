/*
 * The list of microphones and speakers, for people or as JSON.
 */
#ifndef SL_CLI_SOUNDCHECK_LIST_H
#define SL_CLI_SOUNDCHECK_LIST_H

#include "core/status.h"
#include "core/str.h"
#include "files/sound_choice.h"

#include <stdbool.h>

/* Adds all devices, the system's own choice and the remembered ones marked. SL_DEVICE when the
 * sound system does not answer. */
enum sl_status sl_soundcheck_list(const struct sl_sound_choice *choice, bool json,
                                  struct sl_str *out, struct sl_error *error);

#endif
