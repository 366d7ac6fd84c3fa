#include "cli/devices.h"

#include "files/sound_choice.h"

#include <stdlib.h>

enum sl_status sl_devices_open(const struct sl_device_choice *named, struct sl_endpoint *endpoint,
                               struct sl_voice *voice, struct sl_error *error)
{
    struct sl_sound_choice known = {0};
    char *path = NULL;
    enum sl_status status = sl_sound_choice_path(&path, error);
    if (status == SL_OK) {
        status = sl_sound_choice_load(path, &known, error);
    }
    if (status == SL_OK) {
        struct sl_device_choice choice = *named;
        choice.input = named->input != NULL ? named->input : known.input;
        choice.output = named->output != NULL ? named->output : known.output;
        status = sl_device_open(&choice, endpoint, error);
    }
    if (status == SL_OK && voice != NULL) {
        *voice = sl_sound_choice_voice(&known, sl_device_describe(endpoint).input);
    }
    sl_sound_choice_clear(&known);
    free(path);
    return status;
}
