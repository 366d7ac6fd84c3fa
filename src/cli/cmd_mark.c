/* sayline mark: recordings in, marks out. */
#include "cli/shared.h"
#include "files/models.h"
#include "files/path.h"
#include "files/quantity.h"
#include "files/result_json.h"
#include "files/run_file.h"
#include "practice/mark_batch.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    MARK_JUNCTION,
    MARK_ROUTINE,
    MARK_CAR,
    MARK_UNTIMED,
    MARK_FROM,
    MARK_JOBS,
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
    [MARK_UNTIMED] = {"untimed", 'u', NULL, "Mark order, completeness and settings only."},
    [MARK_FROM] = {"from", 'f', "SECONDS",
                   "Where in the recording the junction was announced; 0 if not given, or what the "
                   "rehearsal noted."},
    [MARK_JOBS] = {"jobs", 'n', "N", "Work on up to N files at a time (1 to 64); 1 if not given."},
    [MARK_JSON] = {"json", 0, NULL,
                   "One JSON object a recording, each on one line (docs/formats.md)."},
    [MARK_QUIET] = {"quiet", 'q', NULL, "Only the faults and the score."},
    [MARK_COLOUR] = SL_OPTION_COLOUR,
};

/* What the callbacks of a batch need. */
struct marking {
    const struct sl_setup *setup;
    const struct sl_call *call;
    const char *const *files; /* of the batch at hand */
    size_t n_files;
    struct sl_style style;
    struct sl_mark_options mark_options;
    bool json;
    size_t marked, failed;
    double overall_sum;
    bool broken; /* the results could not be written */
    bool talkative;
    bool told; /* a line of progress stands on the terminal */
    struct timespec begun;
};

static void wipe_progress(struct marking *marking)
{
    if (marking->told) {
        fputs("\r\033[K", stderr);
        marking->told = false;
    }
}

static void tell_progress(void *user, double share)
{
    struct marking *marking = user;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    double since_s = (double)(now.tv_sec - marking->begun.tv_sec) +
                     1e-9 * (double)(now.tv_nsec - marking->begun.tv_nsec);
    if (marking->talkative && since_s > 1.0) {
        fprintf(stderr, "\rlistening: %3.0f %%", 100.0 * share);
        marking->told = true;
    }
}

static void add_json(struct sl_str *out, const struct marking *marking,
                     const struct sl_attempt *attempt, const char *file,
                     const struct sl_error *failure)
{
    struct sl_error error = {0};
    char *json = NULL;
    if (attempt == NULL) {
        sl_error_to_json(file, failure, &json, &error);
    } else {
        struct sl_result result = {.file = file,
                                   .routine = &marking->setup->routine,
                                   .junction = &marking->setup->junction,
                                   .plan = &marking->setup->plan,
                                   .levels = &attempt->levels,
                                   .heard = &attempt->heard,
                                   .mark = &attempt->mark,
                                   .from_s = marking->mark_options.from_s};
        sl_result_to_json(&result, &json, &error);
    }
    out->failed = out->failed || json == NULL;
    sl_str_addf(out, "%s\n", json == NULL ? "" : json);
    free(json);
    sl_error_clear(&error);
}

static void add_table(struct sl_str *out, const struct marking *marking,
                      const struct sl_attempt *attempt, const char *file)
{
    struct sl_mark_view view = {.file = strcmp(file, "-") == 0 ? "standard input" : file,
                                .routine = &marking->setup->routine,
                                .junction = &marking->setup->junction,
                                .plan = &marking->setup->plan,
                                .levels = &attempt->levels,
                                .heard = &attempt->heard,
                                .mark = &attempt->mark,
                                .from_s = marking->mark_options.from_s};
    if (marking->marked > 0) {
        sl_str_add(out, "\n");
    }
    sl_report_mark(out, &view, &marking->style);
}

