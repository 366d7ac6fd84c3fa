#include "cli/mark_files.h"

#include "core/str.h"
#include "files/path.h"
#include "files/quantity.h"
#include "files/run_file.h"

#include <stdlib.h>
#include <string.h>

#define FROM_MOST_S 86400.0

/* A setup and the names under which it was loaded, owned. */
struct sl_mark_setup {
    char *junction, *routine, *car; /* NULL: the default */
    bool seeded;
    uint64_t seed;
    struct sl_setup setup;
};

static bool same(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

static bool loaded_by(const struct sl_mark_setup *entry, const struct sl_setup_names *names)
{
    return same(entry->junction, names->junction) && same(entry->routine, names->routine) &&
           same(entry->car, names->car) && entry->seeded == names->seeded &&
           entry->seed == names->seed;
}

static void free_setup(struct sl_mark_setup *entry)
{
    if (entry != NULL) {
        sl_setup_clear(&entry->setup);
        free(entry->junction);
        free(entry->routine);
        free(entry->car);
        free(entry);
    }
}

static enum sl_status load_setup(struct sl_mark_files *files, const struct sl_setup_names *names,
                                 struct sl_error *error)
{
    struct sl_mark_setup **setups =
        sl_grow(files->setups, files->n_setups, &files->setups_room, sizeof *setups);
    files->setups = setups != NULL ? setups : files->setups;
    struct sl_mark_setup *entry = calloc(1, sizeof *entry);
    if (setups == NULL || entry == NULL) {
        free(entry);
        return sl_fail_memory(error);
    }
    entry->junction = sl_strdup(names->junction);
    entry->routine = sl_strdup(names->routine);
    entry->car = sl_strdup(names->car);
    entry->seeded = names->seeded;
    entry->seed = names->seed;
    enum sl_status status = sl_setup_load(&entry->setup, names, error);
    if (status != SL_OK) {
        free_setup(entry);
        return status;
    }
    files->setups[files->n_setups++] = entry;
    return SL_OK;
}

/* Loads a setup, unless it is there already, and makes the file's task with it. */
static enum sl_status take_setup(struct sl_mark_files *files, size_t file,
                                 const struct sl_setup_names *names,
                                 const struct sl_mark_options *options, struct sl_error *error)
{
    size_t i = 0;
    while (i < files->n_setups && !loaded_by(files->setups[i], names)) {
        i++;
    }
    if (i == files->n_setups) {
        enum sl_status status = load_setup(files, names, error);
        if (status != SL_OK) {
            return status;
        }
    }
    const struct sl_mark_setup *entry = files->setups[i];
    const struct sl_setup *setup = &entry->setup;
    files->names[file] = (struct sl_setup_names){.junction = entry->junction,
                                                 .routine = entry->routine,
                                                 .car = entry->car,
                                                 .approach = names->approach,
                                                 .seeded = names->seeded,
                                                 .seed = names->seed};
    files->tasks[file] = (struct sl_task){.routine = &setup->routine,
                                          .junction = &setup->met,
                                          .plan = &setup->plan,
                                          .options = *options};
    files->files[file].task = &files->tasks[file];
    files->of[file] = setup;
    return SL_OK;
}

/* What the rehearsal that made a recording noted beside it. */
static enum sl_status load_run(const char *file, const struct sl_mark_words *words,
                               struct sl_run_file *run, struct sl_error *error)
{
    char *path = sl_run_file_path(file);
    enum sl_status status = path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK && !sl_path_exists(path)) {
        status = sl_fail(error, SL_NOT_FOUND, file, words->name_one, "%s", words->no_junction);
    }
    if (status == SL_OK) {
        status = sl_run_file_load(path, run, error);
    }
    free(path);
    return status;
}

/* A recording of a rehearsal, against its own junction. */
static enum sl_status take_rehearsed(struct sl_mark_files *files, size_t file,
                                     const struct sl_mark_choice *choice, struct sl_error *error)
{
    const char *path = files->files[file].path;
    struct sl_run_file run = {0};
    enum sl_status status = load_run(path, &choice->words, &run, error);
    if (status == SL_OK && !choice->from_given && choice->options.timed && !run.from_known) {
        status = sl_fail(error, SL_INVALID, path, choice->words.give_from,
                         "the rehearsal ended before the announcement did");
    }
    if (status == SL_OK) {
        const struct sl_setup_names *given = &choice->names;
        const struct sl_setup_names names = {.junction = run.junction,
                                             .routine = given->routine != NULL ? given->routine
                                                                               : run.routine,
                                             .car = given->car != NULL ? given->car : run.car,
                                             .approach = given->approach,
                                             .seeded = given->seeded || run.driven,
                                             .seed = given->seeded ? given->seed : run.seed};
        struct sl_mark_options options = choice->options;
        options.from_s = choice->from_given ? options.from_s : run.from_s;
        status = take_setup(files, file, &names, &options, error);
    }
    sl_run_file_clear(&run);
    return status;
}

enum sl_status sl_mark_files_make(struct sl_mark_files *files, const char *const *paths,
                                  size_t n_paths, const struct sl_mark_choice *choice,
                                  struct sl_error *error)
{
    size_t room = n_paths == 0 ? 1 : n_paths;
    files->files = calloc(room, sizeof *files->files);
    files->tasks = calloc(room, sizeof *files->tasks);
    files->names = calloc(room, sizeof *files->names);
    files->of = calloc(room, sizeof *files->of);
    files->failures = calloc(room, sizeof *files->failures);
    if (files->files == NULL || files->tasks == NULL || files->names == NULL || files->of == NULL ||
        files->failures == NULL) {
        return sl_fail_memory(error);
    }
    files->n_files = n_paths;
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < n_paths && status == SL_OK; i++) {
        files->files[i].path = paths[i];
        if (choice->names.junction != NULL) {
            status = take_setup(files, i, &choice->names, &choice->options, error);
        } else if (take_rehearsed(files, i, choice, &files->failures[i]) != SL_OK) {
            files->files[i].failure = &files->failures[i];
        }
    }
    return status;
}

enum sl_status sl_mark_from_choose(const char *option, const char *text, double *from_s,
                                   struct sl_error *error)
{
    if (text != NULL &&
        (!sl_number_parse(text, from_s) || *from_s < 0.0 || *from_s > FROM_MOST_S)) {
        return sl_fail(error, SL_INVALID, option, NULL,
                       "\"%s\" is not a number of seconds from 0 to %.0f", text, FROM_MOST_S);
    }
    return SL_OK;
}

void sl_mark_files_clear(struct sl_mark_files *files)
{
    for (size_t i = 0; i < files->n_files; i++) {
        sl_error_clear(&files->failures[i]);
    }
    for (size_t i = 0; i < files->n_setups; i++) {
        free_setup(files->setups[i]);
    }
    free(files->files);
    free(files->tasks);
    free(files->names);
    free(files->of);
    free(files->failures);
    free(files->setups);
    *files = (struct sl_mark_files){0};
}
