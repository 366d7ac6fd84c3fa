/* Collecting homework: bags are checked, and every recording is marked again from its sound. */
#include "cli/homework_papers.h"
#include "cli/homework_parts.h"

#include "core/submission.h"
#include "files/bag_reader.h"
#include "files/class_json.h"
#include "files/models.h"
#include "files/scratch.h"
#include "report/class_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BAGS_AT_ONCE 32 /* unpacked on the disk at a time */

struct collecting {
    const struct sl_homework_options *options;
    struct sl_homework set;
    struct sl_setup *setups; /* by item of the set */
    char *pronunciations;
    struct sl_submission *submissions; /* by bag */
    struct sl_tally tally;
    struct sl_class_grid grid;
    struct sl_interrupt interrupt;
    struct sl_mark_cache cache;
    struct sl_homework_takes takes[BAGS_AT_ONCE]; /* of the bags that are unpacked */
    size_t first, some;                           /* which these are */
    bool talkative;
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

/* Marks of an earlier collecting, which may have been cut short, are taken as they are. */
static enum sl_status open_cache(struct collecting *job, struct sl_error *error)
{
    char *routine = NULL;
    char *car = NULL;
    enum sl_status status = sl_models_locate("routines", job->set.routine, &routine, error);
    if (status == SL_OK) {
        status = sl_models_locate("cars", job->set.car, &car, error);
    }
    if (status == SL_OK) {
        const char *const models[] = {job->pronunciations, routine, car};
        sl_mark_cache_open(&job->cache, models, sizeof models / sizeof *models);
    }
    free(routine);
    free(car);
    return status;
}

/* Whether the bag holds the same sound already: one run is not several. */
static bool is_copy(const struct sl_papers *papers, size_t bag, const struct sl_digest *digest)
{
    for (size_t i = 0; i < papers->count; i++) {
        const struct sl_paper *paper = &papers->items[i];
        if (paper->submission == bag && strcmp(paper->digest.sha256, digest->sha256) == 0) {
            return true;
        }
    }
    return false;
}

static enum sl_status add_paper(struct collecting *job, struct sl_papers *papers, size_t bag,
                                const struct sl_homework_take *take, struct sl_error *error)
{
    struct sl_homework_run claimed = take->run;
    claimed.marked = false;
    size_t item = sl_homework_item_of(&job->set, &claimed);
    if (item == job->set.n_items || !claimed.finished) {
        job->submissions[bag].state.uncounted++;
        return SL_OK;
    }
    struct sl_submission *submission = &job->submissions[bag];
    struct sl_digest digest;
    enum sl_status status = sl_file_digest(take->recording, &digest, error);
    if (status != SL_OK) {
        return status;
    }
    if (is_copy(papers, bag, &digest)) {
        submission->runs[submission->n_runs - 1].objection =
            "it is the same recording as a run before it";
        submission->state.uncounted++;
        return SL_OK;
    }
    struct sl_paper *items = sl_grow(papers->items, papers->count, &papers->room, sizeof *items);
    char *recording = sl_strdup(take->recording);
    papers->items = items != NULL ? items : papers->items;
    if (items == NULL || recording == NULL) {
        free(recording);
        return sl_fail_memory(error);
    }
    items[papers->count++] = (struct sl_paper){.submission = bag,
                                               .run = submission->n_runs - 1,
                                               .recording = recording,
                                               .digest = digest,
                                               .setup = &job->setups[item],
                                               .seed = take->seed,
                                               .from_s = take->from_s,
                                               .claimed = claimed};
    return SL_OK;
}

/* A take of a bag becomes a run of the submission and, where it is for the set, a paper. */
static enum sl_status add_run(struct collecting *job, struct sl_papers *papers, size_t bag,
                              const struct sl_homework_take *take, struct sl_error *error)
{
    struct sl_submission *submission = &job->submissions[bag];
    struct sl_submission_run *runs =
        sl_grow(submission->runs, submission->n_runs, &submission->room, sizeof *runs);
    if (runs == NULL) {
        return sl_fail_memory(error);
    }
    submission->runs = runs;
    struct sl_homework_run claimed = take->run;
    struct sl_submission_run *run = &runs[submission->n_runs++];
    *run = (struct sl_submission_run){.file = sl_strdup(sl_base_name(take->recording)),
                                      .junction = sl_strdup(take->junction),
                                      .was_marked = claimed.marked,
                                      .was_score = claimed.score,
                                      .was_faults = claimed.faults,
                                      .was_came_of = claimed.came_of,
                                      .driven = claimed.driven};
    claimed.marked = false;
    run->objection = sl_homework_objection(&job->set, &claimed);
    return run->file == NULL || run->junction == NULL ? sl_fail_memory(error)
                                                      : add_paper(job, papers, bag, take, error);
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
static enum sl_status open_bag(struct collecting *job, struct sl_papers *papers, size_t bag,
                               const char *folder, struct sl_error *error)
{
    struct sl_homework_takes *takes = &job->takes[bag - job->first];
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
    /* Several who did not name themselves are not one. */
    bool named = said.contact != NULL && strcmp(said.contact, SL_DEFAULT_LEARNER) != 0;
    submission->learner = named ? said.contact : NULL;
    if (!named) {
        free(said.contact);
    }
    submission->date = said.date;
    free(said.agent);
    if (status == SL_NO_MEMORY) {
        sl_error_clear(&found);
        return sl_fail_memory(error);
    }
    if (status != SL_OK) {
        sl_complain(&found);
        submission->refusal = sl_strdup(found.what == NULL ? sl_status_name(status) : found.what);
        sl_error_clear(&found);
        return submission->refusal == NULL ? sl_fail_memory(error) : SL_OK;
    }
    for (size_t i = 0; i < takes->count && status == SL_OK; i++) {
        status = add_run(job, papers, bag, &takes->items[i], error);
    }
    return status;
}

/* The mark of a paper goes into all sums, and its tally run to the class's. */
static enum sl_status add_mark(struct collecting *job, struct sl_paper *paper,
                               struct sl_error *error)
{
    const struct sl_submission *submission = &job->submissions[paper->submission];
    struct sl_submission_run *run = &submission->runs[paper->run];
    struct sl_tally_run mark = paper->mark.runs[0];
    size_t unclear = 0;
    paper->mark.n_runs = 0; /* taken over */
    run->marked = paper->claimed.marked = true;
    run->score = paper->claimed.score = mark.overall;
    sl_tally_count(&mark, &run->faults, &unclear);
    paper->claimed.faults = run->faults;
    run->came_of = paper->claimed.came_of = mark.came_of;
    free(mark.file);
    free(mark.where);
    mark.file = sl_strf("%s: %s", submission->bag, run->file);
    mark.where = sl_strdup(submission->bag);
    enum sl_status status =
        sl_class_grid_add(&job->grid, sl_submission_name(submission), &mark, error);
    if (status != SL_OK || mark.file == NULL || mark.where == NULL) {
        sl_tally_run_clear(&mark);
        return sl_fail_memory(error);
    }
    return sl_tally_add(&job->tally, &mark, error);
}

/* In the order of the bags, whichever marks were kept from before. */
static enum sl_status add_marks(struct collecting *job, struct sl_papers *papers,
                                struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < papers->count && status == SL_OK; i++) {
        struct sl_paper *paper = &papers->items[i];
        struct sl_submission *submission = &job->submissions[paper->submission];
        struct sl_submission_run *run = &submission->runs[paper->run];
        if (paper->mark.n_runs > 0) {
            status = add_mark(job, paper, error);
        }
        run->failure = paper->failure;
        paper->failure = NULL;
        run->objection = sl_homework_objection(&job->set, &paper->claimed);
        sl_homework_add(&submission->state, &job->set, &paper->claimed);
    }
    return status;
}

static void show_progress(void *user, double share)
{
    const struct collecting *job = user;
    if (job->talkative) {
        double done = (double)job->first + share * (double)job->some;
        fprintf(stderr, "\rmarking %zu bags: %3.0f %%", job->options->n_operands,
                100.0 * done / (double)job->options->n_operands);
    }
}

/* Some bags, unpacked below a folder, marked, and removed again. */
static enum sl_status collect_some(struct collecting *job, const char *above,
                                   struct sl_error *error)
{
    const struct sl_paper_marking marking = {.pronunciations = job->pronunciations,
                                             .cache = &job->cache,
                                             .interrupt = &job->interrupt,
                                             .jobs = job->options->jobs,
                                             .progress = show_progress,
                                             .user = job};
    struct sl_papers papers = {0};
    char *folders[BAGS_AT_ONCE] = {0};
    enum sl_status status = SL_OK;
    show_progress(job, 0);
    for (size_t i = 0; i < job->some && status == SL_OK; i++) {
        folders[i] = sl_strf("%s/%zu", above, job->first + i);
        status = folders[i] == NULL ? sl_fail_memory(error)
                                    : open_bag(job, &papers, job->first + i, folders[i], error);
    }
    if (status == SL_OK) {
        status = sl_papers_mark(&papers, &marking, error);
    }
    if (status == SL_OK) {
        status = add_marks(job, &papers, error);
    }
    sl_papers_clear(&papers);
    for (size_t i = 0; i < job->some; i++) {
        if (folders[i] != NULL) {
            sl_remove_folder(folders[i]);
        }
        free(folders[i]);
        sl_homework_takes_clear(&job->takes[i]);
    }
    return status;
}

static enum sl_status collect_all(struct collecting *job, struct sl_error *error)
{
    struct sl_scratch scratch = {0};
    size_t n = job->options->n_operands;
    job->talkative = isatty(STDERR_FILENO) == 1;
    enum sl_status status = open_cache(job, error);
    if (status == SL_OK) {
        status = sl_scratch_open("sayline-collect", &scratch, error);
    }
    for (; job->first < n && status == SL_OK && sl_interrupt_caught(&job->interrupt) == 0;
         job->first += job->some) {
        job->some = n - job->first < BAGS_AT_ONCE ? n - job->first : BAGS_AT_ONCE;
        status = collect_some(job, scratch.path, error);
    }
    if (job->talkative) {
        fputs("\r\033[K", stderr);
    }
    sl_scratch_close(&scratch);
    return status;
}

static enum sl_exit tell(struct collecting *job, struct sl_error *error)
{
    const struct sl_rehearse_options *style = &job->options->rehearse;
    const struct sl_class group = {.set = &job->set,
                                   .submissions = job->submissions,
                                   .n_submissions = job->options->n_operands,
                                   .tally = &job->tally,
                                   .grid = &job->grid,
                                   .routine = &job->setups[0].routine};
    struct sl_str out = {0};
    const char *html = job->options->html;
    enum sl_status status = sl_tally_sort(&job->tally, error);
    if (status == SL_OK && html != NULL) {
        status = sl_homework_save_page(html, &group, error);
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
    sl_mark_cache_close(&job->cache);
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
