/* sayline recall: questions about settings and views, and what was missed comes back. */
#include "cli/recall_askers.h"
#include "cli/shared.h"
#include "files/models.h"
#include "files/quantity.h"
#include "files/recall_json.h"
#include "files/recall_state.h"
#include "files/sound_choice.h"
#include "files/path.h"
#include "practice/keep.h"
#include "practice/recall_slips.h"
#include "report/recall_text.h"
#include "sound/device.h"
#include "sound/endpoint_file.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define COUNT_DEFAULT 10.0
#define COUNT_MAX 1000.0

enum {
    RECALL_TYPED,
    RECALL_COUNT,
    RECALL_SETTINGS,
    RECALL_SCENES,
    RECALL_ROUTINE,
    RECALL_CAR,
    RECALL_VOICE,
    RECALL_INPUT,
    RECALL_OUTPUT,
    RECALL_MIC,
    RECALL_SEED,
    RECALL_LEARNER,
    RECALL_NO_HISTORY,
    RECALL_JSON,
    RECALL_COLOUR,
    RECALL_OPTIONS
};

static const struct sl_option options[RECALL_OPTIONS] = {
    [RECALL_TYPED] = {"typed", 't', NULL,
                      "Type the answers, a line each, instead of speaking them; Ctrl-D ends."},
    [RECALL_COUNT] = {"count", 'n', "N", "Ask N questions (1 to 1000); 10 if not given."},
    [RECALL_SETTINGS] = {"settings", 0, NULL, "Ask only for the settings of junctions."},
    [RECALL_SCENES] = {"scenes", 0, NULL, "Ask only whether what is described is open or closed."},
    [RECALL_ROUTINE] = SL_OPTION_ROUTINE,
    [RECALL_CAR] = SL_OPTION_CAR,
    [RECALL_VOICE] = {"voice", 'v', "NAME",
                      "Speak the questions and the right answers, too: awb (Scottish English), "
                      "kal16, rms or slt."},
    [RECALL_INPUT] = {"input", 'i', "DEVICE", "The microphone, by number or a part of its name."},
    [RECALL_OUTPUT] = {"output", 'o', "DEVICE", "The speaker, likewise."},
    [RECALL_MIC] = {"mic", 'm', "FILE",
                    "A recording in place of the microphone, played in real time."},
    [RECALL_SEED] = {"seed", 0, "N", "The same number asks the same questions of the same memory."},
    [RECALL_LEARNER] = SL_OPTION_LEARNER,
    [RECALL_NO_HISTORY] = SL_OPTION_NO_HISTORY,
    [RECALL_JSON] = {"json", 0, NULL,
                     "One JSON object an answer and one for the session, each on a line; the "
                     "questions go to standard error (docs/formats.md)."},
    [RECALL_COLOUR] = SL_OPTION_COLOUR,
};

/* All that a session holds. */
struct drill {
    struct sl_recall_stock stock;
    struct sl_recall_options run;
    char *state;
    double *slipped_s; /* by question */
    struct sl_endpoint endpoint;
    struct sl_cue_voice *voice;
    struct sl_voice known_voice; /* the learner's, from the sound check */
    struct sl_ear *ear;
    struct sl_recall_talk talk;
    struct sl_recall_asker asker; /* of the talk */
    const char *learner;
    struct sl_history *history; /* NULL: nothing is kept */
    bool unkept;                /* an answer could not be */
};

static void clear_drill(struct drill *drill)
{
    sl_recall_talk_clear(&drill->talk);
    sl_ear_free(drill->ear);
    sl_cue_voice_close(drill->voice);
    sl_listener_free(drill->talk.listener);
    sl_recogniser_free(drill->talk.recogniser);
    sl_recogniser_free(drill->talk.scene_recogniser);
    sl_endpoint_close(&drill->endpoint);
    sl_recall_stock_clear(&drill->stock);
    sl_history_close(drill->history);
    free(drill->slipped_s);
    free(drill->state);
}

/* Options that do not go together, and figures; all of it is wrong use. */
static enum sl_status read_options(const struct sl_call *call, struct drill *drill,
                                   struct sl_error *error)
{
    const struct sl_whole counts = {"--count", 1.0, COUNT_MAX};
    double count = COUNT_DEFAULT;
    bool sounding = call->values[RECALL_MIC] != NULL || call->values[RECALL_INPUT] != NULL;
    if (call->values[RECALL_SCENES] != NULL && call->n_operands > 0) {
        return sl_fail(error, SL_INVALID, NULL, "leave out --scenes or the junctions",
                       "--scenes asks about no junction");
    }
    if (call->values[RECALL_TYPED] != NULL && sounding) {
        return sl_fail(error, SL_INVALID, NULL, "leave out --typed, or --mic and --input",
                       "typed answers need no microphone");
    }
    enum sl_status status = sl_learner_check(drill->learner, error);
    if (status == SL_OK) {
        status = sl_whole_choose(call->values[RECALL_COUNT], &counts, &count, error);
    }
    if (status == SL_OK) {
        status = sl_seed_choose(call->values[RECALL_SEED], &drill->run.seed, error);
    }
    if (status == SL_OK) {
        status = sl_style_choose(call->values[RECALL_COLOUR], &drill->talk.style, error);
    }
    drill->run.count = (size_t)count;
    drill->talk.typed = call->values[RECALL_TYPED] != NULL;
    drill->talk.json = call->values[RECALL_JSON] != NULL;
    drill->talk.stock = &drill->stock;
    return status;
}

