/* Collecting homework: bags are checked, and every recording is marked again from its sound. */
#include "cli/homework_parts.h"

#include "cli/interrupt.h"
#include "core/submission.h"
#include "files/bag_reader.h"
#include "files/class_json.h"
#include "files/models.h"
#include "practice/mark_batch.h"
#include "report/class_text.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BAGS_AT_ONCE 32 /* unpacked on the disk at a time */

/* A recording on its way: whose it is, and what it is marked against. */
struct paper {
    size_t submission, run;
    struct sl_homework_run claimed;
    struct sl_task task;
};

struct collecting {
    const struct sl_homework_options *options;
    struct sl_homework set;
    struct sl_setup *setups; /* by item of the set */
    char *pronunciations;
    struct sl_submission *submissions; /* by bag */
    struct sl_tally tally;
    struct sl_class_grid grid;
    struct sl_interrupt interrupt;
    struct paper *papers; /* of the bags that are unpacked */
    struct sl_batch_file *files;
    size_t n_papers, papers_room, files_room;
    struct sl_homework_takes takes[BAGS_AT_ONCE];
    bool short_of_memory;
};

static enum sl_status load_set(struct collecting *job, struct sl_error *error)
{
    const char *path = job->options->set;
    if (path == NULL) {
        return sl_fail(error, SL_INVALID, "--set", "give the set that you handed out: --set FILE",
                       "collect goes by your own set, as one in a bag can be changed");
    }
    enum sl_status status = sl_homework_load(path, &job->set, error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &job->pronunciations, error);
    }
    job->setups = calloc(SL_HOMEWORK_ITEMS_MAX, sizeof *job->setups);
    job->submissions = calloc(job->options->n_operands, sizeof *job->submissions);
    if (status == SL_OK && (job->setups == NULL || job->submissions == NULL)) {
        status = sl_fail_memory(error);
    }
    for (size_t i = 0; i < job->set.n_items && status == SL_OK; i++) {
        const struct sl_setup_names names = {.junction = job->set.items[i].junction,
                                             .routine = job->set.routine,
                                             .car = job->set.car};
        status = sl_setup_load(&job->setups[i], &names, error);
    }
    return status;
}

