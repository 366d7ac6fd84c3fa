#include "files/sound_json.h"

#include "files/json_out.h"

static json_t *finding_list(unsigned findings)
{
    static const struct {
        unsigned bit;
        const char *word;
    } words[] = {
#define WORD(code, bit, word, text) {bit, word},
        SL_SOUND_FINDING_MAP(WORD)
#undef WORD
    };
    json_t *list = json_array();
    bool fine = list != NULL;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if ((findings & words[i].bit) != 0) {
            fine = sl_json_append(list, json_string(words[i].word)) && fine;
        }
    }
    if (!fine) {
        json_decref(list);
        return NULL;
    }
    return list;
}

static json_t *heard_list(const struct sl_heard_list *heard)
{
    json_t *list = json_array();
    bool fine = list != NULL;
    for (size_t i = 0; i < heard->count; i++) {
        fine = sl_json_append(list, sl_json_text(heard->items[i].text)) && fine;
    }
    if (!fine) {
        json_decref(list);
        return NULL;
    }
    return list;
}

static json_t *figure_or_null(bool known, double value)
{
    return known ? sl_json_number(value) : json_null();
}

static json_t *echo_object(const struct sl_sound_figures *figures)
{
    if (!figures->played) {
        return json_null();
    }
    struct sl_json json = sl_json_object();
    bool heard = figures->echo_heard;
    sl_json_put(&json, "heard", json_boolean(heard));
    sl_json_put(&json, "leak_db", figure_or_null(heard, figures->leak_db));
    sl_json_put(&json, "round_trip_s", figure_or_null(heard, figures->round_trip_s));
    sl_json_put(&json, "stamps_s", figure_or_null(figures->stamps_known, figures->stamps_s));
    sl_json_put(&json, "cancelled", heard ? json_boolean(figures->cancelled) : json_null());
    return sl_json_take(&json);
}

enum sl_status sl_sound_to_json(const struct sl_sound_view *view, char **line,
                                struct sl_error *error)
{
    const struct sl_sound_figures *figures = view->figures;
    bool voice = (figures->levels.notices & SL_NOTICE_SILENT) == 0;
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "input", sl_json_text(view->input));
    sl_json_put(&json, "output", sl_json_text(view->output));
    sl_json_put(&json, "mic", sl_json_text(view->mic));
    sl_json_put(&json, "noise_db", sl_json_number(figures->noise_db));
    sl_json_put(&json, "speech_db", figure_or_null(voice, figures->levels.speech_db));
    sl_json_put(&json, "snr_db", figure_or_null(voice, figures->levels.snr_db));
    sl_json_put(&json, "peak_db", sl_json_number(figures->levels.peak_db));
    sl_json_put(&json, "clipped_share", sl_json_number(figures->levels.clipped_share));
    sl_json_put(&json, "speech_s", sl_json_number(figures->speech_s));
    sl_json_put(&json, "echo", echo_object(figures));
    sl_json_put(&json, "lost_s", sl_json_number(figures->lost_s));
    sl_json_put(&json, "xruns", json_integer(figures->xruns));
    sl_json_put(&json, "heard", heard_list(view->heard));
    sl_json_put(&json, "findings", finding_list(view->findings));
    sl_json_put(&json, "voice_kept", json_boolean(view->voice_kept));
    sl_json_put(&json, "kept_in", sl_json_text(view->kept_in));
    return sl_json_line(&json, line, error);
}

static json_t *device_object(const struct sl_sound_device *device)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "number", json_integer(device->number));
    sl_json_put(&json, "name", sl_json_text(device->name));
    sl_json_put(&json, "host", sl_json_text(device->host));
    sl_json_put(&json, "in_channels", json_integer(device->in_channels));
    sl_json_put(&json, "out_channels", json_integer(device->out_channels));
    sl_json_put(&json, "default_input", json_boolean(device->default_input));
    sl_json_put(&json, "default_output", json_boolean(device->default_output));
    sl_json_put(&json, "chosen_input", json_boolean(device->chosen_input));
    sl_json_put(&json, "chosen_output", json_boolean(device->chosen_output));
    return sl_json_take(&json);
}

enum sl_status sl_sound_devices_to_json(const struct sl_sound_device *devices, size_t n_devices,
                                        char **line, struct sl_error *error)
{
    struct sl_json json = sl_json_object();
    json_t *list = json_array();
    bool fine = list != NULL;
    for (size_t i = 0; i < n_devices; i++) {
        fine = sl_json_append(list, device_object(&devices[i])) && fine;
    }
    json.failed = json.failed || !fine;
    sl_json_put(&json, "devices", list);
    return sl_json_line(&json, line, error);
}
