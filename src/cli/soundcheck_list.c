#include "cli/soundcheck_list.h"

#include "files/sound_json.h"
#include "sound/device.h"
#include "sound/device_choice.h"

#include <stdlib.h>

/* True when this device of the list is the remembered one of that side. */
static bool is_chosen(const struct sl_device_list *list, enum sl_device_side side,
                      const char *wanted, const struct sl_device *device)
{
    const struct sl_device *found = NULL;
    return wanted != NULL && sl_device_find(list, side, wanted, &found, NULL) == SL_OK &&
           found == device;
}

static void add_device(struct sl_str *out, const struct sl_sound_device *device)
{
    sl_str_addf(out, "%3d  %s (%s):", device->number, device->name, device->host);
    if (device->in_channels > 0) {
        sl_str_addf(out, " microphone%s%s", device->default_input ? ", the system's" : "",
                    device->chosen_input ? ", remembered" : "");
    }
    if (device->out_channels > 0) {
        sl_str_addf(out, "%s speaker%s%s", device->in_channels > 0 ? ";" : "",
                    device->default_output ? ", the system's" : "",
                    device->chosen_output ? ", remembered" : "");
    }
    sl_str_add(out, "\n");
}

static enum sl_status list_json(const struct sl_sound_device *devices, size_t n, struct sl_str *out,
                                struct sl_error *error)
{
    char *line = NULL;
    enum sl_status status = sl_sound_devices_to_json(devices, n, &line, error);
    if (status == SL_OK) {
        sl_str_addf(out, "%s\n", line);
    }
    free(line);
    return status;
}

enum sl_status sl_soundcheck_list(const struct sl_sound_choice *choice, bool json,
                                  struct sl_str *out, struct sl_error *error)
{
    struct sl_device_list list = {0};
    enum sl_status status = sl_device_list_get(&list, error);
    struct sl_sound_device *devices = calloc(list.n + 1, sizeof *devices);
    if (status == SL_OK && devices == NULL) {
        status = sl_fail_memory(error);
    }
    for (size_t i = 0; status == SL_OK && i < list.n; i++) {
        const struct sl_device *device = &list.items[i];
        devices[i] =
            (struct sl_sound_device){device->index,
                                     device->name,
                                     device->host,
                                     device->in_channels,
                                     device->out_channels,
                                     device->default_input,
                                     device->default_output,
                                     is_chosen(&list, SL_DEVICE_INPUT, choice->input, device),
                                     is_chosen(&list, SL_DEVICE_OUTPUT, choice->output, device)};
        if (!json) {
            add_device(out, &devices[i]);
        }
    }
    if (status == SL_OK && json) {
        status = list_json(devices, list.n, out, error);
    } else if (status == SL_OK && list.n == 0) {
        sl_str_add(out, "No microphone and no speaker.\n");
    }
    free(devices);
    sl_device_list_clear(&list);
    return status;
}
