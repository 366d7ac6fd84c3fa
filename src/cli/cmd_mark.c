/* sayline mark: recordings in, marks out. */
#include "cli/mark_show.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    MARK_JUNCTION,
    MARK_ROUTINE,
    MARK_CAR,
    MARK_APPROACH,
    MARK_UNTIMED,
    MARK_FROM,
    MARK_JOBS,
    MARK_SETTLE,
    MARK_SETTLE_AS,
    MARK_BY,
    MARK_UNSETTLE,
    MARK_NO_SETTLED,
    MARK_KEEP,
    MARK_LEARNER,
    MARK_HTML,
    MARK_SVG,
    MARK_VTT,
    MARK_TEXTGRID,
    MARK_JSON,
    MARK_QUIET,
    MARK_COLOUR,
    MARK_OPTIONS
};

static const struct sl_option options[MARK_OPTIONS] = {
    [MARK_JUNCTION] =
        {"junction", 'j', "JUNCTION",
         "The junction, by name (`sayline list junctions`) or as a YAML file. Not needed for "
         "recordings of `sayline rehearse`, which know theirs."},
    [MARK_ROUTINE] = SL_OPTION_ROUTINE,
    [MARK_CAR] = SL_OPTION_CAR,
    [MARK_APPROACH] = SL_OPTION_APPROACH,
    [MARK_UNTIMED] = {"untimed", 'u', NULL, "Mark order, completeness and settings only."},
    [MARK_FROM] = {"from", 'f', "SECONDS",
                   "Where in the recording the junction was announced; 0 if not given, or what the "
                   "rehearsal noted."},
    [MARK_JOBS] =
        {"jobs", 'n', "N",
         "Work on up to N files at a time (1 to 64); as many as there are processor cores "
         "if not given."},
    [MARK_SETTLE] = {"settle", 0, NULL,
                     "For an instructor, who has listened to the one FILE: asks about each unclear "
                     "step whether it was right, wrong or missed, and keeps the answers in "
                     "FILE.settled.json."},
    [MARK_SETTLE_AS] = {"settle-as", 0, "ANSWERS",
                        "The same without asking: PHASE=right, PHASE=wrong or PHASE=missed, with "
                        "commas between phases; right@SECONDS and wrong@SECONDS say when it was "
                        "said in the recording, where nothing like it was heard."},
    [MARK_BY] = {"by", 0, "NAME", "With --settle and --settle-as: who decides, kept as well."},
    [MARK_UNSETTLE] = {"unsettle", 0, NULL, "Forget what was settled for each FILE."},
    [MARK_NO_SETTLED] = {"no-settled", 0, NULL,
                         "Mark as the program hears it, whatever was settled."},
    [MARK_KEEP] = {"keep", 'k', NULL,
                   "Keep the marks in the history of `sayline progress`; the recordings stay where "
                   "they are."},
    [MARK_LEARNER] = SL_OPTION_LEARNER,
    [MARK_HTML] = {"html", 0, "PAGE",
                   "Write the mark of the one FILE as a page to look at and to print; where FILE "
                   "lies in the page's folder or below, the page plays it. PAGE is replaced."},
    [MARK_SVG] = {"svg", 0, "PICTURE", "Write the page's picture alone (SVG)."},
    [MARK_VTT] = {"vtt", 0, "SUBTITLES",
                  "Write what was said and the verdicts as subtitles (WebVTT)."},
    [MARK_TEXTGRID] = {"textgrid", 0, "LABELS",
                       "Write windows, what was heard and faults as labels for an audio editor "
                       "(TextGrid of Praat)."},
    [MARK_JSON] = {"json", 0, NULL,
                   "One JSON object a recording, each on one line (docs/formats.md)."},
    [MARK_QUIET] = {"quiet", 'q', NULL, "Only the faults and the score."},
    [MARK_COLOUR] = SL_OPTION_COLOUR,
};

/* The options' values; wrong ones are wrong use. */
static enum sl_status read_options(const struct sl_call *call, struct sl_mark_choice *choice,
                                   struct sl_style *style, int *jobs, struct sl_error *error)
{
    const char *const *values = call->values;
    choice->words = (struct sl_mark_words){
        .no_junction = "mark needs --junction JUNCTION: no rehearsal noted it beside the file",
        .name_one = "name one, such as --junction t-left-open (`sayline list junctions`)",
        .give_from = "give --from SECONDS, or --untimed"};
    choice->names = (struct sl_setup_names){.junction = values[MARK_JUNCTION],
                                            .routine = values[MARK_ROUTINE],
                                            .car = values[MARK_CAR],
                                            .approach = values[MARK_APPROACH]};
    choice->options.timed = values[MARK_UNTIMED] == NULL;
    choice->from_given = values[MARK_FROM] != NULL;
    enum sl_status status =
        sl_mark_from_choose("--from", values[MARK_FROM], &choice->options.from_s, error);
    if (status == SL_OK) {
        status = sl_jobs_choose(values[MARK_JOBS], jobs, error);
    }
    if (status == SL_OK) {
        status = sl_style_choose(values[MARK_COLOUR], style, error);
    }
    style->brief = values[MARK_QUIET] != NULL;
    return status;
}

