/*
 * What the actions of `sayline homework` share: cmd_homework.c (options, making and checking a
 * set), homework_do.c (doing it), homework_pack.c
 * (packing it), homework_ics.c (the reminder), homework_collect.c and homework_papers.c (taking in
 * what others packed), homework_page.c (the page of that).
 */
#ifndef SL_CLI_HOMEWORK_PARTS_H
#define SL_CLI_HOMEWORK_PARTS_H

#include "cli/rehearse.h"
#include "cli/shared.h"
#include "core/class_grid.h"
#include "core/submission.h"
#include "files/homework_file.h"

/* Of the command line; nothing is owned. */
struct sl_homework_options {
    const char *const *operands; /* after the action */
    size_t n_operands;
    const char *out;
    const char *set;  /* of collect */
    const char *ics;  /* of new and do: where a reminder is written, or NULL */
    const char *html; /* of collect: where the page is written, or NULL */
    int jobs;
    bool drive; /* of new: the junctions are driven to */
    bool yes;
    struct sl_rehearse_options rehearse; /* devices, voice, screen, --json, style */
};

/* A set and its runs; initialise with {0}. */
struct sl_homework_job {
    const struct sl_homework_options *options;
    const char *path;
    struct sl_homework set;
    char *folder; /* of the runs */
    struct sl_homework_takes takes;
};

/* Loads the set that the options name and finds its runs. Close it in every case. */
enum sl_status sl_homework_open(struct sl_homework_job *job,
                                const struct sl_homework_options *options, struct sl_error *error);

/* A program that was killed after a run and before its mark leaves the run unmarked: it is marked
 * now, from its sound. *code tells whether one could not be. */
enum sl_status sl_homework_catch_up(struct sl_homework_job *job, enum sl_exit *code,
                                    struct sl_error *error);

void sl_homework_close(struct sl_homework_job *job);

/* Writes a reminder of the day on which the set is due. SL_INVALID when it does not say; SL_IO,
 * SL_NO_MEMORY. */
enum sl_status sl_homework_save_ics(const struct sl_homework *set, const char *path,
                                    struct sl_error *error);

/* Writes or prints a new set of the junctions that are the operands. */
enum sl_exit sl_homework_new(const struct sl_homework_options *options);

/* Writes the page of a class. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_homework_save_page(const char *path, const struct sl_class *group,
                                     struct sl_error *error);

/* Packs the runs that count; says what is in it and asks first. */
enum sl_exit sl_homework_pack(const struct sl_homework_options *options);

/* Checks bags, marks them again and tells of the class. */
enum sl_exit sl_homework_collect(const struct sl_homework_options *options);

/* Shows what is left of a set; the exit code. */
enum sl_exit sl_homework_show_left(const struct sl_homework_options *options);

/* Does what is left of a set and shows what is left then; all that is to be said was said. */
enum sl_exit sl_homework_do(const struct sl_homework_options *options);

/* The day by the clock and the time zone of the machine; false when it cannot be told. */
bool sl_homework_today(struct sl_date *today);

#endif
