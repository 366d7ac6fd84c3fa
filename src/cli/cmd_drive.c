/* sayline drive: what is said, now or in a recording, drives a simulated car to the line. */
#include "cli/drive_report.h"
#include "cli/mark_files.h"
#include "cli/rehearse.h"
#include "files/models.h"

#include <stdlib.h>
#include <time.h>

enum {
    DRIVE_FROM,
    DRIVE_ANNOUNCED,
    DRIVE_ROUTINE,
    DRIVE_CAR,
    DRIVE_APPROACH,
    DRIVE_SEED,
    DRIVE_HTML,
    DRIVE_MIC,
    DRIVE_INPUT,
    DRIVE_OUTPUT,
    DRIVE_VOICE,
    DRIVE_CUES,
    DRIVE_LEARNER,
    DRIVE_NO_HISTORY,
    DRIVE_PLAIN,
    DRIVE_JSON,
    DRIVE_QUIET,
    DRIVE_COLOUR,
    DRIVE_OPTIONS
};

static const struct sl_option options[DRIVE_OPTIONS] = {
    [DRIVE_FROM] =
        {"from", 'f', "FILE",
         "A recording whose words drive the car; - is standard input. Without it, speak."},
    [DRIVE_ANNOUNCED] = {"announced", 0, "SECONDS",
                         "With --from: where in the recording the junction was announced; 0 if not "
                         "given, or what its run noted."},
    [DRIVE_ROUTINE] = SL_OPTION_ROUTINE,
    [DRIVE_CAR] = SL_OPTION_CAR,
    [DRIVE_APPROACH] = {"approach", 'a', "SPEED",
                        "With --from: the speed before slowing, such as '40 mph', instead of the "
                        "junction's. To speak at another speed, give a junction file that says it "
                        "(approach), so that its recording brings the same drive again."},
    [DRIVE_SEED] = {"seed", 0, "N",
                    "Others are there, at random: what they do makes the decision right or wrong, "
                    "or a signal misleading. The same N brings the same others (0 to 4294967295). "
                    "Without it, chance brings them while you speak; with --from those of its own "
                    "run come, or nobody."},
    [DRIVE_HTML] = {"html", 0, "PAGE",
                    "Write the drive as a page to look at and to print: speed, engine speed and "
                    "distance against the plan. PAGE is replaced."},
    [DRIVE_MIC] = SL_OPTION_MIC,
    [DRIVE_INPUT] = SL_OPTION_INPUT,
    [DRIVE_OUTPUT] = SL_OPTION_OUTPUT,
    [DRIVE_VOICE] = SL_OPTION_VOICE,
    [DRIVE_CUES] = SL_OPTION_CUES,
    [DRIVE_LEARNER] = SL_OPTION_LEARNER,
    [DRIVE_NO_HISTORY] = SL_OPTION_NO_HISTORY,
    [DRIVE_PLAIN] = SL_OPTION_PLAIN,
    [DRIVE_JSON] = {"json", 0, NULL, "The drive as one JSON object on one line (docs/formats.md)."},
    [DRIVE_QUIET] = {"quiet", 'q', NULL, "Only the end, what came of the words, the one change."},
    [DRIVE_COLOUR] = SL_OPTION_COLOUR,
};

/* What is driven, and where the result goes. */
struct drive_call {
    const struct sl_call *call;
    struct sl_style style;
    struct sl_mark_choice choice;
    const struct sl_mark_files *files; /* of the one recording */
    struct sl_str out;
    struct sl_error *error;
    enum sl_status status;
    bool unusable; /* the recording has nothing to be driven against: wrong use */
};

/* The recording was heard: drives it. */
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
    const char *const *values = drive_call->call->values;
    const struct sl_setup *setup = drive_call->files->of[file];
    const bool alone = !drive_call->files->names[file].seeded;
    const struct sl_driving driving = {
        .task = batch_file->task, .car = &setup->car, .heard = &attempt->heard};
    const struct sl_drive_telling telling = {.file = values[DRIVE_FROM],
                                             .html = values[DRIVE_HTML],
                                             .json = values[DRIVE_JSON] != NULL,
                                             .style = drive_call->style};
    drive_call->status = sl_drive_tell_all(&telling, &driving, alone ? NULL : &setup->others,
                                           &drive_call->out, drive_call->error);
    return drive_call->status == SL_OK;
}

static enum sl_status read_options(struct drive_call *drive_call)
{
    const struct sl_call *call = drive_call->call;
    const char *const *values = call->values;
    struct sl_mark_choice *choice = &drive_call->choice;
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
        status = sl_seed_choose(values[DRIVE_SEED], &choice->names.seed, drive_call->error);
    }
    choice->names.seeded = values[DRIVE_SEED] != NULL;
    if (status == SL_OK) {
        status = sl_style_choose(values[DRIVE_COLOUR], &drive_call->style, drive_call->error);
    }
    drive_call->style.brief = values[DRIVE_QUIET] != NULL;
    return status;
}

