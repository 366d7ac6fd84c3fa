/*
 * The JSON of a sound check and of the list of devices: docs/formats.md, "JSON of a sound check".
 */
#ifndef SL_FILES_SOUND_JSON_H
#define SL_FILES_SOUND_JSON_H

#include "core/heard.h"
#include "core/sound_findings.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* What a check says. Nothing is owned. */
struct sl_sound_view {
    const char *input, *output; /* names of the devices; NULL: none */
    const char *mic;            /* the recording in place of the microphone; NULL: none */
    const struct sl_sound_figures *figures;
    unsigned findings;
    const struct sl_heard_list *heard;
    bool voice_kept;     /* the voice's start values are in the file */
    const char *kept_in; /* the file; NULL: nothing was kept */
};

/* One device of the list. Nothing is owned. */
struct sl_sound_device {
    int number;
    const char *name, *host;
    int in_channels, out_channels;
    bool default_input, default_output; /* the system's */
    bool chosen_input, chosen_output;   /* the remembered ones */
};

/* Each is one line, which the caller frees. */
enum sl_status sl_sound_to_json(const struct sl_sound_view *view, char **line,
                                struct sl_error *error);
enum sl_status sl_sound_devices_to_json(const struct sl_sound_device *devices, size_t n_devices,
                                        char **line, struct sl_error *error);

#endif
