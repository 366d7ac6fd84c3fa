/* sayline soundcheck: devices, levels, echo, and the learner's voice. */
#include "cli/interrupt.h"
#include "cli/shared.h"
#include "cli/soundcheck_list.h"
#include "files/models.h"
#include "files/sound_choice.h"
#include "files/sound_json.h"
#include "practice/cue_voice.h"
#include "practice/soundcheck.h"
#include "report/sound_table.h"
#include "sound/device.h"
#include "sound/endpoint_file.h"

#include <stdlib.h>
#include <string.h>

enum {
    CHECK_LIST,
    CHECK_INPUT,
    CHECK_OUTPUT,
    CHECK_MIC,
    CHECK_FORGET,
    CHECK_JSON,
    CHECK_COLOUR,
    CHECK_OPTIONS
};

#define DEFAULT_WORD "default"

static const struct sl_option options[CHECK_OPTIONS] = {
    [CHECK_LIST] = {"list", 'l', NULL, "Only list the microphones and speakers."},
    [CHECK_INPUT] = {"input", 'i', "DEVICE",
                     "The microphone, by number or a part of its name; " DEFAULT_WORD
                     " for the system's. If not given, the remembered one."},
    [CHECK_OUTPUT] = {"output", 'o', "DEVICE", "The speaker, likewise."},
    [CHECK_MIC] = {"mic", 'm', "FILE",
                   "A recording in place of the microphone, in real time: two seconds of silence, "
                   "then a voice. Nothing is played, and nothing remembered."},
    [CHECK_FORGET] = {"forget", 0, NULL, "Only forget the devices and the voice."},
    [CHECK_JSON] = {"json", 0, NULL, "One JSON object on one line (docs/formats.md)."},
    [CHECK_COLOUR] = SL_OPTION_COLOUR,
};

/* A check on its way. */
struct soundcheck {
    const struct sl_call *call;
    struct sl_style style;
    char *path; /* of the remembered choice */
    struct sl_sound_choice choice;
    struct sl_routine routine;
    struct sl_listener *listener;
    struct sl_clip cue;
    struct sl_endpoint endpoint;
    char *input, *output; /* whole names of the devices that were opened */
    struct sl_soundcheck_result result;
    struct sl_interrupt interrupt;
    bool kept;
    bool broken; /* the results could not be written */
};

static bool has(const struct soundcheck *check, size_t option)
{
    return check->call->values[option] != NULL;
}

static void say(struct soundcheck *check, const char *text)
{
    if (!has(check, CHECK_JSON)) {
        struct sl_str out = {0};
        sl_str_addf(&out, "%s\n", text);
        check->broken = !sl_print(&out) || check->broken;
        sl_str_clear(&out);
    }
}

static void show_step(void *user, enum sl_soundcheck_step step)
{
    static const char *const texts[SL_SOUNDCHECK_STEPS] = {
        "Please be quiet for a moment ...",
        "Listening to the speaker; please stay quiet ...",
        "Now say two sentences as you would in the car, such as:\n"
        "  " SL_SOUNDCHECK_SENTENCES,
    };
    say(user, texts[step]);
}

static bool stop(void *user)
{
    struct soundcheck *check = user;
    return sl_interrupt_caught(&check->interrupt) != 0;
}

static enum sl_status make_listener(struct soundcheck *check, struct sl_error *error)
{
    char *pronunciations = NULL;
    enum sl_status status = sl_load_routine(SL_DEFAULT_ROUTINE, &check->routine, error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &pronunciations, error);
    }
    if (status == SL_OK) {
        struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
        struct sl_listener_setup setup = {.paths = &paths};
        status = sl_listener_new(&check->routine, &setup, &check->listener, error);
    }
    free(pronunciations);
    return status;
}

static enum sl_status make_cue(struct soundcheck *check, struct sl_error *error)
{
    struct sl_cue_voice *voice = NULL;
    const struct sl_clip *clip = NULL;
    enum sl_status status = sl_cue_voice_open(&(struct sl_cue_voice_choice){0}, &voice, error);
    if (status == SL_OK) {
        status = sl_cue_voice_clip(voice, SL_SOUNDCHECK_CUE, &clip, error);
    }
    if (status == SL_OK) {
        status = sl_clip_copy(clip->samples, clip->n, &check->cue, error);
    }
    sl_cue_voice_close(voice);
    return status;
}

/* The option's device, or the remembered one; NULL is the system's. */
static const char *wanted(const struct soundcheck *check, size_t option, const char *remembered)
{
    const char *given = check->call->values[option];
    if (given == NULL) {
        return remembered;
    }
    return strcmp(given, DEFAULT_WORD) == 0 ? NULL : given;
}