/* Options that do not go together are wrong use. */
static enum sl_status check_settling(const struct sl_call *call, struct sl_error *error)
{
    const char *const *values = call->values;
    bool settles = values[MARK_SETTLE] != NULL || values[MARK_SETTLE_AS] != NULL;
    bool listens = values[MARK_UNSETTLE] == NULL;
    if (settles && (call->n_operands != 1 || strcmp(call->operands[0], "-") == 0)) {
        return sl_fail(error, SL_INVALID, "--settle", "name the recording",
                       "one recording in a file can be settled at a time");
    }
    if ((settles && !listens) || (settles && values[MARK_NO_SETTLED] != NULL) ||
        (values[MARK_SETTLE] != NULL && values[MARK_SETTLE_AS] != NULL)) {
        return sl_fail(error, SL_INVALID, "--settle", "give one of the options",
                       "--settle, --settle-as, --unsettle and --no-settled do not go together");
    }
    if (values[MARK_BY] != NULL && !settles) {
        return sl_fail(error, SL_INVALID, "--by", "give --settle or --settle-as with it",
                       "nothing is settled that somebody could have decided");
    }
    return values[MARK_SETTLE_AS] == NULL ? SL_OK
                                          : sl_settle_answers_check(values[MARK_SETTLE_AS], error);
}

/* A page is of one recording. */
static enum sl_status check_pages(const struct sl_call *call, const struct sl_mark_pages *pages,
                                  struct sl_error *error)
{
    if (sl_mark_pages_wanted(pages) && call->n_operands != 1) {
        return sl_fail(error, SL_INVALID, "--html, --svg, --vtt, --textgrid", "name one recording",
                       "they are made of one recording at a time");
    }
    return SL_OK;
}

/* All files; the exit code where that failed as a whole. */
static enum sl_exit mark_all(struct sl_mark_show *marking, const struct sl_call *call,
                             const struct sl_mark_choice *choice, int jobs, struct sl_error *error)
{
    const struct sl_settling settling = {.answers = call->values[MARK_SETTLE_AS],
                                         .by = call->values[MARK_BY]};
    bool settles = call->values[MARK_SETTLE] != NULL || settling.answers != NULL;
    struct sl_batch batch = {.jobs = jobs,
                             .settled = !settles && call->values[MARK_NO_SETTLED] == NULL};
    struct sl_mark_files files = {0};
    enum sl_exit code = SL_EXIT_DONE;
    // cppcheck-suppress autoVariables ; taken back below
    marking->settling = settles ? &settling : NULL;
    if (sl_mark_files_make(&files, call->operands, call->n_operands, choice, error) != SL_OK) {
        code = sl_exit_for(error);
    } else if (sl_mark_show_files(marking, &files, &batch, error) != SL_OK) {
        code = SL_EXIT_FAILED;
    }
    marking->settling = NULL;
    sl_mark_files_clear(&files);
    return code;
}

static enum sl_exit unsettle(const struct sl_call *call)
{
    enum sl_exit code = SL_EXIT_DONE;
    for (size_t i = 0; i < call->n_operands; i++) {
        struct sl_error error = {0};
        if (sl_settled_remove(call->operands[i], &error) != SL_OK) {
            sl_complain(&error);
            code = SL_EXIT_FAILED;
        }
        sl_error_clear(&error);
    }
    return code;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_mark_show marking = {
        .keeping = {.learner = sl_learner_of(call->values[MARK_LEARNER])},
        .pages = {.html = call->values[MARK_HTML],
                  .svg = call->values[MARK_SVG],
                  .vtt = call->values[MARK_VTT],
                  .textgrid = call->values[MARK_TEXTGRID]},
        .talkative = isatty(STDERR_FILENO)};
    struct sl_mark_choice choice = {0};
    int jobs = 1;
    enum sl_exit code = SL_EXIT_USAGE;
    clock_gettime(CLOCK_MONOTONIC, &marking.begun);
    marking.json = call->values[MARK_JSON] != NULL;
    if (read_options(call, &choice, &marking.style, &jobs, &error) == SL_OK &&
        check_settling(call, &error) == SL_OK &&
        check_pages(call, &marking.pages, &error) == SL_OK &&
        sl_learner_check(marking.keeping.learner, &error) == SL_OK) {
        if (call->values[MARK_UNSETTLE] != NULL) {
            return unsettle(call);
        }
        code = SL_EXIT_FAILED;
        if (call->values[MARK_KEEP] == NULL ||
            sl_keep_open(&marking.keeping.history, &error) == SL_OK) {
            code = mark_all(&marking, call, &choice, jobs, &error);
            sl_mark_show_sum(&marking);
        }
        sl_history_close(marking.keeping.history);
    }
    if (code == SL_EXIT_DONE) {
        code = marking.failed > 0                 ? marking.code
               : marking.broken || marking.unkept ? SL_EXIT_FAILED
                                                  : code;
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    return code;
}

const struct sl_command sl_command_mark = {
    .name = "mark",
    .summary = "mark recordings of a learner saying the junction routine",
    .usage = "[--junction JUNCTION] [OPTION...] FILE...",
    .purpose =
        "Listens to each recording, finds the phrases of the routine and marks their order, what "
        "was left out, the settings that were named and when they were said against the approach "
        "plan of the junction. FILE is a sound file (WAV, FLAC, Ogg and what else libsndfile "
        "reads); - is standard input. A mark is for practice, parked or at home: your instructor "
        "and the Highway Code come first. What could not be made out is unclear and no fault; an "
        "instructor who listens to it can settle it.",
    .options = options,
    .n_options = MARK_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "FILE",
    .example = "sayline mark --junction t-left-open audio/demo/clean-t-left-open.flac",
    .example_tells = "marks a clean run at an open T-junction, turning left.",
    .exit_failed =
        "a recording could not be marked, settled or kept, a junction, routine or car "
        "file cannot be used, a page could not be written, or the results could not be written",
    .run = run,
};
