/*
 * The run file X.run.json beside a recording X.flac: what the recording is of, so that it can be
 * marked again without being told. docs/formats.md, "Run file".
 */
#ifndef SL_FILES_RUN_FILE_H
#define SL_FILES_RUN_FILE_H

#include "core/status.h"

#include <stdbool.h>
#include <stdint.h>

/* Initialise with {0}. Texts are owned where sl_run_file_load made them; NULL: not said. */
struct sl_run_file {
    char *junction, *routine, *car; /* names or paths, as for a command line */
    char *prompting;                /* the level's word */
    char *version;                  /* of the program that recorded */
    char *ended;      /* "running" until the end is known, then "done", "stopped", "device-lost" or
                         "disk-full" */
    double from_s;    /* where on the recording's clock the announcement ended */
    bool from_known;  /* false: the run did not get so far */
    unsigned xruns;   /* how often the device lost sound: from_s may be off after them */
    double lost_s;    /* recorded as silence because the computer was too slow */
    double starved_s; /* and played as silence */
    bool half_duplex;
    bool driven;   /* the words drove a car; then `seed` says who else was there (situation.h) */
    uint64_t seed; /* 0 to 2^32 - 1 */
};

/* The path of the run file of a recording: its ending becomes .run.json. The caller frees; NULL
 * when memory runs out. */
char *sl_run_file_path(const char *recording);

/* Writes it atomically. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_run_file_save(const char *path, const struct sl_run_file *run,
                                struct sl_error *error);

/* Reads it. SL_NOT_FOUND, SL_IO, SL_FORMAT (no JSON, a key of the wrong kind, another format),
 * SL_TOO_LARGE. Release with sl_run_file_clear. */
enum sl_status sl_run_file_load(const char *path, struct sl_run_file *run, struct sl_error *error);

void sl_run_file_clear(struct sl_run_file *run);

/* One line of JSON: the mark's object `result` (as sl_result_to_json made it) with the run under
 * the key "run". The caller frees. */
enum sl_status sl_run_to_json(const char *result, const struct sl_run_file *run, char **json,
                              struct sl_error *error);

#endif
