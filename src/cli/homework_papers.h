/*
 * Recordings that were handed in, each marked from its sound: once, as a mark that was made before
 * is taken from the cache (files/mark_cache.h).
 */
#ifndef SL_CLI_HOMEWORK_PAPERS_H
#define SL_CLI_HOMEWORK_PAPERS_H

#include "cli/interrupt.h"
#include "cli/shared.h"
#include "core/homework.h"
#include "core/tally.h"
#include "files/digest.h"
#include "files/mark_cache.h"
#include "practice/mark_batch.h"

/* A recording on its way: whose it is, what it is marked against, and the mark. */
struct sl_paper {
    size_t submission, run;         /* by bag, and in it */
    char *recording;                /* path; owned */
    struct sl_digest digest;        /* of it */
    const struct sl_setup *setup;   /* not owned */
    double from_s;                  /* as its run file says */
    uint64_t seed;                  /* likewise, of a drive */
    struct sl_junction met;         /* with who else was there; strings are the setup's */
    struct sl_homework_run claimed; /* of the bag; not owned */
    struct sl_tally mark;           /* of one run, or none: not marked (yet) */
    char *failure;                  /* why it could not be; owned, NULL: it could */
};

/* Initialise with {0}; release with sl_papers_clear. */
struct sl_papers {
    struct sl_paper *items;
    size_t count, room;
};

/* How they are marked; nothing is owned. */
struct sl_paper_marking {
    const char *pronunciations;
    const struct sl_mark_cache *cache;
    struct sl_interrupt *interrupt;
    int jobs;
    sl_progress *progress; /* as of struct sl_batch, of those that are not in the cache */
    void *user;            /* for it */
};

/* Marks all; fewer when it is interrupted. Errors as sl_mark_batch. */
enum sl_status sl_papers_mark(struct sl_papers *papers, const struct sl_paper_marking *marking,
                              struct sl_error *error);

void sl_papers_clear(struct sl_papers *papers);

#endif
