/* The runs that were made for a set. */
#include "files/homework_file.h"

#include "files/atomic.h"
#include "files/mark_lines.h"
#include "files/path.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

static const char run_ending[] = ".run.json";

/* The path with `ending` in place of `old` at its end, or behind it. */
static char *with_ending(const char *path, const char *old, const char *ending)
{
    size_t length = strlen(path);
    size_t off = strlen(old);
    bool has = length > off && strcmp(path + length - off, old) == 0;
    return sl_strf("%.*s%s", (int)(has ? length - off : length), path, ending);
}

char *sl_homework_folder(const char *path)
{
    return with_ending(path, ".yaml", ".runs");
}

char *sl_homework_mark_path(const char *recording)
{
    return with_ending(recording, ".flac", ".mark.json");
}

enum sl_status sl_homework_mark_save(const struct sl_result *result, const struct sl_run_file *run,
                                     struct sl_error *error)
{
    char *path = sl_homework_mark_path(result->file);
    char *mark = NULL;
    char *whole = NULL;
    enum sl_status status =
        path == NULL ? sl_fail_memory(error) : sl_result_to_json(result, &mark, error);
    if (status == SL_OK) {
        status = sl_run_to_json(mark, run, &whole, error);
    }
    if (status == SL_OK) {
        status = sl_write_text_file(path, whole, strlen(whole), error);
    }
    free(whole);
    free(mark);
    free(path);
    return status;
}

static void clear_take(struct sl_homework_take *take)
{
    free(take->recording);
    free(take->junction);
    free(take->routine);
    *take = (struct sl_homework_take){0};
}

void sl_homework_takes_clear(struct sl_homework_takes *takes)
{
    for (size_t i = 0; i < takes->count; i++) {
        clear_take(&takes->items[i]);
    }
    free(takes->items);
    *takes = (struct sl_homework_takes){0};
}

/* The mark beside the recording, where there is one that can be used. */
static enum sl_status take_mark(struct sl_homework_take *take, struct sl_error *error)
{
    char *path = sl_homework_mark_path(take->recording);
    struct sl_tally tally = {0};
    if (path == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_mark_lines_add(path, &tally, NULL);
    const struct sl_tally_run *mark = tally.n_runs == 1 ? tally.runs : NULL;
    if (status == SL_OK && mark != NULL && mark->failure == NULL) {
        size_t unclear = 0;
        take->run.marked =
            strcmp(mark->junction, take->junction) == 0 && mark->driven == take->run.driven;
        take->run.came_of = mark->came_of;
        take->run.score = mark->overall;
        sl_tally_count(mark, &take->run.faults, &unclear);
    }
    sl_tally_clear(&tally);
    free(path);
    return status == SL_NO_MEMORY ? sl_fail_memory(error) : SL_OK;
}

/* Makes a take of a run file; one without a recording is none. */
static enum sl_status make_take(const char *run_path, struct sl_homework_take *take,
                                struct sl_error *error)
{
    struct sl_run_file run = {0};
    if (sl_run_file_load(run_path, &run, NULL) != SL_OK) {
        return SL_OK;
    }
    take->recording = with_ending(run_path, run_ending, ".flac");
    take->junction = sl_path_name(run.junction);
    take->routine = sl_path_name(run.routine == NULL ? SL_HOMEWORK_ROUTINE : run.routine);
    bool whole = take->recording != NULL && take->junction != NULL && take->routine != NULL;
    enum sl_prompting prompting =
        run.prompting == NULL ? SL_PROMPTING_COUNT : sl_prompting_from_word(run.prompting);
    take->run = (struct sl_homework_run){
        .junction = take->junction,
        .routine = take->routine,
        .prompting = prompting == SL_PROMPTING_COUNT ? SL_PROMPTING_FULL : prompting,
        .finished = run.from_known && run.ended != NULL && strcmp(run.ended, "done") == 0,
        .driven = run.driven};
    take->from_s = run.from_s;
    take->seed = run.seed;
    sl_run_file_clear(&run);
    if (!whole) {
        return sl_fail_memory(error);
    }
    if (!sl_path_exists(take->recording)) {
        clear_take(take);
        return SL_OK;
    }
    return take_mark(take, error);
}

static enum sl_status add_take(struct sl_homework_takes *takes, const char *folder,
                               const char *name, struct sl_error *error)
{
    struct sl_homework_take take = {0};
    struct sl_homework_take *items =
        sl_grow(takes->items, takes->count, &takes->room, sizeof *items);
    takes->items = items != NULL ? items : takes->items;
    char *path = sl_strf("%s/%s", folder, name);
    enum sl_status status =
        items == NULL || path == NULL ? sl_fail_memory(error) : make_take(path, &take, error);
    if (status == SL_OK && take.recording != NULL) {
        items[takes->count++] = take;
    } else {
        clear_take(&take);
    }
    free(path);
    return status;
}

static int by_name(const void *a, const void *b)
{
    const struct sl_homework_take *one = a;
    const struct sl_homework_take *other = b;
    return strcmp(one->recording, other->recording);
}

enum sl_status sl_homework_takes_find(const char *folder, struct sl_homework_takes *takes,
                                      struct sl_error *error)
{
    struct sl_homework_takes found = {0};
    enum sl_status status = SL_OK;
    DIR *entries = opendir(folder);
    if (entries == NULL && errno != ENOENT) {
        return sl_fail(error, SL_IO, folder, "check that the folder may be read", "%s",
                       strerror(errno));
    }
    const struct dirent *entry = NULL;
    while (status == SL_OK && entries != NULL && (entry = readdir(entries)) != NULL) {
        size_t length = strlen(entry->d_name);
        size_t ending = strlen(run_ending);
        if (length > ending && strcmp(entry->d_name + length - ending, run_ending) == 0) {
            status = add_take(&found, folder, entry->d_name, error);
        }
    }
    if (entries != NULL) {
        closedir(entries);
    }
    if (status != SL_OK) {
        sl_homework_takes_clear(&found);
        return status;
    }
    if (found.count > 1) {
        qsort(found.items, found.count, sizeof *found.items, by_name);
    }
    *takes = found;
    return SL_OK;
}

struct sl_homework_state sl_homework_state_of(const struct sl_homework *set,
                                              const struct sl_homework_takes *takes)
{
    struct sl_homework_state state = {0};
    for (size_t i = 0; i < takes->count; i++) {
        sl_homework_add(&state, set, &takes->items[i].run);
    }
    return state;
}