/* A take of a bag becomes a run of the submission and, where it is for the set, a paper. */
static enum sl_status add_run(struct collecting *job, size_t bag, struct sl_homework_take *take,
                              struct sl_error *error)
{
    struct sl_submission *submission = &job->submissions[bag];
    const char *slash = strrchr(take->recording, '/');
    struct sl_submission_run *runs =
        sl_grow(submission->runs, submission->n_runs, &submission->room, sizeof *runs);
    struct paper *papers = sl_grow(job->papers, job->n_papers, &job->papers_room, sizeof *papers);
    struct sl_batch_file *files =
        sl_grow(job->files, job->n_papers, &job->files_room, sizeof *files);
    submission->runs = runs != NULL ? runs : submission->runs;
    job->papers = papers != NULL ? papers : job->papers;
    job->files = files != NULL ? files : job->files;
    if (runs == NULL || papers == NULL || files == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_homework_run claimed = take->run;
    runs[submission->n_runs] =
        (struct sl_submission_run){.file = sl_strdup(slash == NULL ? take->recording : slash + 1),
                                   .junction = sl_strdup(take->junction),
                                   .was_marked = claimed.marked,
                                   .was_score = claimed.score,
                                   .was_faults = claimed.faults};
    claimed.marked = false;
    runs[submission->n_runs].objection = sl_homework_objection(&job->set, &claimed);
    size_t item = sl_homework_item_of(&job->set, &claimed);
    if (item < job->set.n_items && claimed.finished) {
        const struct sl_setup *setup = &job->setups[item];
        papers[job->n_papers] =
            (struct paper){.submission = bag,
                           .run = submission->n_runs,
                           .claimed = claimed,
                           .task = {.routine = &setup->routine,
                                    .junction = &setup->junction,
                                    .plan = &setup->plan,
                                    .options = {.timed = true, .from_s = take->from_s}}};
        files[job->n_papers++] = (struct sl_batch_file){.path = take->recording};
    } else {
        submission->state.uncounted++;
    }
    submission->n_runs++;
    return SL_OK;
}

/* A bag that is named twice would count twice. */
static enum sl_status check_once(const struct collecting *job, size_t bag, struct sl_error *error)
{
    const char *const *bags = job->options->operands;
    for (size_t i = 0; i < bag; i++) {
        if (strcmp(bags[i], bags[bag]) == 0) {
            return sl_fail(error, SL_INVALID, bags[bag], "name it once", "the bag is named twice");
        }
    }
    return SL_OK;
}

/* Unpacks a bag into a folder; one that is refused is said so, and does not stop the others. */
static enum sl_status open_bag(struct collecting *job, size_t bag, const char *folder,
                               struct sl_homework_takes *takes, struct sl_error *error)
{
    struct sl_submission *submission = &job->submissions[bag];
    struct sl_bag_said said = {0};
    struct sl_error found = {0};
    submission->bag = sl_strdup(job->options->operands[bag]);
    (void)mkdir(folder, 0700);
    enum sl_status status = check_once(job, bag, &found);
    if (status == SL_OK) {
        status = sl_bag_unpack(submission->bag, folder, &said, &found);
    }
    if (status == SL_OK) {
        status = sl_homework_takes_find(folder, takes, &found);
    }
    submission->learner = said.contact;
    submission->date = said.date;
    free(said.agent);
    if (status == SL_NO_MEMORY) {
        sl_error_clear(&found);
        return sl_fail_memory(error);
    }
    if (status != SL_OK) {
        sl_complain(&found);
        submission->refusal = sl_strf("%s: %s", found.where == NULL ? "" : found.where,
                                      found.what == NULL ? "" : found.what);
        sl_error_clear(&found);
        return submission->refusal == NULL ? sl_fail_memory(error) : SL_OK;
    }
    for (size_t i = 0; i < takes->count && status == SL_OK; i++) {
        status = add_run(job, bag, &takes->items[i], error);
    }
    return status;
}

static bool add_to_tally(struct collecting *job, const struct sl_submission *submission,
                         const struct paper *paper, const struct sl_attempt *attempt)
{
    const struct sl_routine *routine = paper->task.routine;
    const struct sl_mark *mark = &attempt->mark;
    struct sl_tally_run run = {
        .file = sl_strf("%s: %s", submission->bag, submission->runs[paper->run].file),
        .junction = sl_strdup(paper->task.junction->name),
        .routine = sl_strdup(routine->name),
        .where = sl_strdup(submission->bag),
        .overall = mark->scores.overall,
        .steps = calloc(routine->n_phases, sizeof *run.steps)};
    bool whole = run.steps != NULL && run.file != NULL && run.junction != NULL &&
                 run.routine != NULL && run.where != NULL;
    for (size_t i = 0; run.steps != NULL && i < routine->n_phases; i++) {
        run.steps[i] = (struct sl_tally_step){.phase = sl_strdup(routine->phases[i].id),
                                              .heard = mark->phases[i].heard,
                                              .unclear = mark->phases[i].unclear};
        whole = whole && run.steps[i].phase != NULL;
        run.n_steps++;
    }
    for (size_t i = 0; whole && i < mark->n_faults; i++) {
        run.steps[mark->faults[i].phase].faults[mark->faults[i].kind]++;
    }
    if (!whole) {
        sl_tally_run_clear(&run);
        return false;
    }
    const char *learner = submission->learner == NULL ? "no name" : submission->learner;
    return sl_tally_add(&job->tally, &run, NULL) == SL_OK &&
           sl_class_grid_add(&job->grid, learner, mark, NULL) == SL_OK;
}

static bool hand_out(void *user, size_t index, struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct collecting *job = user;
    struct paper *paper = &job->papers[index];
    struct sl_submission *submission = &job->submissions[paper->submission];
    struct sl_submission_run *run = &submission->runs[paper->run];
    if (attempt != NULL) {
        run->marked = paper->claimed.marked = true;
        run->score = paper->claimed.score = attempt->mark.scores.overall;
        run->faults = paper->claimed.faults = attempt->mark.n_faults;
        job->short_of_memory =
            !add_to_tally(job, submission, paper, attempt) || job->short_of_memory;
    } else {
        run->failure = sl_strdup(failure->what == NULL ? "memory ran out" : failure->what);
    }
    run->objection = sl_homework_objection(&job->set, &paper->claimed);
    sl_homework_add(&submission->state, &job->set, &paper->claimed);
    return !job->short_of_memory && sl_interrupt_caught(&job->interrupt) == 0;
}

static enum sl_status mark_papers(struct collecting *job, struct sl_error *error)
{
    const struct sl_recogniser_paths paths = {.pronunciations = job->pronunciations};
    for (size_t i = 0; i < job->n_papers; i++) {
        job->files[i].task = &job->papers[i].task; /* the array does not move any more */
    }
    const struct sl_batch batch = {.paths = &paths,
                                   .files = job->files,
                                   .n_files = job->n_papers,
                                   .jobs = job->options->jobs,
                                   .done = hand_out,
                                   .user = job};
    enum sl_status status = job->n_papers == 0 ? SL_OK : sl_mark_batch(&batch, error);
    return status == SL_OK && job->short_of_memory ? sl_fail_memory(error) : status;
}

/* Removes a folder and the files in it. */
static void remove_folder(const char *folder)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry = NULL;
    while (entries != NULL && (entry = readdir(entries)) != NULL) {
        char *path = sl_strf("%s/%s", folder, entry->d_name);
        if (path != NULL) {
            (void)unlink(path);
        }
        free(path);
    }
    if (entries != NULL) {
        closedir(entries);
    }
    (void)rmdir(folder);
}

