/* sayline rehearse: the options of a session. */
#include "cli/rehearse.h"
#include "files/quantity.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum {
    REHEARSE_PROMPTING,
    REHEARSE_REPEAT,
    REHEARSE_SHUFFLE,
    REHEARSE_SEED,
    REHEARSE_MIC,
    REHEARSE_INPUT,
    REHEARSE_OUTPUT,
    REHEARSE_ROUTINE,
    REHEARSE_CAR,
    REHEARSE_VOICE,
    REHEARSE_CUES,
    REHEARSE_TONE,
    REHEARSE_LEARNER,
    REHEARSE_NO_HISTORY,
    REHEARSE_PLAIN,
    REHEARSE_QUIET,
    REHEARSE_JSON,
    REHEARSE_COLOUR,
    REHEARSE_OPTIONS
};

#define REPEAT_MAX 1000.0

static const struct sl_option options[REHEARSE_OPTIONS] = {
    [REHEARSE_PROMPTING] =
        {"prompting", 'p', "LEVEL",
         "full (a cue before each phase, distance calls), partial (distance calls), none (only the "
         "announcement) or fading (less after clean runs, more after faults); fading if not "
         "given."},
    [REHEARSE_REPEAT] = {"repeat", 'n', "N", "Every junction N times (1 to 1000); 1 if not given."},
    [REHEARSE_SHUFFLE] = {"shuffle", 's', NULL, "Mix the order of the junctions in every round."},
    [REHEARSE_SEED] = {"seed", 0, "N", "The same N mixes the same way (0 to 4294967295)."},
    [REHEARSE_MIC] = SL_OPTION_MIC,
    [REHEARSE_INPUT] = SL_OPTION_INPUT,
    [REHEARSE_OUTPUT] = SL_OPTION_OUTPUT,
    [REHEARSE_ROUTINE] = SL_OPTION_ROUTINE,
    [REHEARSE_CAR] = SL_OPTION_CAR,
    [REHEARSE_VOICE] = SL_OPTION_VOICE,
    [REHEARSE_CUES] = SL_OPTION_CUES,
    [REHEARSE_TONE] = {"tone", 't', NULL, "Add a soft tone whose pitch follows the planned speed."},
    [REHEARSE_LEARNER] = SL_OPTION_LEARNER,
    [REHEARSE_NO_HISTORY] = SL_OPTION_NO_HISTORY,
    [REHEARSE_PLAIN] = SL_OPTION_PLAIN,
    [REHEARSE_QUIET] = {"quiet", 'q', NULL, "Only the faults and the score, after each run."},
    [REHEARSE_JSON] = {"json", 0, NULL,
                       "One JSON object a run, each on one line (docs/formats.md)."},
    [REHEARSE_COLOUR] = SL_OPTION_COLOUR,
};

static enum sl_status read_prompting(const char *word, enum sl_prompting *prompting,
                                     struct sl_error *error)
{
    *prompting = word == NULL ? SL_PROMPTING_COUNT : sl_prompting_from_word(word);
    if (word == NULL || *prompting != SL_PROMPTING_COUNT || strcmp(word, "fading") == 0) {
        return SL_OK;
    }
    return sl_fail(error, SL_INVALID, "--prompting", "say full, partial, none or fading",
                   "\"%s\" is no level", word);
}

static enum sl_status read_options(const struct sl_call *call, struct sl_rehearse_options *read,
                                   struct sl_error *error)
{
    const char *const *values = call->values;
    const struct sl_whole repeats = {"--repeat", 1, REPEAT_MAX};
    double repeat = 1;
    *read = (struct sl_rehearse_options){.junctions = call->operands,
                                         .n_junctions = call->n_operands,
                                         .routine = values[REHEARSE_ROUTINE],
                                         .car = values[REHEARSE_CAR],
                                         .mic = values[REHEARSE_MIC],
                                         .input = values[REHEARSE_INPUT],
                                         .output = values[REHEARSE_OUTPUT],
                                         .voice = values[REHEARSE_VOICE],
                                         .pack = values[REHEARSE_CUES],
                                         .shuffle = values[REHEARSE_SHUFFLE] != NULL,
                                         .plain = values[REHEARSE_PLAIN] != NULL,
                                         .quiet = values[REHEARSE_QUIET] != NULL,
                                         .json = values[REHEARSE_JSON] != NULL,
                                         .learner = sl_learner_of(values[REHEARSE_LEARNER]),
                                         .no_history = values[REHEARSE_NO_HISTORY] != NULL,
                                         .tone = values[REHEARSE_TONE] != NULL};
    enum sl_status status = sl_learner_check(read->learner, error);
    if (status == SL_OK) {
        status = read_prompting(values[REHEARSE_PROMPTING], &read->prompting, error);
    }
    if (status == SL_OK) {
        status = sl_whole_choose(values[REHEARSE_REPEAT], &repeats, &repeat, error);
    }
    if (status == SL_OK) {
        status = sl_seed_choose(values[REHEARSE_SEED], &read->seed, error);
    }
    if (status == SL_OK) {
        status = sl_rehearse_check_mic(read, error);
    }
    if (status == SL_OK) {
        status = sl_style_choose(values[REHEARSE_COLOUR], &read->style, error);
    }
    read->repeat = (size_t)repeat;
    read->style.brief = read->quiet;
    return status;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_rehearse_options read;
    if (read_options(call, &read, &error) != SL_OK) {
        sl_complain(&error);
        sl_error_clear(&error);
        return SL_EXIT_USAGE;
    }
    return sl_rehearse_session(&read);
}

const struct sl_command sl_command_rehearse = {
    .name = "rehearse",
    .summary = "say the routine aloud at the pace of a junction, and be marked",
    .usage = "[OPTION...] JUNCTION...",
    .purpose =
        "Announces the junction, then listens while you say the routine as if you were driving up "
        "to it; cues help as much as --prompting says. Afterwards you are told what to mend first, "
        "and how each phase was. Every run is recorded in ~/.local/share/sayline/recordings; "
        "`sayline mark` on that file gives the same mark again. Ctrl-C ends a run and keeps what "
        "was recorded. Practise parked or at home, never while driving: your instructor and the "
        "Highway Code come first.",
    .options = options,
    .n_options = REHEARSE_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "JUNCTION",
    .example = "sayline rehearse --plain --mic audio/demo/clean-t-left-open.flac t-left-open",
    .example_tells = "shows a run with a recorded learner in place of the microphone.",
    .exit_failed = "a run could not be recorded or marked, a junction, routine or car file cannot "
                   "be used, or the results could not be written",
    .device = true,
    .run = run,
};
