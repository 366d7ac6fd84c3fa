#include "sound/device_system.h"

#include "core/str.h"
#include "sound/hush.h"

#ifdef SL_HAVE_ALSA
#include <alsa/asoundlib.h>
#endif

#include <stdlib.h>

#define MEND_NONE "plug in a headset, or practise with --mic FILE"
#define MEND_BUSY "close other programs that use the microphone or speaker, or choose another"
#define MEND_CHOOSE "choose another device"

#ifdef SL_HAVE_ALSA
static void say_nothing(const char *file, int line, const char *function, int number,
                        const char *format, ...)
{
    (void)file;
    (void)line;
    (void)function;
    (void)number;
    (void)format;
}
#endif

enum sl_status sl_device_fail(PaError failure, const char *name, struct sl_error *error)
{
    const PaHostErrorInfo *host = NULL;
    switch (failure) {
    case paDeviceUnavailable:
        return sl_fail(error, SL_DEVICE, name, MEND_BUSY, "the sound device is busy or was lost");
    case paInvalidDevice:
        return sl_fail(error, SL_DEVICE, name, MEND_NONE, "the sound device is not there");
    case paInvalidSampleRate:
        return sl_fail(error, SL_UNSUPPORTED, name, MEND_CHOOSE,
                       "microphone and speaker have no rate in common");
    case paInvalidChannelCount:
        return sl_fail(error, SL_UNSUPPORTED, name, MEND_CHOOSE,
                       "the sound device has neither one channel nor two");
    case paInsufficientMemory:
        return sl_fail_memory(error);
    case paUnanticipatedHostError:
        host = Pa_GetLastHostErrorInfo();
        return sl_fail(error, SL_DEVICE, name, MEND_BUSY, "the sound device does not work: %s",
                       host != NULL && host->errorText != NULL ? host->errorText
                                                               : "no reason given");
    default:
        return sl_fail(error, SL_DEVICE, name, MEND_BUSY, "the sound device does not work: %s",
                       Pa_GetErrorText(failure));
    }
}

/* Where ALSA's configuration is missing or empty PortAudio would end the program by an assertion,
 * so it is not asked. */
static bool sound_system_is_there(void)
{
#ifdef SL_HAVE_ALSA
    snd_lib_error_set_handler(say_nothing);
    snd_config_t *devices = NULL;
    return snd_config_update() >= 0 && snd_config_search(snd_config, "pcm", &devices) == 0;
#else
    return true;
#endif
}

enum sl_status sl_device_system_begin(struct sl_error *error)
{
    if (!sound_system_is_there()) {
        return sl_fail(error, SL_DEVICE, NULL, MEND_NONE, "this computer has no sound system");
    }
    PaError failure = Pa_Initialize();
    return failure == paNoError ? SL_OK : sl_device_fail(failure, NULL, error);
}

static const char *host_name(PaHostApiIndex host)
{
    const PaHostApiInfo *info = Pa_GetHostApiInfo(host);
    return info == NULL ? "" : info->name;
}

static enum sl_status fill_list(struct sl_device_list *list, struct sl_error *error)
{
    PaDeviceIndex n = Pa_GetDeviceCount();
    if (n <= 0) {
        return n == 0 ? SL_OK : sl_device_fail(n, NULL, error);
    }
    list->items = calloc((size_t)n, sizeof *list->items);
    if (list->items == NULL) {
        return sl_fail_memory(error);
    }
    for (PaDeviceIndex i = 0; i < n; i++) {
        const PaDeviceInfo *info = Pa_GetDeviceInfo(i);
        struct sl_device *device = &list->items[list->n++];
        *device = (struct sl_device){
            .index = i,
            .name = sl_strdup(info->name),
            .host = sl_strdup(host_name(info->hostApi)),
            .in_channels = info->maxInputChannels,
            .out_channels = info->maxOutputChannels,
            .rate_hz = info->defaultSampleRate,
            .default_input = i == Pa_GetDefaultInputDevice(),
            .default_output = i == Pa_GetDefaultOutputDevice(),
        };
        if (device->name == NULL || device->host == NULL) {
            return sl_fail_memory(error);
        }
    }
    return SL_OK;
}

enum sl_status sl_device_list_fill(struct sl_device_list *list, struct sl_error *error)
{
    struct sl_device_list found = {0};
    enum sl_status status = fill_list(&found, error);
    if (status != SL_OK) {
        sl_device_list_clear(&found);
        return status;
    }
    sl_device_list_clear(list);
    *list = found;
    return SL_OK;
}

enum sl_status sl_device_list_get(struct sl_device_list *list, struct sl_error *error)
{
    int kept = sl_hush_begin();
    enum sl_status status = sl_device_system_begin(error);
    if (status == SL_OK) {
        status = sl_device_list_fill(list, error);
        (void)Pa_Terminate();
    }
    sl_hush_end(kept);
    return status;
}

void sl_device_list_clear(struct sl_device_list *list)
{
    for (size_t i = 0; i < list->n; i++) {
        free(list->items[i].name);
        free(list->items[i].host);
    }
    free(list->items);
    *list = (struct sl_device_list){0};
}
