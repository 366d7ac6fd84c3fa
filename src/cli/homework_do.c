/* Doing homework: what is left is rehearsed, and nothing but the runs themselves says what is left.
 */
#include "cli/homework_parts.h"

#include "cli/mark_files.h"
#include "files/models.h"
#include "practice/keep.h"
#include "report/homework_text.h"
#include "report/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static enum sl_status find_takes(struct sl_homework_job *job, struct sl_error *error)
{
    sl_homework_takes_clear(&job->takes);
    return sl_homework_takes_find(job->folder, &job->takes, error);
}

enum sl_status sl_homework_open(struct sl_homework_job *job,
                                const struct sl_homework_options *options, struct sl_error *error)
{
    *job = (struct sl_homework_job){.options = options, .path = options->operands[0]};
    if (strcmp(job->path, "-") == 0) {
        return sl_fail(error, SL_INVALID, NULL, "name the file of the set",
                       "the runs are kept beside the set, and standard input is nowhere");
    }
    enum sl_status status = sl_homework_load(job->path, &job->set, error);
    if (status == SL_OK) {
        job->folder = sl_homework_folder(job->path);
        status = job->folder == NULL ? sl_fail_memory(error) : find_takes(job, error);
    }
    return status;
}

void sl_homework_close(struct sl_homework_job *job)
{
    sl_homework_takes_clear(&job->takes);
    sl_homework_clear(&job->set);
    free(job->folder);
}

/* The files of a batch that makes the marks that are missing. */
struct catching_up {
    const struct sl_mark_files *files;
    const char *learner;
    struct sl_history *history; /* NULL: none is kept */
    enum sl_exit code;
};

/* The run goes into the history, unless the program was killed only after it had. */
static enum sl_status keep_late(const struct catching_up *catching,
                                const struct sl_batch_file *file, const struct sl_run_file *run,
                                const struct sl_attempt *attempt, struct sl_error *error)
{
    const char *routine = run->routine == NULL ? SL_HOMEWORK_ROUTINE : run->routine;
    const char *car = run->car == NULL ? SL_HOMEWORK_CAR : run->car;
    const struct sl_history_run kept = {.learner = catching->learner,
                                        .rehearsed = true,
                                        .names = {.junction = run->junction,
                                                  .routine = routine,
                                                  .car = car,
                                                  .driven = run->driven,
                                                  .seed = run->seed},
                                        .prompting = run->driven ? NULL : run->prompting,
                                        .sound = file->path,
                                        .recorded_with = run->version,
                                        .marked_with = SL_VERSION,
                                        .routine = file->task->routine,
                                        .junction = file->task->junction,
                                        .plan = file->task->plan,
                                        .options = &file->task->options};
    return catching->history == NULL ? SL_OK
                                     : sl_keep_attempt(catching->history, &kept, attempt, error);
}

/* The mark is saved beside the recording; of a drive with what came of it. */
static enum sl_status save_mark(const struct catching_up *catching, size_t index,
                                const struct sl_attempt *attempt, const struct sl_run_file *run,
                                struct sl_error *error)
{
    const struct sl_batch_file *file = &catching->files->files[index];
    const struct sl_driving driving = {
        .task = file->task, .car = &catching->files->of[index]->car, .heard = &attempt->heard};
    struct sl_result result = sl_batch_result(file, attempt);
    struct sl_drive drive = {0};
    enum sl_status status = run->driven ? sl_drive_make(&driving, &drive, error) : SL_OK;
    if (status == SL_OK) {
        result.drive = run->driven ? &drive : NULL;
        status = sl_homework_mark_save(&result, run, error);
    }
    sl_drive_clear(&drive);
    return status;
}

