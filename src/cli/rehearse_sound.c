/* What a run hears and plays with: devices as chosen or remembered, or a recording; who listens. */
#include "cli/rehearse_parts.h"
#include "files/path.h"
#include "sound/device.h"
#include "sound/endpoint_file.h"

#include <stdlib.h>

/* Where the plan's time 0 is in the recording in place of the microphone: its run file says so, if
 * it has one; else its beginning. */
static enum sl_status read_from(struct sl_rehearse_run *run, struct sl_error *error)
{
    struct sl_run_file file = {0};
    char *path = sl_run_file_path(run->session->options->mic);
    enum sl_status status = path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK && sl_path_exists(path)) {
        status = sl_run_file_load(path, &file, error);
    }
    run->file_from_s = status == SL_OK && file.from_known ? file.from_s : 0;
    sl_run_file_clear(&file);
    free(path);
    return status;
}

static enum sl_status feed(void *self, const int16_t *samples, size_t n,
                           struct sl_heard_list *heard, struct sl_error *error)
{
    return sl_listener_feed(self, samples, n, heard, error);
}

static enum sl_status finish(void *self, struct sl_heard_list *heard, struct sl_error *error)
{
    return sl_listener_finish(self, heard, error);
}

/* Who listens live, once for a session: made when it is known which microphone it is, as the start
 * values of a voice hold for one microphone only. */
static enum sl_status make_ear(struct sl_rehearse *session, const char *input,
                               struct sl_error *error)
{
    if (session->listener != NULL) {
        return SL_OK;
    }
    struct sl_voice voice = sl_sound_choice_voice(&session->choice, input);
    struct sl_recogniser_paths paths = {.pronunciations = session->pronunciations};
    struct sl_listener_setup setup = {.paths = &paths, .voice = &voice};
    enum sl_status status =
        sl_listener_new(&session->setups[0].routine, &setup, &session->listener, error);
    session->ear = (struct sl_live_ear){feed, finish, session->listener};
    return status;
}

static enum sl_status open_device(struct sl_rehearse_run *run, struct sl_error *error)
{
    struct sl_rehearse *session = run->session;
    const struct sl_rehearse_options *options = session->options;
    struct sl_device_choice choice = {
        .input = options->input != NULL ? options->input : session->choice.input,
        .output = options->output != NULL ? options->output : session->choice.output,
        .latency_s = options->drives ? SL_DEVICE_SOON_S : 0};
    enum sl_status status = sl_device_open(&choice, &run->endpoint, error);
    if (status == SL_OK) {
        status = make_ear(session, sl_device_describe(&run->endpoint).input, error);
    }
    return status;
}

enum sl_status sl_rehearse_open_sound(struct sl_rehearse_run *run, struct sl_error *error)
{
    const char *mic = run->session->options->mic;
    if (mic == NULL) {
        return open_device(run, error);
    }
    enum sl_status status = read_from(run, error);
    if (status == SL_OK) {
        status = sl_endpoint_file_open(mic, &run->endpoint, error);
    }
    return status == SL_OK ? make_ear(run->session, NULL, error) : status;
}
