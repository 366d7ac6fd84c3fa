/*
 * The history: who practised what, what was heard, how it was marked. An SQLite database; its
 * tables are in schema.c, and docs/formats.md, "History", tells what they hold.
 *
 * Every call that writes is one transaction: when it returns SL_OK, what it wrote outlives the
 * program and a power cut. All errors: SL_IO (also: another program held on to the history for
 * more than 10 s), SL_FORMAT for a damaged file, SL_NO_MEMORY, and what is said at each function.
 */
#ifndef SL_STORE_HISTORY_H
#define SL_STORE_HISTORY_H

#include "core/heard.h"
#include "core/junction.h"
#include "core/marking.h"
#include "core/plan.h"
#include "core/progress.h"
#include "core/recall.h"
#include "core/routine.h"
#include "core/row.h"
#include "core/settling.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sl_history;

/* Opens the history in the file, which is made where it does not exist; its folder must. A file of
 * an earlier version is brought to this one. SL_UNSUPPORTED for one of a later version and
 * SL_FORMAT for what is no history: such a file is not changed. */
enum sl_status sl_history_open(const char *path, struct sl_history **history,
                               struct sl_error *error);

/* NULL is fine. */
void sl_history_close(struct sl_history *history);

/* What a run is marked against, by name or by path, as for a command line. */
struct sl_history_names {
    const char *junction, *routine, *car;
    double approach_mps; /* in place of the junction's; 0: as it is */
    bool driven;   /* it drove a car, among the others that `seed` brings (core/situation.h) */
    uint64_t seed; /* 0 to 2^32 - 1 */
};

/* A marked run. Nothing is owned. */
struct sl_history_run {
    const char *learner;
    int64_t at_s;   /* when, in seconds since 1970 */
    bool rehearsed; /* else a recording that was marked */
    struct sl_history_names names;
    const char *prompting;     /* the level's word; NULL when not rehearsed, or driven */
    const char *sound;         /* whole path of the recording; NULL: none is kept */
    const char *sha256;        /* of the recording, in hexadecimal; NULL: not known */
    const char *recorded_with; /* version of the program; NULL: not known */
    const char *marked_with;
    const struct sl_routine *routine;
    const struct sl_junction *junction;
    const struct sl_plan *plan;
    const struct sl_mark_options *options; /* that it was marked with; `hiding` as in the mark */
    const struct sl_heard_list *heard;
    const struct sl_mark *mark;
    const struct sl_settlements *settlements; /* that went into the mark; NULL: none */
};

/* Adds a run, and its learner where there is none of that name. A recording whose digest the
 * learner has already at that junction (for a rehearsal: in the same file) takes the place of what
 * was heard and marked then, and is not added a second time. */
enum sl_status sl_history_add_run(struct sl_history *history, const struct sl_history_run *run,
                                  struct sl_error *error);

/* An answer of the recall drill. Nothing is owned. */
struct sl_history_answer {
    const char *learner;
    int64_t at_s;
    const struct sl_recall_told *told;
    const char *heard; /* words; NULL when typed */
    const char *marked_with;
};

enum sl_status sl_history_add_answer(struct sl_history *history,
                                     const struct sl_history_answer *answer,
                                     struct sl_error *error);

/* Whether there is a learner of that name. */
enum sl_status sl_history_knows(struct sl_history *history, const char *learner, bool *known,
                                struct sl_error *error);

/*
 * The runs of a learner with a routine (named as in struct sl_history_names), oldest first, for
 * sl_progress_make. What the history holds of phases that the routine has no longer is left out.
 * The caller frees *runs.
 */
struct sl_history_of {
    const char *learner;
    const char *name; /* of the routine */
    const struct sl_routine *routine;
};
enum sl_status sl_history_runs(struct sl_history *history, const struct sl_history_of *of,
                               struct sl_progress_run **runs, size_t *n_runs,
                               struct sl_error *error);

/* How often the learner's recall answers were right, unclear ones left out. */
enum sl_status sl_history_recalled(struct sl_history *history, const char *learner,
                                   struct sl_course *course, struct sl_error *error);

/* A phase with a setting that was said wrong; nothing is owned. */
struct sl_history_slip {
    const char *junction; /* as in struct sl_history_names */
    size_t phase;         /* of the routine */
    bool driven;
    int64_t at_s; /* the last time so */
};
typedef void sl_history_slip_taker(void *user, const struct sl_history_slip *slip);

/* Gives the learner's slips in the routine, one for each junction, phase and kind of run. */
enum sl_status sl_history_slips(struct sl_history *history, const struct sl_history_of *of,
                                sl_history_slip_taker *take, void *user, struct sl_error *error);

/* A run as it is needed for marking it anew; release with sl_history_kept_clear. */
struct sl_history_kept {
    int64_t id;
    char *junction, *routine, *car;
    double approach_mps; /* as in struct sl_history_names, and the two below */
    bool driven;
    uint64_t seed;
    struct sl_mark_options options;
    char *faults; /* kinds and phases, to tell whether a new mark differs: sl_mark_gist */
};

/* All runs of a learner, in the order in which they were added. The caller frees the array. */
enum sl_status sl_history_list(struct sl_history *history, const char *learner,
                               struct sl_history_kept **kept, size_t *n_kept,
                               struct sl_error *error);
void sl_history_kept_clear(struct sl_history_kept *kept);

/* What was heard in a run. SL_NOT_FOUND when the routine lacks a phase that was heard. */
enum sl_status sl_history_heard(struct sl_history *history, int64_t id,
                                const struct sl_routine *routine, struct sl_heard_list *heard,
                                struct sl_error *error);

/* What an instructor settled in a run; phases that the routine has no longer are left out. */
enum sl_status sl_history_settled(struct sl_history *history, int64_t id,
                                  const struct sl_routine *routine,
                                  struct sl_settlements *settlements, struct sl_error *error);

/* Puts another mark in the place of a run's: looks at marked_with, routine, plan,
 * settlements and mark. */
enum sl_status sl_history_put_mark(struct sl_history *history, int64_t id,
                                   const struct sl_history_run *run, struct sl_error *error);

/* "gear late, decide early": a mark's faults in their order, as sl_history_kept.faults. The caller
 * frees; NULL when memory runs out. */
char *sl_mark_gist(const struct sl_routine *routine, const struct sl_mark *mark);

/* The recordings of a learner's runs. The caller frees each and the array. */
enum sl_status sl_history_sounds(struct sl_history *history, const char *learner, char ***paths,
                                 size_t *n_paths, struct sl_error *error);

/* Deletes all that is known of a learner for good: also from the parts of the file that deleted
 * things leave behind, and from the log beside it. SL_OK when there is no such learner. */
enum sl_status sl_history_forget(struct sl_history *history, const char *learner,
                                 struct sl_error *error);

/* The tables for exports ("runs", "phrases", "phases", "faults", "answers"); ended by NULL. */
extern const char *const sl_history_tables[];

/* A row of a table; false ends the reading. */
typedef bool sl_history_taker(void *user, const struct sl_row *row);

struct sl_history_reader {
    const char *table;
    const char *learner; /* NULL: of all */
    /* Called before the rows with the names of the columns (values of kind SL_VALUE_NONE). */
    sl_history_taker *columns;
    sl_history_taker *take;
    void *user;
};

enum sl_status sl_history_read(struct sl_history *history, const struct sl_history_reader *reader,
                               struct sl_error *error);

#endif