static bool hand_out(void *user, size_t index, struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct catching_up *catching = user;
    const struct sl_batch_file *file = &catching->files->files[index];
    struct sl_error error = {0};
    if (attempt != NULL) {
        struct sl_run_file run = {0};
        char *run_path = sl_run_file_path(file->path);
        enum sl_status status =
            run_path == NULL ? sl_fail_memory(&error) : sl_run_file_load(run_path, &run, &error);
        if (status == SL_OK) {
            status = keep_late(catching, file, &run, attempt, &error);
        }
        if (status == SL_OK) {
            (void)save_mark(catching, index, attempt, &run, &error);
        }
        sl_run_file_clear(&run);
        free(run_path);
        failure = error.status == SL_OK ? NULL : &error;
    }
    if (failure != NULL) {
        sl_complain(failure);
        catching->code = SL_EXIT_FAILED;
    }
    sl_error_clear(&error);
    return true;
}

static enum sl_status mark_paths(const char *const *paths, size_t n_paths,
                                 struct catching_up *catching, struct sl_error *error)
{
    const struct sl_mark_choice choice = {
        .words = {.no_junction = "no rehearsal noted the junction beside the file",
                  .name_one = "do this run again",
                  .give_from = "do this run again"},
        .options = {.timed = true}};
    struct sl_mark_files files = {0};
    char *pronunciations = NULL;
    enum sl_status status = sl_models_path("pronunciations.dict", &pronunciations, error);
    if (status == SL_OK) {
        status = sl_mark_files_make(&files, paths, n_paths, &choice, error);
    }
    if (status == SL_OK) {
        const struct sl_recogniser_paths speech = {.pronunciations = pronunciations};
        const struct sl_batch batch = {.paths = &speech,
                                       .files = files.files,
                                       .n_files = files.n_files,
                                       .jobs = 1,
                                       .done = hand_out,
                                       .user = catching};
        // cppcheck-suppress autoVariables ; taken back below
        catching->files = &files;
        status = sl_mark_batch(&batch, error);
        catching->files = NULL;
    }
    sl_mark_files_clear(&files);
    free(pronunciations);
    return status;
}

enum sl_status sl_homework_catch_up(struct sl_homework_job *job, enum sl_exit *code,
                                    struct sl_error *error)
{
    const char **paths = calloc(job->takes.count + 1, sizeof *paths);
    size_t n = 0;
    if (paths == NULL) {
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < job->takes.count; i++) {
        const struct sl_homework_take *take = &job->takes.items[i];
        if (take->run.finished && !take->run.marked) {
            paths[n++] = take->recording;
        }
    }
    const struct sl_rehearse_options *rehearse = &job->options->rehearse;
    struct catching_up catching = {.learner = rehearse->learner, .code = SL_EXIT_DONE};
    enum sl_status status =
        n == 0 || rehearse->no_history ? SL_OK : sl_keep_open(&catching.history, error);
    if (status == SL_OK && n > 0) {
        status = mark_paths(paths, n, &catching, error);
    }
    sl_history_close(catching.history);
    free(paths);
    *code = catching.code;
    return status == SL_OK && n > 0 ? find_takes(job, error) : status;
}

/* Why the last run does not count, where it does not: the one that was made just now, mostly. */
static void add_last(struct sl_str *out, const struct sl_homework_job *job)
{
    const struct sl_homework_take *last =
        job->takes.count == 0 ? NULL : &job->takes.items[job->takes.count - 1];
    const char *objection = last == NULL ? NULL : sl_homework_objection(&job->set, &last->run);
    if (objection != NULL) {
        struct sl_str text = {0};
        sl_str_addf(&text, "The last run does not count: %s.", objection);
        sl_str_add(out, "\n");
        sl_text_fact(out, "", sl_str_text(&text), job->options->rehearse.style.width);
        out->failed = out->failed || text.failed;
        sl_str_clear(&text);
    }
}

static enum sl_exit show(const struct sl_homework_job *job, struct sl_error *error)
{
    const struct sl_rehearse_options *rehearse = &job->options->rehearse;
    const struct sl_homework_view view = {
        .path = job->path, .set = &job->set, .takes = &job->takes};
    struct sl_str out = {0};
    struct sl_date today;
    if (rehearse->json) {
        char *json = NULL;
        if (sl_homework_to_json(&view, &json, error) == SL_OK) {
            sl_str_addf(&out, "%s\n", json);
        }
        free(json);
    } else {
        struct sl_homework_state state = sl_homework_state_of(&job->set, &job->takes);
        sl_report_homework(&out, &job->set, &state, sl_homework_today(&today) ? &today : NULL,
                           &rehearse->style);
        add_last(&out, job);
    }
    return sl_conclude(&out, error);
}

