/*
 * The recordings of `sayline mark`, each with what it is marked against: the junction of the
 * command line, or the one that the rehearsal noted beside the recording.
 */
#ifndef SL_CLI_MARK_FILES_H
#define SL_CLI_MARK_FILES_H

#include "cli/shared.h"
#include "practice/mark_batch.h"

/* How a command asks for what a recording does not tell. */
struct sl_mark_words {
    const char *no_junction, *name_one;
    const char *give_from; /* the rehearsal ended before the announcement did */
};

/* Of the command line; nothing is owned. */
struct sl_mark_choice {
    struct sl_mark_words words;
    struct sl_setup_names names; /* NULL where not given */
    struct sl_mark_options options;
    bool from_given;
};

/* Initialise with {0}; release with sl_mark_files_clear. */
struct sl_mark_files {
    struct sl_batch_file *files; /* in the order of the paths */
    size_t n_files;
    struct sl_task *tasks;         /* by file */
    struct sl_setup_names *names;  /* by file: what its task was loaded by */
    const struct sl_setup **of;    /* by file: what its task was made of; NULL: it has no task */
    struct sl_error *failures;     /* by file */
    struct sl_mark_setup **setups; /* each junction, routine and car once */
    size_t n_setups, setups_room;
};

/*
 * Loads what the paths are marked against; they must outlive `files`. With names.junction errors of
 * sl_setup_load; without, a path whose junction cannot be told or loaded gets a failure of its own,
 * and only SL_NO_MEMORY is returned. Release the files in every case.
 */
enum sl_status sl_mark_files_make(struct sl_mark_files *files, const char *const *paths,
                                  size_t n_paths, const struct sl_mark_choice *choice,
                                  struct sl_error *error);

/* The value of an option that says where in the recording the junction was announced; NULL: *from_s
 * stays as it is. SL_INVALID when it is no number of seconds within a day. */
enum sl_status sl_mark_from_choose(const char *option, const char *text, double *from_s,
                                   struct sl_error *error);

void sl_mark_files_clear(struct sl_mark_files *files);

#endif