/* Opens the history, and looks up there what was said wrong on the way to a junction. */
static enum sl_status open_history(const struct sl_recall_wish *wish, struct drill *drill,
                                   struct sl_error *error)
{
    char *name = sl_path_whole(wish->routine);
    const struct sl_history_of of = {drill->learner, name, &drill->stock.routine};
    enum sl_status status =
        name == NULL ? sl_fail_memory(error) : sl_keep_open(&drill->history, error);
    if (status == SL_OK) {
        status = sl_recall_slips(drill->history, &of, &drill->stock, &drill->slipped_s, error);
        drill->run.slipped_s = drill->slipped_s;
    }
    free(name);
    return status;
}

static enum sl_status load_stock(const struct sl_call *call, struct drill *drill,
                                 struct sl_error *error)
{
    const char *routine = call->values[RECALL_ROUTINE];
    const char *car = call->values[RECALL_CAR];
    bool only_settings = call->values[RECALL_SETTINGS] != NULL || call->n_operands > 0;
    bool only_scenes = call->values[RECALL_SCENES] != NULL;
    bool both = call->values[RECALL_SETTINGS] != NULL && only_scenes;
    struct sl_recall_wish wish = {.routine = routine == NULL ? SL_DEFAULT_ROUTINE : routine,
                                  .car = car == NULL ? SL_DEFAULT_CAR : car,
                                  .settings = both || !only_scenes,
                                  .scenes = both || !only_settings,
                                  .junctions = call->n_operands > 0 ? call->operands : NULL,
                                  .n_junctions = call->n_operands};
    enum sl_status status = sl_recall_stock_load(&drill->stock, &wish, error);
    if (status == SL_OK) {
        status = sl_recall_state_path(drill->learner, &drill->state, error);
        drill->run.state = drill->state;
    }
    if (status == SL_OK && call->values[RECALL_NO_HISTORY] == NULL) {
        status = open_history(&wish, drill, error);
    }
    return status;
}

/* Who understands spoken answers. The phrasebooks stay the stock's; nothing else of a routine is
 * looked at. */
static enum sl_status open_understanding(struct drill *drill, struct sl_error *error)
{
    struct sl_recall_talk *talk = &drill->talk;
    struct sl_recogniser_settings scene = sl_recall_scene_settings();
    struct sl_routine answers = {.phrasebook = drill->stock.book};
    struct sl_routine views = {.phrasebook = drill->stock.scene_book};
    char *pronunciations = NULL;
    enum sl_status status = sl_models_path("pronunciations.dict", &pronunciations, error);
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths, .voice = &drill->known_voice};
    if (status == SL_OK) {
        status = sl_recogniser_new(&answers, &paths, NULL, &talk->recogniser, error);
    }
    if (status == SL_OK) {
        status = sl_recogniser_new(&views, &paths, &scene, &talk->scene_recogniser, error);
    }
    if (status == SL_OK) {
        status = sl_listener_new(&answers, &setup, &talk->listener, error);
    }
    free(pronunciations);
    return status;
}

/* Devices that are not named are those that the sound check remembers, with how the voice sounds
 * through them, else the system's. */
static enum sl_status open_devices(const struct sl_device_choice *named,
                                   struct sl_endpoint *endpoint, struct sl_voice *voice,
                                   struct sl_error *error)
{
    struct sl_sound_choice known = {0};
    enum sl_status status = sl_sound_choice_load_usual(&known, error);
    if (status == SL_OK) {
        struct sl_device_choice choice = *named;
        choice.input = named->input != NULL ? named->input : known.input;
        choice.output = named->output != NULL ? named->output : known.output;
        status = sl_device_open(&choice, endpoint, error);
    }
    if (status == SL_OK) {
        *voice = sl_sound_choice_voice(&known, sl_device_describe(endpoint).input);
    }
    sl_sound_choice_clear(&known);
    return status;
}

static enum sl_status open_sound(const struct sl_call *call, struct drill *drill,
                                 struct sl_error *error)
{
    const char *mic = call->values[RECALL_MIC];
    const struct sl_device_choice named = {.input = call->values[RECALL_INPUT],
                                           .output = call->values[RECALL_OUTPUT]};
    enum sl_status status = mic == NULL
                                ? open_devices(&named, &drill->endpoint, &drill->known_voice, error)
                                : sl_endpoint_file_open(mic, &drill->endpoint, error);
    if (status == SL_OK && call->values[RECALL_VOICE] != NULL) {
        struct sl_cue_voice_choice voice = {.voice = call->values[RECALL_VOICE]};
        status = sl_cue_voice_open(&voice, &drill->voice, error);
    }
    if (status == SL_OK && !drill->talk.typed) {
        status = open_understanding(drill, error);
    }
    struct sl_ear_setup setup = {
        .endpoint = &drill->endpoint, .voice = drill->voice, .wants_end = sl_recall_terminal_ended};
    if (status == SL_OK) {
        status = sl_ear_new(&setup, &drill->ear, error);
    }
    if (status == SL_OK) {
        status = sl_endpoint_start(&drill->endpoint, error);
    }
    drill->talk.ear = drill->ear;
    return status;
}

