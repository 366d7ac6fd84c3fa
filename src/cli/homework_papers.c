#include "cli/homework_papers.h"

#include "files/mark_lines.h"

#include <stdlib.h>
#include <string.h>

/* A paper that has to be heard. */
struct unheard {
    struct sl_paper *paper;
    struct sl_task task;
    char *kept; /* where the mark is to be kept; NULL: nowhere */
};

struct hearing {
    const struct sl_paper_marking *how;
    struct unheard *unheard;
    struct sl_batch_file *files; /* of these */
    size_t n;
    bool short_of_memory;
};

/* The mark goes through its line of JSON, so that it is the same whether it is made or kept. */
static enum sl_status take_mark(const struct unheard *unheard, const struct sl_batch_file *file,
                                const struct sl_attempt *attempt)
{
    struct sl_paper *paper = unheard->paper;
    const char *kept = unheard->kept;
    const struct sl_driving driving = {
        .task = file->task, .car = &paper->setup->car, .heard = &attempt->heard};
    const bool driven = paper->claimed.driven;
    struct sl_result result = sl_batch_result(file, attempt);
    struct sl_drive drive = {0};
    char *line = NULL;
    enum sl_status status = driven ? sl_drive_make(&driving, &drive, NULL) : SL_OK;
    result.file = sl_base_name(file->path);
    result.drive = driven ? &drive : NULL;
    if (status == SL_OK) {
        status = sl_result_to_json(&result, &line, NULL);
    }
    if (status == SL_OK) {
        status = sl_mark_line_add(line, strlen(line), file->path, &paper->mark, NULL);
    }
    if (status == SL_OK) {
        sl_mark_cache_keep(kept, line);
    }
    free(line);
    sl_drive_clear(&drive);
    return status;
}

static bool hand_out(void *user, size_t index, struct sl_attempt *attempt,
                     const struct sl_error *failure)
{
    struct hearing *hearing = user;
    struct sl_paper *paper = hearing->unheard[index].paper;
    if (attempt != NULL) {
        hearing->short_of_memory =
            take_mark(&hearing->unheard[index], &hearing->files[index], attempt) != SL_OK;
    } else {
        paper->failure = sl_strdup(failure->what == NULL ? "memory ran out" : failure->what);
        hearing->short_of_memory = paper->failure == NULL;
    }
    return !hearing->short_of_memory && sl_interrupt_caught(hearing->how->interrupt) == 0;
}

/* The junction as the run met it: in a drive with who else was there. */
static struct sl_junction met_by(const struct sl_paper *paper)
{
    const struct sl_setup *setup = paper->setup;
    struct sl_junction met = setup->junction;
    if (paper->claimed.driven) {
        struct sl_situation others;
        sl_situation_make(&setup->junction, &setup->routine, &setup->plan, paper->seed, &others);
        sl_situation_apply(&others, &met);
    }
    return met;
}

/* Takes the mark of a paper from the cache, or puts the paper with those to be heard. */
static void look_up(struct hearing *hearing, struct sl_paper *paper)
{
    const struct sl_setup *setup = paper->setup;
    paper->met = met_by(paper);
    const struct sl_planned against = {.plan = &setup->plan,
                                       .junction = &paper->met,
                                       .routine = &setup->routine,
                                       .car = &setup->car};
    const struct sl_mark_cache_key key = {&against, paper->from_s, paper->claimed.driven,
                                          paper->recording};
    char *kept = sl_mark_cache_path(hearing->how->cache, &key);
    if (sl_mark_cache_find(kept, &paper->mark)) {
        free(kept);
        return;
    }
    size_t n = hearing->n++;
    hearing->unheard[n] =
        (struct unheard){.paper = paper,
                         .task = {.routine = &setup->routine,
                                  .junction = &paper->met,
                                  .plan = &setup->plan,
                                  .options = {.timed = true, .from_s = paper->from_s}},
                         .kept = kept};
    hearing->files[n] =
        (struct sl_batch_file){.path = paper->recording, .task = &hearing->unheard[n].task};
}

static void tell_progress(void *user, double share)
{
    const struct hearing *hearing = user;
    if (hearing->how->progress != NULL) {
        hearing->how->progress(hearing->how->user, share);
    }
}

static enum sl_status hear(struct hearing *hearing, struct sl_error *error)
{
    const struct sl_paper_marking *how = hearing->how;
    const struct sl_recogniser_paths paths = {.pronunciations = how->pronunciations};
    const struct sl_batch batch = {.paths = &paths,
                                   .files = hearing->files,
                                   .n_files = hearing->n,
                                   .jobs = how->jobs,
                                   .done = hand_out,
                                   .progress = tell_progress,
                                   .user = hearing};
    enum sl_status status = hearing->n == 0 ? SL_OK : sl_mark_batch(&batch, error);
    return status == SL_OK && hearing->short_of_memory ? sl_fail_memory(error) : status;
}

enum sl_status sl_papers_mark(struct sl_papers *papers, const struct sl_paper_marking *marking,
                              struct sl_error *error)
{
    const size_t room = papers->count + 1;
    struct hearing hearing = {.how = marking,
                              .unheard = calloc(room, sizeof *hearing.unheard),
                              .files = calloc(room, sizeof *hearing.files)};
    bool whole = hearing.unheard != NULL && hearing.files != NULL;
    for (size_t i = 0; i < papers->count && whole; i++) {
        look_up(&hearing, &papers->items[i]);
    }
    enum sl_status status = whole ? hear(&hearing, error) : sl_fail_memory(error);
    for (size_t i = 0; i < hearing.n; i++) {
        free(hearing.unheard[i].kept);
    }
    free(hearing.unheard);
    free(hearing.files);
    return status;
}

void sl_papers_clear(struct sl_papers *papers)
{
    for (size_t i = 0; i < papers->count; i++) {
        free(papers->items[i].recording);
        free(papers->items[i].failure);
        sl_tally_clear(&papers->items[i].mark);
    }
    free(papers->items);
    *papers = (struct sl_papers){0};
}
