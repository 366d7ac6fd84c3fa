/* sayline hear: a model commentary at the pace of the junction. */
#include "cli/shared.h"
#include "files/sound_choice.h"
#include "practice/model_run.h"
#include "report/text.h"
#include "sound/device.h"

#include <stdlib.h>

enum {
    HEAR_ROUTINE,
    HEAR_CAR,
    HEAR_APPROACH,
    HEAR_OUT,
    HEAR_VOICE,
    HEAR_CUES,
    HEAR_TONE,
    HEAR_OUTPUT,
    HEAR_OPTIONS
};

static const struct sl_option options[HEAR_OPTIONS] = {
    [HEAR_ROUTINE] = SL_OPTION_ROUTINE,
    [HEAR_CAR] = SL_OPTION_CAR,
    [HEAR_APPROACH] = SL_OPTION_APPROACH,
    [HEAR_OUT] = {"out", 'o', "FILE", "Write a sound file (.flac or .wav) instead of playing."},
    [HEAR_VOICE] = {"voice", 'v', "NAME",
                    "Who speaks: awb (Scottish English), kal16, rms or slt; awb if not given."},
    [HEAR_CUES] = {"cues", 0, "PACK",
                   "The cue pack of the announcement, by name or as a folder; none for the voice."},
    [HEAR_TONE] = {"tone", 0, NULL, "Add the road tone: its pitch follows the planned speed."},
    [HEAR_OUTPUT] =
        {"output", 0, "DEVICE",
         "The speaker, by number, name or a part of its name; else the one that the sound "
         "check remembers."},
};

/* The command that marks the file that was written. */
static void add_mark_command(struct sl_str *out, const struct sl_model_run *run, const char *path,
                             const struct sl_call *call)
{
    static const struct {
        size_t option;
        const char *name;
    } passed_on[] = {
        {HEAR_ROUTINE, "--routine"}, {HEAR_CAR, "--car"}, {HEAR_APPROACH, "--approach"}};
    sl_str_add(out, "sayline mark --junction ");
    sl_add_argument(out, call->operands[0]);
    for (size_t i = 0; i < sizeof passed_on / sizeof *passed_on; i++) {
        const char *value = call->values[passed_on[i].option];
        if (value != NULL) {
            sl_str_addf(out, " %s ", passed_on[i].name);
            sl_add_argument(out, value);
        }
    }
    sl_str_addf(out, " --from %.3f ", sl_model_run_from_s(run));
    sl_add_argument(out, path);
}

static enum sl_status write_file(const struct sl_model_run *run, const char *path,
                                 const struct sl_call *call, struct sl_str *out,
                                 struct sl_error *error)
{
    enum sl_status status = sl_model_run_write(run, path, error);
    if (status == SL_OK) {
        sl_text_clean(out, path);
        sl_str_addf(out, ": %.1f s; mark it with\n  ", sl_model_run_length_s(run));
        add_mark_command(out, run, path, call);
        sl_str_add(out, "\n");
    }
    return status;
}

/* What is said and when, for who cannot or will not listen. */
static void add_phrases(struct sl_str *out, const struct sl_model_run *run)
{
    for (size_t i = 0; i < run->cues.count; i++) {
        const struct sl_cue *cue = &run->cues.items[i];
        sl_str_addf(out, "%6.1f s %6.0f m  ", cue->at_s, cue->distance_m);
        sl_text_clean(out, cue->text);
        sl_str_add(out, "\n");
    }
}

/* The speaker that is named, else the one that the sound check remembers. */
static enum sl_status open_speaker(const char *output, struct sl_endpoint *endpoint,
                                   struct sl_error *error)
{
    struct sl_sound_choice known = {0};
    enum sl_status status = sl_sound_choice_load_usual(&known, error);
    if (status == SL_OK) {
        struct sl_device_choice choice = {.output = output != NULL ? output : known.output,
                                          .speaker_only = true};
        status = sl_device_open(&choice, endpoint, error);
    }
    sl_sound_choice_clear(&known);
    return status;
}

/* *flowed: from here on a device that fails was lost. */
static enum sl_status play(const struct sl_model_run *run, const char *output, struct sl_str *out,
                           bool *flowed, struct sl_error *error)
{
    struct sl_endpoint endpoint = {0};
    enum sl_status status = open_speaker(output, &endpoint, error);
    *flowed = status == SL_OK;
    if (status == SL_OK) {
        (void)sl_print(out); /* to be read while it plays; a failure is told at the end */
        sl_str_clear(out);
        status = sl_model_run_play(run, &endpoint, error);
    }
    sl_endpoint_close(&endpoint);
    return status;
}

static enum sl_status hear(const struct sl_call *call, const struct sl_setup *setup,
                           struct sl_str *out, bool *flowed, struct sl_error *error)
{
    struct sl_cue_voice *voice = NULL;
    struct sl_model_run model = {0};
    struct sl_cue_voice_choice choice = {.pack = call->values[HEAR_CUES],
                                         .voice = call->values[HEAR_VOICE]};
    if (choice.pack == NULL && choice.voice != NULL) {
        choice.pack = "none"; /* one voice for all of it */
    }
    struct sl_cueing cueing = {
        .junction = &setup->junction, .routine = &setup->routine, .plan = &setup->plan};
    enum sl_status status = sl_cue_voice_open(&choice, &voice, error);
    if (status == SL_OK) {
        status = sl_model_run_make(&cueing, voice, call->values[HEAR_TONE] != NULL, &model, error);
    }
    if (status == SL_OK) {
        add_phrases(out, &model);
        status = call->values[HEAR_OUT] != NULL
                     ? write_file(&model, call->values[HEAR_OUT], call, out, error)
                     : play(&model, call->values[HEAR_OUTPUT], out, flowed, error);
    }
    sl_model_run_clear(&model);
    sl_cue_voice_close(voice);
    return status;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_setup setup = {0};
    struct sl_str out = {0};
    bool flowed = false;
    struct sl_setup_names names = {.junction = call->operands[0],
                                   .routine = call->values[HEAR_ROUTINE],
                                   .car = call->values[HEAR_CAR],
                                   .approach = call->values[HEAR_APPROACH]};
    if (sl_setup_load(&setup, &names, &error) == SL_OK) {
        (void)hear(call, &setup, &out, &flowed, &error);
    }
    bool lost = flowed && error.status == SL_DEVICE;
    enum sl_exit code = sl_conclude(&out, &error);
    sl_setup_clear(&setup);
    return lost ? SL_EXIT_DEVICE_LOST : code;
}

const struct sl_command sl_command_hear = {
    .name = "hear",
    .summary = "hear a model commentary at the pace of the junction",
    .usage = "[OPTION...] JUNCTION",
    .purpose =
        "Speaks the announcement of the junction and then what a good commentary says, each phrase "
        "at its due moment, and lists the phrases with their times and distances. Where the "
        "junction leaves the decision to the traffic, the model finds the way clear. JUNCTION is a "
        "name (`sayline list junctions`) or a YAML file. Coaching figures, not limits.",
    .options = options,
    .n_options = HEAR_OPTIONS,
    .least_operands = 1,
    .most_operands = 1,
    .operand = "JUNCTION",
    .example = "sayline hear --out /tmp/model.flac t-left-open",
    .example_tells = "writes the model of an open T-junction, turning left, to a sound file.",
    .exit_failed = "a file cannot be used, no plan exists, or the sound could not be written",
    .device = true,
    .run = run,
};