static void print_sum(struct drill *drill, const struct sl_recall_sum *sum)
{
    struct sl_str text = {0};
    if (drill->talk.json) {
        char *line = NULL;
        text.failed = sl_recall_sum_to_json(sum, &line, NULL) != SL_OK;
        sl_str_addf(&text, "%s\n", line == NULL ? "" : line);
        free(line);
    } else {
        sl_report_recall_sum(&text, sum, &drill->talk.style);
    }
    drill->talk.broken = !sl_print(&text) || drill->talk.broken;
    sl_str_clear(&text);
}

static enum sl_status ask(void *user, const struct sl_recall_turn *turn,
                          struct sl_recall_answer *answer, struct sl_error *error)
{
    struct drill *drill = user;
    return drill->asker.ask(drill->asker.user, turn, answer, error);
}

/* Keeps the answer, then says what it was worth. */
static bool keep_and_tell(void *user, const struct sl_recall_told *told)
{
    struct drill *drill = user;
    struct sl_error error = {0};
    const struct sl_history_answer answer = {.learner = drill->learner,
                                             .at_s = (int64_t)time(NULL),
                                             .told = told,
                                             .heard = drill->talk.heard.words,
                                             .marked_with = SL_VERSION};
    if (drill->history != NULL && sl_history_add_answer(drill->history, &answer, &error) != SL_OK) {
        sl_complain(&error);
        drill->unkept = true;
    }
    sl_error_clear(&error);
    return drill->asker.told(drill->asker.user, told);
}

static double now_s(void *user)
{
    struct drill *drill = user;
    return drill->asker.now_s(drill->asker.user);
}

/* The session itself; what was answered is summed up in every case. */
static enum sl_status hold_session(struct drill *drill, struct sl_error *error)
{
    struct sl_recall_sum sum = {0};
    drill->asker = sl_recall_asker_of(&drill->talk);
    const struct sl_recall_asker asker = {
        .ask = ask, .told = keep_and_tell, .now_s = now_s, .user = drill};
    enum sl_status status = sl_recall_run(&drill->stock, &drill->run, &asker, &sum, error);
    if (!drill->talk.broken) {
        print_sum(drill, &sum);
    }
    return status;
}

static enum sl_exit work(const struct sl_call *call, struct drill *drill, struct sl_error *error)
{
    if (load_stock(call, drill, error) != SL_OK) {
        return sl_exit_for(error);
    }
    bool sounds = !drill->talk.typed || call->values[RECALL_VOICE] != NULL;
    if (sounds && open_sound(call, drill, error) != SL_OK) {
        return sl_exit_for(error);
    }
    if (hold_session(drill, error) != SL_OK) {
        return error->status == SL_DEVICE ? SL_EXIT_DEVICE_LOST : SL_EXIT_FAILED;
    }
    if (drill->talk.broken || drill->unkept) {
        return SL_EXIT_FAILED;
    }
    return SL_EXIT_DONE;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct drill drill = {.learner = sl_learner_of(call->values[RECALL_LEARNER])};
    enum sl_exit code = SL_EXIT_USAGE;
    if (read_options(call, &drill, &error) == SL_OK) {
        code = work(call, &drill, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    clear_drill(&drill);
    return code;
}

const struct sl_command sl_command_recall = {
    .name = "recall",
    .summary = "ask for settings, and bring back what was missed",
    .usage = "[OPTION...] [JUNCTION...]",
    .purpose =
        "Describes a junction in words and asks for its settings (open or closed, speed, gear, "
        "clutch, mirrors, signal), or describes what a driver sees and asks only whether that is "
        "open or closed. Answer in any order, aloud or with --typed; 'pass' is an answer. You are "
        "told at once what was right and why. What was missed comes back after two to four other "
        "questions, what was known after days: recall.json in ~/.local/share/sayline remembers "
        "(docs/method.md). A setting that was said wrong in a rehearsal or a drive since is due "
        "again. After a wrong speed, gear or clutch you are told what the car would have done "
        "with it. Without JUNCTION, all of `sayline list junctions` and all scenes.",
    .options = options,
    .n_options = RECALL_OPTIONS,
    .least_operands = 0,
    .most_operands = SIZE_MAX,
    .operand = "JUNCTION",
    .example = "sayline recall --typed --count 5 t-left-open t-left-closed t-right-open",
    .example_tells = "asks five times about three junctions; answer with a line such as 'open, "
                     "ten, second gear, clutch up, interior and left mirror, signal left'.",
    .exit_failed = "recall.json or a file cannot be used, or the results could not be written",
    .device = true,
    .run = run,
};