static bool hand_out(void *user, size_t index, const struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct marking *marking = user;
    const char *file = marking->files[index];
    struct sl_str out = {0};
    wipe_progress(marking);
    if (marking->json) {
        add_json(&out, marking, attempt, file, failure);
    } else if (attempt != NULL) {
        add_table(&out, marking, attempt, file);
    }
    if (attempt == NULL) {
        sl_complain(failure);
        marking->failed++;
    } else {
        marking->marked++;
        marking->overall_sum += attempt->mark.scores.overall;
    }
    marking->broken = !sl_print(&out) || marking->broken;
    sl_str_clear(&out);
    return !marking->broken;
}

static void summarise(struct marking *marking)
{
    if (marking->json || marking->broken || marking->marked + marking->failed < 2) {
        return;
    }
    struct sl_str out = {0};
    sl_str_addf(&out, "\n%zu of %zu recordings marked", marking->marked,
                marking->marked + marking->failed);
    if (marking->marked > 0) {
        sl_str_addf(&out, "; mean score %.0f of 100",
                    marking->overall_sum / (double)marking->marked);
    }
    sl_str_add(&out, ".\n");
    marking->broken = !sl_print(&out);
    sl_str_clear(&out);
}

#define FROM_MOST_S 86400.0

static enum sl_status read_from(const char *text, double *from_s, struct sl_error *error)
{
    if (!sl_number_parse(text, from_s) || *from_s < 0.0 || *from_s > FROM_MOST_S) {
        return sl_fail(error, SL_INVALID, "--from", NULL,
                       "\"%s\" is not a number of seconds from 0 to %.0f", text, FROM_MOST_S);
    }
    return SL_OK;
}

static enum sl_status read_jobs(const char *text, double *n, struct sl_error *error)
{
    if (!sl_number_parse(text, n) || *n < 1.0 || *n > SL_JOBS_MAX || *n != floor(*n)) {
        return sl_fail(error, SL_INVALID, "--jobs", NULL,
                       "\"%s\" is not a whole number from 1 to %d", text, SL_JOBS_MAX);
    }
    return SL_OK;
}

/* The options' values; wrong ones are wrong use. */
static enum sl_status read_options(const struct sl_call *call, struct marking *marking, int *jobs,
                                   struct sl_error *error)
{
    enum sl_status status = SL_OK;
    double n = 1.0;
    if (status == SL_OK && call->values[MARK_FROM] != NULL) {
        status = read_from(call->values[MARK_FROM], &marking->mark_options.from_s, error);
    }
    if (status == SL_OK && call->values[MARK_JOBS] != NULL) {
        status = read_jobs(call->values[MARK_JOBS], &n, error);
    }
    if (status == SL_OK) {
        status = sl_style_choose(call->values[MARK_COLOUR], &marking->style, error);
    }
    *jobs = (int)n;
    return status;
}

static enum sl_status mark_files(struct marking *marking, int jobs, struct sl_error *error)
{
    char *pronunciations = NULL;
    enum sl_status status = sl_models_path("pronunciations.dict", &pronunciations, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_task task = {.routine = &marking->setup->routine,
                           .junction = &marking->setup->junction,
                           .plan = &marking->setup->plan,
                           .options = marking->mark_options};
    struct sl_batch batch = {.task = &task,
                             .paths = &paths,
                             .files = marking->files,
                             .n_files = marking->n_files,
                             .jobs = jobs,
                             .done = hand_out,
                             .progress = tell_progress,
                             .user = marking};
    status = sl_mark_batch(&batch, error);
    free(pronunciations);
    return status;
}

/* All files against one junction; the exit code where that failed as a whole. */
static enum sl_exit mark_all(struct marking *marking, const struct sl_setup_names *names, int jobs,
                             struct sl_error *error)
{
    struct sl_setup setup = {0};
    enum sl_exit code = SL_EXIT_DONE;
    if (sl_setup_load(&setup, names, error) != SL_OK) {
        code = sl_exit_for(error);
    } else {
        // cppcheck-suppress autoVariables ; taken back below, before setup ends
        marking->setup = &setup;
        code = mark_files(marking, jobs, error) == SL_OK ? SL_EXIT_DONE : SL_EXIT_FAILED;
        marking->setup = NULL;
    }
    marking->setup = NULL;
    sl_setup_clear(&setup);
    return code;
}

/* What the rehearsal that made a recording noted beside it. */
static enum sl_status load_run(const char *file, struct sl_run_file *run, struct sl_error *error)
{
    char *path = sl_run_file_path(file);
    enum sl_status status = path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK && !sl_path_exists(path)) {
        status = sl_fail(error, SL_NOT_FOUND, file,
                         "name one, such as --junction t-left-open (`sayline list junctions`)",
                         "mark needs --junction JUNCTION: no rehearsal noted it beside the file");
    }
    if (status == SL_OK) {
        status = sl_run_file_load(path, run, error);
    }
    free(path);
    return status;
}