/* Some bags, unpacked below a folder of their own, marked, and removed again. */
static enum sl_status collect_some(struct collecting *job, size_t first, size_t n,
                                   const char *above, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    char *folders[BAGS_AT_ONCE] = {0};
    job->n_papers = 0;
    for (size_t i = 0; i < n && status == SL_OK; i++) {
        folders[i] = sl_strf("%s/%zu", above, first + i);
        status = folders[i] == NULL ? sl_fail_memory(error)
                                    : open_bag(job, first + i, folders[i], &job->takes[i], error);
    }
    if (status == SL_OK) {
        status = mark_papers(job, error);
    }
    for (size_t i = 0; i < n; i++) {
        if (folders[i] != NULL) {
            remove_folder(folders[i]);
        }
        free(folders[i]);
        sl_homework_takes_clear(&job->takes[i]);
    }
    return status;
}

static enum sl_status collect_all(struct collecting *job, struct sl_error *error)
{
    const char *base = getenv("TMPDIR");
    char *above = sl_strf("%s/sayline-collect-XXXXXX", base == NULL ? "/tmp" : base);
    if (above == NULL || mkdtemp(above) == NULL) {
        free(above);
        return sl_fail(error, SL_IO, base == NULL ? "/tmp" : base, "set TMPDIR to a folder",
                       "no folder can be made to unpack bags in");
    }
    size_t n = job->options->n_operands;
    bool talkative = isatty(STDERR_FILENO) == 1;
    enum sl_status status = SL_OK;
    for (size_t first = 0; first < n && status == SL_OK; first += BAGS_AT_ONCE) {
        size_t some = n - first < BAGS_AT_ONCE ? n - first : BAGS_AT_ONCE;
        if (talkative) {
            fprintf(stderr, "\rbag %zu of %zu", first + 1, n);
        }
        if (sl_interrupt_caught(&job->interrupt) == 0) {
            status = collect_some(job, first, some, above, error);
        }
    }
    if (talkative) {
        fputs("\r\033[K", stderr);
    }
    (void)rmdir(above);
    free(above);
    return status;
}

static enum sl_exit tell(struct collecting *job, struct sl_error *error)
{
    const struct sl_rehearse_options *style = &job->options->rehearse;
    const struct sl_class group = {.set = &job->set,
                                   .submissions = job->submissions,
                                   .n_submissions = job->options->n_operands,
                                   .tally = &job->tally};
    struct sl_str out = {0};
    const char *html = job->options->html;
    enum sl_status status = sl_tally_sort(&job->tally, error);
    if (status == SL_OK && html != NULL) {
        status = sl_homework_save_page(html, &group, &job->setups[0].routine, &job->grid, error);
    }
    if (status != SL_OK) {
        return sl_conclude(&out, error);
    }
    if (style->json) {
        char *json = NULL;
        if (sl_class_to_json(&group, &json, error) == SL_OK) {
            sl_str_addf(&out, "%s\n", json);
        }
        free(json);
    } else {
        sl_report_class(&out, &group, &style->style);
    }
    enum sl_exit code = sl_conclude(&out, error);
    for (size_t i = 0; i < group.n_submissions; i++) {
        code = job->submissions[i].refusal != NULL ? SL_EXIT_FAILED : code;
    }
    return code;
}

static void clear(struct collecting *job)
{
    for (size_t i = 0; job->submissions != NULL && i < job->options->n_operands; i++) {
        sl_submission_clear(&job->submissions[i]);
    }
    for (size_t i = 0; job->setups != NULL && i < SL_HOMEWORK_ITEMS_MAX; i++) {
        sl_setup_clear(&job->setups[i]);
    }
    sl_homework_clear(&job->set);
    sl_tally_clear(&job->tally);
    sl_class_grid_clear(&job->grid);
    free(job->submissions);
    free(job->setups);
    free(job->papers);
    free(job->files);
    free(job->pronunciations);
}

enum sl_exit sl_homework_collect(const struct sl_homework_options *options)
{
    struct sl_error error = {0};
    struct collecting job = {.options = options};
    enum sl_exit code = SL_EXIT_FAILED;
    sl_interrupt_hold(&job.interrupt);
    if (load_set(&job, &error) != SL_OK) {
        code = options->set == NULL ? SL_EXIT_USAGE : sl_exit_for(&error);
    } else if (collect_all(&job, &error) == SL_OK) {
        int caught = sl_interrupt_caught(&job.interrupt);
        code = caught != 0 ? (enum sl_exit)(SL_EXIT_SIGNAL + caught) : tell(&job, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    clear(&job);
    sl_interrupt_release(&job.interrupt);
    return code;
}