/* Shows what is left, or says what went wrong: the end of both commands. */
static enum sl_exit finish(struct sl_homework_job *job, enum sl_exit code, struct sl_error *error)
{
    if (error->status == SL_OK) {
        enum sl_exit shown = show(job, error);
        code = code == SL_EXIT_DONE ? shown : code;
    } else {
        code = sl_exit_for(error);
        sl_complain(error);
    }
    sl_error_clear(error);
    sl_homework_close(job);
    return code;
}

enum sl_exit sl_homework_show_left(const struct sl_homework_options *options)
{
    struct sl_error error = {0};
    struct sl_homework_job job;
    enum sl_exit code = SL_EXIT_DONE;
    if (sl_homework_open(&job, options, &error) == SL_OK) {
        (void)sl_homework_catch_up(&job, &code, &error);
    }
    return finish(&job, code, &error);
}

/* The runs that are left at one level, as a session of rehearsals; or those of drives. */
static enum sl_exit do_level(struct sl_homework_job *job, const struct sl_homework_state *state,
                             enum sl_prompting level, bool drives)
{
    size_t room = (size_t)sl_homework_left_in_all(&job->set, state);
    const char **junctions = calloc(room + 1, sizeof *junctions);
    size_t n = 0;
    if (junctions == NULL) {
        return SL_EXIT_FAILED;
    }
    for (size_t item = 0; item < job->set.n_items; item++) {
        const struct sl_homework_item *wanted = &job->set.items[item];
        bool now = wanted->prompting == level && wanted->drive == drives;
        for (int i = sl_homework_left(&job->set, state, item); now && i > 0; i--) {
            junctions[n++] = wanted->junction;
        }
    }
    struct sl_rehearse_options session = job->options->rehearse;
    session.junctions = junctions;
    session.n_junctions = n;
    session.routine = job->set.routine;
    session.car = job->set.car;
    session.prompting = level;
    session.drives = drives;
    session.tone = session.tone && !drives; /* the engine is heard */
    (void)sl_seed_choose(NULL, &session.seed, NULL);
    session.folder = job->folder;
    enum sl_exit code = n == 0 ? SL_EXIT_DONE : sl_rehearse_session(&session);
    free(junctions);
    return code;
}

/* Every run that is left is made once, drives last; one that does not count is left again. */
static enum sl_exit do_rest(struct sl_homework_job *job)
{
    const struct sl_homework_state state = sl_homework_state_of(&job->set, &job->takes);
    enum sl_exit code = SL_EXIT_DONE;
    for (int level = 0; level <= SL_PROMPTING_COUNT; level++) {
        bool drives = level == SL_PROMPTING_COUNT;
        enum sl_prompting prompting = drives ? SL_PROMPTING_NONE : (enum sl_prompting)level;
        enum sl_exit of_level = do_level(job, &state, prompting, drives);
        code = of_level != SL_EXIT_DONE ? of_level : code;
        if (code != SL_EXIT_DONE && code != SL_EXIT_FAILED) {
            break;
        }
    }
    return code;
}

enum sl_exit sl_homework_do(const struct sl_homework_options *options)
{
    struct sl_error error = {0};
    struct sl_homework_job job;
    enum sl_exit code = SL_EXIT_DONE;
    enum sl_status status = sl_homework_open(&job, options, &error);
    if (status == SL_OK && options->ics != NULL) {
        status = sl_homework_save_ics(&job.set, options->ics, &error);
    }
    if (status == SL_OK) {
        status = sl_homework_catch_up(&job, &code, &error);
    }
    if (status == SL_OK) {
        if (!options->rehearse.json) {
            (void)show(&job, &error);
        }
        enum sl_exit done = do_rest(&job);
        code = done != SL_EXIT_DONE ? done : code;
        (void)find_takes(&job, &error);
    }
    return finish(&job, code, &error);
}
