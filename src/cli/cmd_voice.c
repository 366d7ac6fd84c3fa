/* sayline voice: a dozen phrases read aloud, and the recogniser knows the learner's voice. */
#include "cli/devices.h"
#include "cli/shared.h"
#include "core/str.h"
#include "files/models.h"
#include "files/own_voice.h"
#include "files/reading.h"
#include "practice/reading_aloud.h"
#include "speech/voice_learn.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { VOICE_MIC, VOICE_INPUT, VOICE_LEARNER, VOICE_JSON, VOICE_OPTIONS };

static const struct sl_option options[VOICE_OPTIONS] = {
    [VOICE_MIC] = {"mic", 'm', "FILE",
                   "A recording of the whole reading in place of the microphone: the phrases of "
                   "models/reading.txt, each with a pause of a second behind it."},
    [VOICE_INPUT] = {"input", 'i', "DEVICE",
                     "The microphone, by number or a part of its name; if not given, the one that "
                     "the sound check remembers."},
    [VOICE_LEARNER] = SL_OPTION_LEARNER,
    [VOICE_JSON] = {"json", 0, NULL, "One JSON object on one line (docs/formats.md)."},
};

/* How often a phrase that was not understood is asked for. */
#define ROUNDS 2

/* A reading on its way. */
struct reading {
    const struct sl_call *call;
    char *path; /* of the kept voice */
    struct sl_reading phrases;
    struct sl_pronunciations pronunciations;
    struct sl_endpoint endpoint;
    struct sl_reading_aloud aloud;
    struct sl_voice_learnt learnt;
    struct sl_own_voice voice;
    bool stopped; /* by the learner */
    bool broken;  /* the results could not be written */
    bool flowed;  /* the devices were opened */
};

static bool has(const struct reading *reading, size_t option)
{
    return reading->call->values[option] != NULL;
}

static void say(struct reading *reading, const char *text)
{
    struct sl_str out = {0};
    sl_str_add(&out, text);
    reading->broken = !sl_print(&out) || reading->broken;
    sl_str_clear(&out);
}

static void show_progress(void *user, double share)
{
    (void)user;
    if (isatty(STDERR_FILENO) == 1) {
        (void)fprintf(stderr, share < 1 ? "\rgetting to know the voice: %3.0f %%" : "\r\033[K",
                      100.0 * share);
    }
}

static struct sl_voice_task task_of(struct reading *reading)
{
    return (struct sl_voice_task){.pronunciations = &reading->pronunciations,
                                  .phrases = (const char *const *)reading->phrases.phrases,
                                  .n_phrases = reading->phrases.n,
                                  .progress = show_progress};
}

/* Enter, or the end of what can be answered. */
static bool wants_on(void)
{
    char *line = NULL;
    size_t room = 0;
    ssize_t length = getline(&line, &room, stdin);
    bool on = length > 0 && line[0] != 'q';
    free(line);
    return on;
}

/* Asks for one phrase until somebody speaks. */
static enum sl_status ask_phrase(struct reading *reading, size_t phrase, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    bool spoken = false;
    while (status == SL_OK && !spoken && !reading->stopped) {
        struct sl_str out = {0};
        sl_str_addf(&out, "\n%zu of %zu: %s\n  Enter, then read it aloud; q stops: ", phrase + 1,
                    reading->phrases.n, reading->phrases.phrases[phrase]);
        reading->broken = !sl_print(&out) || reading->broken;
        sl_str_clear(&out);
        reading->stopped = reading->broken || !wants_on();
        if (!reading->stopped) {
            status = sl_reading_aloud_hear(&reading->endpoint, reading->phrases.phrases[phrase],
                                           &reading->aloud, &spoken, error);
        }
        if (status == SL_OK && !reading->stopped && !spoken) {
            say(reading, "  Nothing was heard. Once more, a little louder or nearer.\n");
        }
    }
    return status;
}

/* Asks for every phrase, and once more for those that were not understood. */
static enum sl_status ask_all(struct reading *reading, struct sl_error *error)
{
    struct sl_voice_task task = task_of(reading);
    struct sl_voice_learnt found = {0};
    enum sl_status status = SL_OK;
    for (int round = 0; round < ROUNDS && status == SL_OK && !reading->stopped; round++) {
        if (round > 0 && found.n_read < reading->phrases.n) {
            say(reading, "\nA few were not understood. These once more:\n");
        }
        for (size_t i = 0; i < reading->phrases.n && status == SL_OK && !reading->stopped; i++) {
            if (!found.read[i]) {
                status = ask_phrase(reading, i, error);
            }
        }
        if (status == SL_OK && !reading->stopped && round + 1 < ROUNDS) {
            status = sl_voice_find(&task, reading->aloud.samples, reading->aloud.n, &found, error);
        }
    }
    return status;
}