/* What makes sense of a recording only, and what of speaking only. */
static enum sl_status check_options(const char *const *values, struct sl_error *error)
{
    static const int spoken[] = {DRIVE_MIC,  DRIVE_INPUT, DRIVE_OUTPUT,    DRIVE_VOICE,
                                 DRIVE_CUES, DRIVE_PLAIN, DRIVE_NO_HISTORY};
    static const int recorded[] = {DRIVE_ANNOUNCED, DRIVE_APPROACH};
    bool from = values[DRIVE_FROM] != NULL;
    const int *none = from ? spoken : recorded;
    size_t n = from ? sizeof spoken / sizeof *spoken : sizeof recorded / sizeof *recorded;
    for (size_t i = 0; i < n; i++) {
        if (values[none[i]] != NULL) {
            return sl_fail(error, SL_INVALID, "drive",
                           from ? "leave it out, or --from to speak" : "give --from FILE",
                           "--%s is for %s", options[none[i]].name,
                           from ? "speaking, not for a recording" : "a recording");
        }
    }
    return SL_OK;
}

/* Drives what is said now. */
static enum sl_exit speak_and_drive(const struct drive_call *drive_call)
{
    const char *const *values = drive_call->call->values;
    const struct sl_setup_names *names = &drive_call->choice.names;
    const struct sl_rehearse_options session = {.junctions = drive_call->call->operands,
                                                .n_junctions = 1,
                                                .routine = names->routine,
                                                .car = names->car,
                                                .mic = values[DRIVE_MIC],
                                                .input = values[DRIVE_INPUT],
                                                .output = values[DRIVE_OUTPUT],
                                                .voice = values[DRIVE_VOICE],
                                                .pack = values[DRIVE_CUES],
                                                .learner = sl_learner_of(values[DRIVE_LEARNER]),
                                                .no_history = values[DRIVE_NO_HISTORY] != NULL,
                                                .prompting = SL_PROMPTING_NONE,
                                                .repeat = 1,
                                                .seed = names->seed,
                                                .plain = values[DRIVE_PLAIN] != NULL,
                                                .quiet = values[DRIVE_QUIET] != NULL,
                                                .json = values[DRIVE_JSON] != NULL,
                                                .drives = true,
                                                .html = values[DRIVE_HTML],
                                                .style = drive_call->style};
    if (drive_call->call->n_operands == 0) {
        sl_fail(drive_call->error, SL_INVALID, "drive", "name one, or give --from FILE",
                "there is no junction to drive to");
        return SL_EXIT_USAGE;
    }
    return sl_rehearse_check_mic(&session, drive_call->error) == SL_OK
               ? sl_rehearse_session(&session)
               : SL_EXIT_USAGE;
}

/* Hears the recording as `sayline mark` does, and drives. */
static enum sl_exit hear_and_drive(struct drive_call *drive_call)
{
    const char *const *values = drive_call->call->values;
    struct sl_mark_files files = {0};
    char *pronunciations = NULL;
    const char *const paths_of[] = {values[DRIVE_FROM]};
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
    struct drive_call drive_call = {.call = call, .error = &error};
    const char *learner = sl_learner_of(call->values[DRIVE_LEARNER]);
    enum sl_exit code = SL_EXIT_USAGE;
    if (check_options(call->values, &error) == SL_OK && read_options(&drive_call) == SL_OK &&
        sl_learner_check(learner, &error) == SL_OK) {
        code = call->values[DRIVE_FROM] == NULL ? speak_and_drive(&drive_call)
                                                : hear_and_drive(&drive_call);
    }
    enum sl_exit printed = sl_conclude(&drive_call.out, &error);
    return code != SL_EXIT_DONE ? code : printed;
}

const struct sl_command sl_command_drive = {
    .name = "drive",
    .summary = "drive a simulated car to the line with what you say",
    .usage = "[OPTION...] JUNCTION | --from FILE [OPTION...] [JUNCTION]",
    .purpose =
        "Announces the junction, then listens while you say the routine, and lets your words drive "
        "a simulated car whose engine you hear: it slows when it is told to, changes gear when it "
        "is told to, and does nothing of itself, so that what was forgotten or late has the "
        "consequence that it has on the road. The run is over when the car stands or has passed "
        "the line. Then you are told where it was, at what speed and in which gear, what came of "
        "the words and why, and what one change would have done. The run is recorded in "
        "~/.local/share/sayline/recordings; --from drives such a recording, or any other, as "
        "`sayline mark` hears it: the same words give the same drive. JUNCTION is a name (`sayline "
        "list junctions`) or a YAML file; recordings of sayline know theirs. The car is a model "
        "with invented figures, for practice parked or at home, never while driving: your "
        "instructor and the Highway Code come first.",
    .options = options,
    .n_options = DRIVE_OPTIONS,
    .least_operands = 0,
    .most_operands = 1,
    .operand = "JUNCTION",
    .example = "sayline drive --from audio/demo/late-gear.flac t-left-open",
    .example_tells = "drives a run whose gear came late.",
    .exit_failed =
        "the run could not be recorded or heard, a junction, routine or car file cannot be "
        "used, no plan exists, or the drive could not be written",
    .device = true,
    .run = run,
};
