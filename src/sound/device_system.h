/*
 * The sound system as a whole, through PortAudio: whether it is there, its devices, its errors in
 * our words. For device.c and the list of devices (device.h).
 */
#ifndef SL_SOUND_DEVICE_SYSTEM_H
#define SL_SOUND_DEVICE_SYSTEM_H

#include "core/status.h"
#include "sound/device.h"

#include <portaudio.h>

/* Begins PortAudio; Pa_Terminate ends it. SL_DEVICE when there is no sound system. */
enum sl_status sl_device_system_begin(struct sl_error *error);

/* Lists the devices, with the sound system begun; replaces *list. SL_DEVICE, SL_NO_MEMORY. */
enum sl_status sl_device_list_fill(struct sl_device_list *list, struct sl_error *error);

/* An error of PortAudio about the device `name` (NULL: about none). */
enum sl_status sl_device_fail(PaError failure, const char *name, struct sl_error *error);

#endif
