/*
 * Homework sets (docs/formats.md, "Homework set"), and the runs that were made for one.
 */
#ifndef SL_FILES_HOMEWORK_FILE_H
#define SL_FILES_HOMEWORK_FILE_H

#include "core/homework.h"
#include "core/status.h"
#include "core/str.h"
#include "files/result_json.h"
#include "files/run_file.h"

#define SL_HOMEWORK_ROUTINE "decide-last" /* where a set names none */
#define SL_HOMEWORK_CAR "small-petrol"

/*
 * Reads and checks a set ("-": standard input); paths in it are from the set's folder. The
 * junctions, the routine and the car are looked up, too. Errors carry "file:line:column" in the set
 * and the mend. SL_NOT_FOUND, SL_IO, SL_TOO_LARGE, SL_FORMAT, SL_INVALID, SL_NO_MEMORY.
 */
enum sl_status sl_homework_load(const char *path, struct sl_homework *set, struct sl_error *error);

/* The same from text; `origin` is its path, and named in errors. */
enum sl_status sl_homework_parse(const char *text, const char *origin, struct sl_homework *set,
                                 struct sl_error *error);

/* What a new set is made of; nothing is owned. */
struct sl_homework_draft {
    const char *const *junctions; /* names or paths, each on a line; taken as right */
    size_t n_junctions;
    bool drive; /* they are driven, else rehearsed */
    struct sl_date due;
};

/* Adds a set with a word on every key, to be changed by hand. */
void sl_homework_template(struct sl_str *out, const struct sl_homework_draft *made);

/* The folder of the runs made for a set: its path with .runs in place of .yaml. The caller frees;
 * NULL when memory runs out. */
char *sl_homework_folder(const char *path);

/* The mark kept beside a recording X.flac, X.mark.json: one line as of `sayline mark --json`. The
 * caller frees; NULL when memory runs out. */
char *sl_homework_mark_path(const char *recording);

/* Writes that file for result->file, whole or not at all. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_homework_mark_save(const struct sl_result *result, const struct sl_run_file *run,
                                     struct sl_error *error);

/* A run that was begun. Texts are owned. */
struct sl_homework_take {
    char *recording; /* path */
    char *junction, *routine;
    double from_s; /* as in its run file, and the next */
    uint64_t seed; /* of a drive */
    struct sl_homework_run run;
};

/* Initialise with {0}; release with sl_homework_takes_clear. */
struct sl_homework_takes {
    struct sl_homework_take *items; /* by name, that is from the first to the last */
    size_t count, room;
};

/*
 * Finds the runs in a folder by their run files; a folder that does not exist has none. Nothing
 * else is the state of the homework: a run is there when its files are. A run file that cannot be
 * used, and one without its recording, is passed over; a mark that cannot be used is as none, as it
 * can be made again from the sound. SL_IO, SL_NO_MEMORY.
 */
enum sl_status sl_homework_takes_find(const char *folder, struct sl_homework_takes *takes,
                                      struct sl_error *error);

void sl_homework_takes_clear(struct sl_homework_takes *takes);

/* A set and its runs, for results; nothing is owned. */
struct sl_homework_view {
    const char *path; /* of the set, as given */
    const struct sl_homework *set;
    const struct sl_homework_takes *takes;
};

/* What is done and what is left as one object on one line (docs/formats.md, "JSON of homework");
 * the caller frees. */
enum sl_status sl_homework_to_json(const struct sl_homework_view *view, char **json,
                                   struct sl_error *error);

/* How far a set is with these runs. */
struct sl_homework_state sl_homework_state_of(const struct sl_homework *set,
                                              const struct sl_homework_takes *takes);

#endif
