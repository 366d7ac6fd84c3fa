/* sayline drive: a recording's words drive a simulated car to the line. */
#include "cli/mark_files.h"
#include "cli/shared.h"
#include "files/drive_json.h"
#include "files/models.h"
#include "report/drive_page.h"
#include "report/drive_text.h"

#include <stdlib.h>
#include <string.h>

enum {
    DRIVE_FROM,
    DRIVE_ANNOUNCED,
    DRIVE_ROUTINE,
    DRIVE_CAR,
    DRIVE_APPROACH,
    DRIVE_SEED,
    DRIVE_HTML,
    DRIVE_LEARNER,
    DRIVE_NO_OWN_VOICE,
    DRIVE_JSON,
    DRIVE_QUIET,
    DRIVE_COLOUR,
    DRIVE_OPTIONS
};

static const struct sl_option options[DRIVE_OPTIONS] = {
    [DRIVE_FROM] = {"from", 'f', "FILE",
                    "The recording whose words drive the car; needed. - is standard input."},
    [DRIVE_ANNOUNCED] = {"announced", 0, "SECONDS",
                         "Where in the recording the junction was announced; 0 if not given, or "
                         "what the rehearsal noted."},
    [DRIVE_ROUTINE] = SL_OPTION_ROUTINE,
    [DRIVE_CAR] = SL_OPTION_CAR,
    [DRIVE_APPROACH] = SL_OPTION_APPROACH,
    [DRIVE_SEED] = {"seed", 0, "N",
                    "Others are there, at random: what they do makes the decision right or wrong, "
                    "or a signal misleading. The same N brings the same others (0 to 4294967295); "
                    "without it nobody comes."},
    [DRIVE_HTML] = {"html", 0, "PAGE",
                    "Write the drive as a page to look at and to print: speed, engine speed and "
                    "distance against the plan. PAGE is replaced."},
    [DRIVE_LEARNER] = SL_OPTION_LEARNER,
    [DRIVE_NO_OWN_VOICE] = SL_OPTION_NO_OWN_VOICE,
    [DRIVE_JSON] = {"json", 0, NULL, "The drive as one JSON object on one line (docs/formats.md)."},
    [DRIVE_QUIET] = {"quiet", 'q', NULL, "Only the end, what came of the words, the one change."},
    [DRIVE_COLOUR] = SL_OPTION_COLOUR,
};

/* What is driven, and where the result goes. */
struct drive_call {
    const struct sl_call *call;
    struct sl_style style;
    struct sl_mark_choice choice;
    bool seeded;
    uint64_t seed;
    const struct sl_mark_files *files; /* of the one recording */
    struct sl_str out;
    struct sl_error *error;
    enum sl_status status;
    bool unusable; /* the recording has nothing to be driven against: wrong use */
};

/* The drive of what was heard, with its outputs. */
static enum sl_status report(struct drive_call *drive_call, const struct sl_driving *driving,
                             const struct sl_situation *others)
{
    const char *const *values = drive_call->call->values;
    const char *file = strcmp(values[DRIVE_FROM], "-") == 0 ? "standard input" : values[DRIVE_FROM];
    struct sl_error *error = drive_call->error;
    struct sl_drive drive = {0};
    struct sl_drive_change change = {0};
    char *text = NULL;
    enum sl_status status = sl_drive_make(driving, &drive, error);
    if (status == SL_OK) {
        status = sl_drive_one_change(driving, &drive, &change, error);
    }
    const struct sl_drive_view view = {file, driving, &drive, &change, others};
    if (status == SL_OK && values[DRIVE_HTML] != NULL) {
        status = sl_drive_page(&view, &text, error);
        status = status == SL_OK ? sl_write_and_free(values[DRIVE_HTML], text, error) : status;
    }
    if (status == SL_OK && values[DRIVE_JSON] != NULL) {
        const struct sl_driven driven = {values[DRIVE_FROM], driving, &drive, &change, others};
        status = sl_drive_to_json(&driven, &text, error);
        if (status == SL_OK) {
            sl_str_addf(&drive_call->out, "%s\n", text);
            free(text);
        }
    } else if (status == SL_OK) {
        sl_report_drive(&drive_call->out, &view, &drive_call->style);
    }
    sl_drive_clear(&drive);
    return status;
}

/* The recording was heard: drives it, with others where they are wanted. */
static bool hand_out(void *user, size_t file, struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct drive_call *drive_call = user;
    const struct sl_batch_file *batch_file = &drive_call->files->files[file];
    if (attempt == NULL) {
        drive_call->unusable = batch_file->task == NULL;
        drive_call->status = sl_fail(drive_call->error, failure->status, failure->where,
                                     failure->mend, "%s", failure->what);
        return false;
    }
    struct sl_task task = *batch_file->task;
    struct sl_junction junction = *task.junction; /* its strings stay the task's */
    struct sl_situation others = {.n_events = 0};
    if (drive_call->seeded) {
        sl_situation_make(&junction, task.routine, task.plan, drive_call->seed, &others);
        sl_situation_apply(&others, &junction);
    }
    task.junction = &junction;
    const struct sl_driving driving = {
        .task = &task, .car = drive_call->files->cars[file], .heard = &attempt->heard};
    drive_call->status = report(drive_call, &driving, drive_call->seeded ? &others : NULL);
    return drive_call->status == SL_OK;
}