static enum sl_status read_aloud(struct reading *reading, struct sl_error *error)
{
    const char *mic = reading->call->values[VOICE_MIC];
    if (mic != NULL) {
        return sl_reading_aloud_load(mic, &reading->aloud, error);
    }
    enum sl_status status =
        sl_devices_open(&(struct sl_device_choice){.input = reading->call->values[VOICE_INPUT]},
                        &reading->endpoint, NULL, error);
    if (status == SL_OK) {
        status = sl_endpoint_start(&reading->endpoint, error);
    }
    reading->flowed = status == SL_OK;
    if (status == SL_OK) {
        say(reading, "Parked or at home: read each phrase aloud, the way you speak in the car, in "
                     "one go.\n");
        status = ask_all(reading, error);
    }
    sl_endpoint_close(&reading->endpoint); /* from here on what is said is heard */
    return status;
}

static enum sl_status prepare(struct reading *reading, struct sl_error *error)
{
    char *dictionary = NULL;
    enum sl_status status = sl_reading_load(&reading->phrases, error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &dictionary, error);
    }
    if (status == SL_OK) {
        status = sl_pronunciations_load(dictionary, &reading->pronunciations, error);
    }
    free(dictionary);
    return status;
}

/* Learns from the reading and keeps what helps. */
static enum sl_status learn(struct reading *reading, struct sl_error *error)
{
    struct sl_voice_task task = task_of(reading);
    struct sl_voice_learnt *learnt = &reading->learnt;
    enum sl_status status =
        sl_voice_learn(&task, reading->aloud.samples, reading->aloud.n, learnt, error);
    if (status != SL_OK) {
        return status;
    }
    reading->voice = (struct sl_own_voice){.known = learnt->helps,
                                           .mllr = learnt->mllr,
                                           .model = learnt->fingerprint,
                                           .learnt_s = (double)time(NULL),
                                           .n_read = learnt->n_read,
                                           .right_before = learnt->right_before,
                                           .right_after = learnt->right_after};
    return learnt->helps ? sl_own_voice_save(reading->path, &reading->voice, error) : SL_OK;
}

/* Adds the voice as JSON; `trial` NULL: it was only looked at. */
static enum sl_status add_json(struct sl_str *out, const struct sl_own_voice *voice,
                               const struct sl_own_voice_trial *trial, struct sl_error *error)
{
    char *line = NULL;
    enum sl_status status = sl_own_voice_to_json(voice, trial, &line, error);
    sl_str_addf(out, "%s\n", line == NULL ? "" : line);
    free(line);
    return status;
}

static void add_text(struct sl_str *out, const struct reading *reading)
{
    const struct sl_voice_learnt *learnt = &reading->learnt;
    double before = 100 * learnt->right_before;
    double after = 100 * learnt->right_after;
    sl_str_addf(out,
                "\n%zu of %zu phrases understood. Of the sounds in phrases that it had not learnt "
                "from, sayline\nhears %.0f in 100 right; before it was %.0f.\n",
                learnt->n_read, reading->phrases.n, after, before);
    if (learnt->helps) {
        sl_str_addf(out,
                    "That helps: from now on your voice is used in rehearse and recall, and in "
                    "marking your\nrehearsals. Kept in %s;\n`sayline voice forget` removes it.\n",
                    reading->path);
    } else {
        sl_str_add(out, "That is too little to count, so nothing was kept: sayline understands you "
                        "as it is.\n");
    }
}

static enum sl_exit exit_of(const struct reading *reading, enum sl_status status)
{
    bool device = !has(reading, VOICE_MIC) && (status == SL_DEVICE || status == SL_UNSUPPORTED);
    if (device) {
        return reading->flowed ? SL_EXIT_DEVICE_LOST : SL_EXIT_NO_DEVICE;
    }
    bool unknown = status == SL_NOT_FOUND && reading->aloud.n == 0; /* a device or a file */
    return unknown                                                  ? SL_EXIT_USAGE
           : status != SL_OK || reading->broken || reading->stopped ? SL_EXIT_FAILED
                                                                    : SL_EXIT_DONE;
}

static void release(struct reading *reading)
{
    sl_endpoint_close(&reading->endpoint);
    sl_reading_aloud_clear(&reading->aloud);
    sl_pronunciations_clear(&reading->pronunciations);
    sl_reading_clear(&reading->phrases);
}