static enum sl_status open_devices(struct soundcheck *check, struct sl_error *error)
{
    struct sl_device_choice choice = {.input = wanted(check, CHECK_INPUT, check->choice.input),
                                      .output = wanted(check, CHECK_OUTPUT, check->choice.output)};
    enum sl_status status = sl_device_open(&choice, &check->endpoint, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_device_report report = sl_device_describe(&check->endpoint);
    check->input = sl_strdup(report.input);
    check->output = sl_strdup(report.output);
    return check->input == NULL || check->output == NULL ? sl_fail_memory(error) : SL_OK;
}

static enum sl_status measure(struct soundcheck *check, struct sl_error *error)
{
    struct sl_soundcheck plan = {.endpoint = &check->endpoint,
                                 .listener = check->listener,
                                 .cue = has(check, CHECK_MIC) ? NULL : &check->cue,
                                 .step = show_step,
                                 .stop = stop,
                                 .user = check};
    return sl_soundcheck_run(&plan, &check->result, error);
}

/* Puts a copy of `text` into *kept; NULL stays NULL. */
static bool keep_text(char **kept, const char *text)
{
    char *copy = sl_strdup(text);
    free(*kept);
    *kept = copy;
    return copy != NULL || text == NULL;
}

/* A device that the user named is remembered by its whole name, as numbers change. */
static bool keep_device(const struct soundcheck *check, size_t option, const char *name,
                        char **kept)
{
    const char *given = check->call->values[option];
    bool named = given != NULL && strcmp(given, DEFAULT_WORD) != 0;
    return given == NULL || keep_text(kept, named ? name : NULL);
}

static enum sl_status keep(struct soundcheck *check, struct sl_error *error)
{
    struct sl_sound_choice *choice = &check->choice;
    const struct sl_sound_figures *figures = &check->result.figures;
    bool fine = keep_device(check, CHECK_INPUT, check->input, &choice->input) &&
                keep_device(check, CHECK_OUTPUT, check->output, &choice->output);
    if (check->result.voice.known) {
        choice->voice = check->result.voice;
        fine = fine && keep_text(&choice->voice_input, check->input);
    }
    if (!fine) {
        return sl_fail_memory(error);
    }
    bool voice = (figures->levels.notices & SL_NOTICE_SILENT) == 0;
    choice->noise_db = (struct sl_measured){!figures->empty, figures->noise_db};
    choice->speech_db = (struct sl_measured){voice, figures->levels.speech_db};
    choice->leak_db = (struct sl_measured){figures->echo_heard, figures->leak_db};
    choice->round_trip_s = (struct sl_measured){figures->echo_heard, figures->round_trip_s};
    enum sl_status status = sl_sound_choice_save(check->path, choice, error);
    check->kept = status == SL_OK;
    return status;
}

static void add_kept(struct sl_str *out, const struct soundcheck *check)
{
    if (check->kept) {
        sl_str_addf(out, "\nKept for next time in %s%s.\n", check->path,
                    check->result.voice.known ? "" : ", but for the voice");
    }
}

static enum sl_status report(struct soundcheck *check, struct sl_error *error)
{
    struct sl_str out = {0};
    const struct sl_soundcheck_result *result = &check->result;
    enum sl_status status = SL_OK;
    if (has(check, CHECK_JSON)) {
        char *line = NULL;
        struct sl_sound_view view = {.input = check->input,
                                     .output = check->output,
                                     .mic = check->call->values[CHECK_MIC],
                                     .figures = &result->figures,
                                     .findings = result->findings,
                                     .heard = &result->heard,
                                     .voice_kept = check->kept && result->voice.known,
                                     .kept_in = check->kept ? check->path : NULL};
        status = sl_sound_to_json(&view, &line, error);
        sl_str_addf(&out, "%s\n", line == NULL ? "" : line);
        free(line);
    } else {
        sl_str_add(&out, "\n");
        if (check->input != NULL) {
            sl_str_addf(&out, "microphone %s\nspeaker    %s\n", check->input, check->output);
        }
        sl_report_sound(&out, &result->figures, result->findings, &result->heard, &check->style);
        add_kept(&out, check);
    }
    check->broken = status == SL_OK && (!sl_print(&out) || check->broken);
    sl_str_clear(&out);
    return status;
}

static enum sl_status prepare(struct soundcheck *check, struct sl_error *error)
{
    const char *mic = check->call->values[CHECK_MIC];
    enum sl_status status = make_listener(check, error);
    if (status == SL_OK && mic == NULL) {
        status = make_cue(check, error);
    }
    if (status == SL_OK) {
        status = mic == NULL ? open_devices(check, error)
                             : sl_endpoint_file_open(mic, &check->endpoint, error);
    }
    return status;
}

static enum sl_exit exit_of(const struct soundcheck *check, enum sl_status status, bool opened)
{
    bool device = !has(check, CHECK_MIC) && (status == SL_DEVICE || status == SL_UNSUPPORTED);
    if (device) {
        return opened ? SL_EXIT_DEVICE_LOST : SL_EXIT_NO_DEVICE;
    }
    bool no_voice = (check->result.findings & (SL_SOUND_EMPTY | SL_SOUND_SILENT)) != 0;
    return status != SL_OK || check->broken || no_voice ? SL_EXIT_FAILED : SL_EXIT_DONE;
}

/* Measures, remembers, reports. */
static enum sl_exit carry_out(struct soundcheck *check, struct sl_error *error)
{
    enum sl_status status = prepare(check, error);
    if (status == SL_NOT_FOUND || status == SL_INVALID) {
        return SL_EXIT_USAGE; /* of a device or a file that does not exist */
    }
    bool opened = status == SL_OK;
    sl_interrupt_hold(&check->interrupt);
    if (status == SL_OK) {
        status = measure(check, error);
    }
    int caught = sl_interrupt_caught(&check->interrupt);
    sl_endpoint_close(&check->endpoint); /* from here on what is said is heard */
    sl_interrupt_release(&check->interrupt);
    if (status == SL_OK && check->result.stopped) {
        return (enum sl_exit)(SL_EXIT_SIGNAL + caught);
    }
    if (status == SL_OK && !has(check, CHECK_MIC)) {
        status = keep(check, error);
    }
    if (status == SL_OK) {
        status = report(check, error);
    }
    return exit_of(check, status, opened);
}

static enum sl_status check_options(struct soundcheck *check, struct sl_error *error)
{
    if (has(check, CHECK_MIC) && (has(check, CHECK_INPUT) || has(check, CHECK_OUTPUT))) {
        return sl_fail(error, SL_INVALID, "--mic", "leave out --input and --output",
                       "a recording in place of the microphone uses no device");
    }
    return sl_style_choose(check->call->values[CHECK_COLOUR], &check->style, error);
}

/* A recording needs no file of ours; else what is there must be readable before all else. */
static enum sl_status remember(struct soundcheck *check, struct sl_error *error)
{
    if (has(check, CHECK_MIC)) {
        return SL_OK;
    }
    enum sl_status status = sl_sound_choice_path(&check->path, error);
    return status == SL_OK ? sl_sound_choice_load(check->path, &check->choice, error) : status;
}

static void release(struct soundcheck *check)
{
    sl_endpoint_close(&check->endpoint);
    sl_soundcheck_clear(&check->result);
    sl_clip_clear(&check->cue);
    sl_listener_free(check->listener);
    sl_routine_clear(&check->routine);
    sl_sound_choice_clear(&check->choice);
    free(check->input);
    free(check->output);
    free(check->path);
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct soundcheck check = {.call = call};
    enum sl_exit code = SL_EXIT_USAGE;
    if (check_options(&check, &error) == SL_OK) {
        code = SL_EXIT_FAILED;
        enum sl_status status = remember(&check, &error);
        if (status == SL_OK && has(&check, CHECK_LIST)) {
            struct sl_str out = {0};
            status = sl_soundcheck_list(&check.choice, has(&check, CHECK_JSON), &out, &error);
            check.broken = status == SL_OK && !sl_print(&out);
            sl_str_clear(&out);
            code = exit_of(&check, status, false);
        } else if (status == SL_OK && has(&check, CHECK_FORGET)) {
            sl_sound_choice_clear(&check.choice);
            status = sl_sound_choice_save(check.path, &check.choice, &error);
            code = exit_of(&check, status, false);
        } else if (status == SL_OK) {
            code = carry_out(&check, &error);
        }
    }
    sl_endpoint_close(&check.endpoint);
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    release(&check);
    return code;
}

const struct sl_command sl_command_soundcheck = {
    .name = "soundcheck",
    .summary = "check microphone, speaker and voice before the first run",
    .usage = "[OPTION...]",
    .purpose =
        "Measures the room's noise, plays a cue and listens to how much of it comes back and when, "
        "then asks for two sentences and measures your voice. Says what to change, and remembers "
        "the devices and how your voice sounds, so that the first words of a run are heard as well "
        "as the others. Do it once, and again with another microphone or in another room.",
    .options = options,
    .n_options = CHECK_OPTIONS,
    .least_operands = 0,
    .most_operands = 0,
    .operand = "argument",
    .example = "sayline soundcheck --mic audio/demo/clean-t-left-open.flac",
    .example_tells = "checks a recorded learner in place of the microphone.",
    .exit_failed = "no voice was heard, a file cannot be used, or the results could not be written",
    .device = true,
    .run = run,
};