/* A recording of a rehearsal, against its own junction. */
static enum sl_exit mark_rehearsed(struct marking *marking, struct sl_error *error)
{
    const struct sl_call *call = marking->call;
    struct sl_run_file run = {0};
    enum sl_exit code = SL_EXIT_FAILED;
    if (load_run(marking->files[0], &run, error) != SL_OK) {
        return sl_exit_for(error);
    }
    if (call->values[MARK_FROM] == NULL && marking->mark_options.timed && !run.from_known) {
        sl_fail(error, SL_INVALID, marking->files[0], "give --from SECONDS, or --untimed",
                "the rehearsal ended before the announcement did");
    } else {
        const char *const *values = call->values;
        struct sl_setup_names names = {
            .junction = run.junction,
            .routine = values[MARK_ROUTINE] != NULL ? values[MARK_ROUTINE] : run.routine,
            .car = values[MARK_CAR] != NULL ? values[MARK_CAR] : run.car};
        double given_s = marking->mark_options.from_s;
        if (values[MARK_FROM] == NULL) {
            marking->mark_options.from_s = run.from_s;
        }
        code = mark_all(marking, &names, 1, error);
        marking->mark_options.from_s = given_s;
    }
    sl_run_file_clear(&run);
    return code;
}

/* Each file by itself, as each may have another junction. */
static enum sl_exit mark_each(struct marking *marking, struct sl_error *error)
{
    enum sl_exit code = SL_EXIT_DONE;
    for (size_t i = 0; i < marking->call->n_operands && !marking->broken; i++) {
        marking->files = &marking->call->operands[i];
        marking->n_files = 1;
        sl_error_clear(error);
        enum sl_exit of_file = mark_rehearsed(marking, error);
        if (of_file != SL_EXIT_DONE && i + 1 < marking->call->n_operands) {
            sl_complain(error);
        }
        marking->failed += of_file != SL_EXIT_DONE ? 1 : 0;
        code = of_file != SL_EXIT_DONE ? of_file : code;
    }
    return code;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct marking marking = {.call = call,
                              .files = call->operands,
                              .n_files = call->n_operands,
                              .talkative = isatty(STDERR_FILENO)};
    int jobs = 1;
    enum sl_exit code = SL_EXIT_USAGE;
    clock_gettime(CLOCK_MONOTONIC, &marking.begun);
    marking.mark_options.timed = call->values[MARK_UNTIMED] == NULL;
    marking.json = call->values[MARK_JSON] != NULL;
    if (read_options(call, &marking, &jobs, &error) == SL_OK) {
        marking.style.brief = call->values[MARK_QUIET] != NULL;
        struct sl_setup_names names = {.junction = call->values[MARK_JUNCTION],
                                       .routine = call->values[MARK_ROUTINE],
                                       .car = call->values[MARK_CAR]};
        code = names.junction != NULL ? mark_all(&marking, &names, jobs, &error)
                                      : mark_each(&marking, &error);
        summarise(&marking);
    }
    if (code == SL_EXIT_DONE && (marking.failed > 0 || marking.broken)) {
        code = SL_EXIT_FAILED;
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
        "and the Highway Code come first.",
    .options = options,
    .n_options = MARK_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "FILE",
    .example = "sayline mark --junction t-left-open audio/demo/clean-t-left-open.flac",
    .example_tells = "marks a clean run at an open T-junction, turning left.",
    .exit_failed = "a recording could not be marked, a junction, routine or car file cannot be "
                   "used, or the results could not be written",
    .run = run,
};