static enum sl_exit read_and_learn(struct reading *reading, struct sl_error *error)
{
    struct sl_str out = {0};
    enum sl_status status = prepare(reading, error);
    if (status == SL_OK) {
        status = read_aloud(reading, error);
    }
    if (status == SL_OK && reading->stopped) {
        say(reading, "\nStopped; nothing was kept.\n");
    } else if (status == SL_OK) {
        status = learn(reading, error);
    }
    if (status == SL_OK && !reading->stopped && has(reading, VOICE_JSON)) {
        const struct sl_own_voice_trial trial = {.helps = reading->learnt.helps,
                                                 .n_better = reading->learnt.n_better,
                                                 .n_worse = reading->learnt.n_worse};
        status = add_json(&out, &reading->voice, &trial, error);
    } else if (status == SL_OK && !reading->stopped) {
        add_text(&out, reading);
    }
    reading->broken = !sl_print(&out) || reading->broken;
    sl_str_clear(&out);
    release(reading);
    return exit_of(reading, status);
}

static enum sl_exit show(struct reading *reading, struct sl_error *error)
{
    struct sl_str out = {0};
    struct sl_own_voice *voice = &reading->voice;
    enum sl_status status = sl_own_voice_load(reading->path, voice, error);
    if (status == SL_OK && has(reading, VOICE_JSON)) {
        status = add_json(&out, voice, NULL, error);
    } else if (status == SL_OK && voice->known) {
        char day[32] = "";
        char id[SL_OWN_VOICE_ID_SIZE];
        time_t when = (time_t)voice->learnt_s;
        struct tm parts;
        if (localtime_r(&when, &parts) != NULL) {
            (void)strftime(day, sizeof(day), "%Y-%m-%d", &parts);
        }
        sl_own_voice_id(voice, id);
        sl_str_addf(&out,
                    "Your voice is known, from %zu phrases read on %s (state %s).\nOf the sounds "
                    "in phrases that it had not learnt from, sayline hears %.0f in 100 right;\n"
                    "without, %.0f. Kept in %s\n",
                    voice->n_read, day, id, 100 * voice->right_after, 100 * voice->right_before,
                    reading->path);
    } else if (status == SL_OK) {
        sl_str_add(&out, "Your voice is not known yet; `sayline voice` gets to know it.\n");
    }
    reading->broken = status == SL_OK && !sl_print(&out);
    sl_str_clear(&out);
    return exit_of(reading, status);
}

static enum sl_exit forget(struct reading *reading, struct sl_error *error)
{
    enum sl_status status = sl_own_voice_remove(reading->path, error);
    if (status == SL_OK && !has(reading, VOICE_JSON)) {
        say(reading, "Your voice is forgotten.\n");
    }
    return exit_of(reading, status);
}

static enum sl_exit run_word(struct reading *reading, struct sl_error *error)
{
    const struct sl_call *call = reading->call;
    const char *word = call->n_operands > 0 ? call->operands[0] : NULL;
    bool sounds = has(reading, VOICE_MIC) || has(reading, VOICE_INPUT);
    if (word != NULL && strcmp(word, "show") != 0 && strcmp(word, "forget") != 0) {
        sl_fail(error, SL_INVALID, word, "write show, forget or nothing",
                "there is nothing of this name to do");
        return SL_EXIT_USAGE;
    }
    if ((word != NULL && sounds) || (has(reading, VOICE_MIC) && has(reading, VOICE_INPUT))) {
        sl_fail(error, SL_INVALID, NULL, "leave one out",
                "--mic, --input, show and forget do not go together");
        return SL_EXIT_USAGE;
    }
    if (word == NULL) {
        return read_and_learn(reading, error);
    }
    return strcmp(word, "show") == 0 ? show(reading, error) : forget(reading, error);
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct reading reading = {.call = call};
    enum sl_exit code = SL_EXIT_FAILED;
    const char *learner = sl_learner_of(call->values[VOICE_LEARNER]);
    if (sl_learner_check(learner, &error) != SL_OK) {
        code = SL_EXIT_USAGE;
    } else if (sl_own_voice_path(learner, &reading.path, &error) == SL_OK) {
        code = run_word(&reading, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    free(reading.path);
    return code;
}

const struct sl_command sl_command_voice = {
    .name = "voice",
    .summary = "let sayline get to know your voice",
    .usage = "[OPTION...] [show|forget]",
    .purpose =
        "Asks you to read a dozen short phrases aloud and fits the recogniser to your voice. "
        "Whether that helps is measured on phrases that it did not learn from, and it is kept only "
        "if it does; then rehearse, recall and the marking of your rehearsals use it. Do it at "
        "home, in quiet, with the microphone that you practise with. show tells what is kept, "
        "forget removes it. Your voice stays on this machine: what is kept are figures, no sound.",
    .options = options,
    .n_options = VOICE_OPTIONS,
    .least_operands = 0,
    .most_operands = 1,
    .operand = "argument",
    .example = "sayline voice show",
    .example_tells = "says whether your voice is known.",
    .exit_failed = "too few phrases were understood, you stopped, a file cannot be used, or the "
                   "results could not be written",
    .device = true,
    .run = run,
};