static enum sl_status read_options(struct drive_call *drive_call)
{
    const struct sl_call *call = drive_call->call;
    const char *const *values = call->values;
    struct sl_mark_choice *choice = &drive_call->choice;
    const struct sl_whole seeds = {"--seed", 0.0, SL_SEED_MAX};
    double seed = 0.0;
    if (values[DRIVE_FROM] == NULL) {
        return sl_fail(drive_call->error, SL_INVALID, "drive", "give --from FILE",
                       "the words come from a recording");
    }
    choice->words = (struct sl_mark_words){
        .no_junction = "drive needs a junction: no rehearsal noted it beside the file",
        .name_one = "name one, such as t-left-open (`sayline list junctions`)",
        .give_from = "give --announced SECONDS"};
    choice->names =
        (struct sl_setup_names){.junction = call->n_operands > 0 ? call->operands[0] : NULL,
                                .routine = values[DRIVE_ROUTINE],
                                .car = values[DRIVE_CAR],
                                .approach = values[DRIVE_APPROACH]};
    choice->options.timed = true;
    choice->from_given = values[DRIVE_ANNOUNCED] != NULL;
    enum sl_status status = sl_mark_from_choose("--announced", values[DRIVE_ANNOUNCED],
                                                &choice->options.from_s, drive_call->error);
    if (status == SL_OK) {
        status = sl_whole_choose(values[DRIVE_SEED], &seeds, &seed, drive_call->error);
    }
    drive_call->seeded = values[DRIVE_SEED] != NULL;
    drive_call->seed = (uint64_t)seed;
    if (status == SL_OK) {
        status = sl_style_choose(values[DRIVE_COLOUR], &drive_call->style, drive_call->error);
    }
    drive_call->style.brief = values[DRIVE_QUIET] != NULL;
    return status;
}

/* Hears the recording as `sayline mark` does, and drives. */
static enum sl_exit hear_and_drive(struct drive_call *drive_call)
{
    struct sl_mark_files files = {0};
    char *pronunciations = NULL;
    const char *const paths_of[] = {drive_call->call->values[DRIVE_FROM]};
    enum sl_exit code = SL_EXIT_DONE;
    if (sl_mark_files_make(&files, paths_of, 1, &drive_call->choice, drive_call->error) != SL_OK) {
        code = sl_exit_for(drive_call->error);
    } else if (sl_models_path("pronunciations.dict", &pronunciations, drive_call->error) != SL_OK) {
        code = SL_EXIT_FAILED;
    } else {
        const struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
        const struct sl_batch batch = {.paths = &paths,
                                       .files = files.files,
                                       .n_files = files.n_files,
                                       .settled = true,
                                       .jobs = 1,
                                       .done = hand_out,
                                       .user = drive_call};
        if (files.own_voice && drive_call->call->values[DRIVE_JSON] == NULL) {
            sl_tell_own_voice();
        }
        drive_call->files = &files;
        if (sl_mark_batch(&batch, drive_call->error) != SL_OK || drive_call->status != SL_OK) {
            code = drive_call->unusable ? sl_exit_for(drive_call->error) : SL_EXIT_FAILED;
        }
        drive_call->files = NULL;
    }
    free(pronunciations);
    sl_mark_files_clear(&files);
    return code;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_own_voice voice = {0};
    struct drive_call drive_call = {.call = call, .error = &error};
    const char *learner = sl_learner_of(call->values[DRIVE_LEARNER]);
    enum sl_exit code = SL_EXIT_USAGE;
    if (read_options(&drive_call) == SL_OK && sl_learner_check(learner, &error) == SL_OK) {
        code = SL_EXIT_FAILED;
        if (sl_use_own_voice(learner, call->values[DRIVE_NO_OWN_VOICE], &voice, &error) == SL_OK) {
            drive_call.choice.own_voice = &voice;
            code = hear_and_drive(&drive_call);
        }
    }
    enum sl_exit printed = sl_conclude(&drive_call.out, &error);
    return code != SL_EXIT_DONE ? code : printed;
}

const struct sl_command sl_command_drive = {
    .name = "drive",
    .summary = "let the words of a recording drive a simulated car to the line",
    .usage = "--from FILE [OPTION...] [JUNCTION]",
    .purpose =
        "Hears a recording as `sayline mark` does and lets its words drive a simulated car: it "
        "slows when it is told to, changes gear when it is told to, and does nothing of itself, so "
        "that what was forgotten or late has the consequence that it has on the road. Tells where "
        "the car was at the end, at what speed and in which gear, what came of the words and why, "
        "and what one change would have done. JUNCTION is a name (`sayline list junctions`) or a "
        "YAML file; recordings of `sayline rehearse` know theirs. The same words give the same "
        "drive. The car is a model with invented figures, for practice parked or at home: your "
        "instructor and the Highway Code come first.",
    .options = options,
    .n_options = DRIVE_OPTIONS,
    .least_operands = 0,
    .most_operands = 1,
    .operand = "JUNCTION",
    .example = "sayline drive --from audio/demo/late-gear.flac t-left-open",
    .example_tells = "drives a run whose gear came late.",
    .exit_failed = "the recording could not be heard, a junction, routine or car file cannot be "
                   "used, no plan exists, or the drive could not be written",
    .run = run,
};
