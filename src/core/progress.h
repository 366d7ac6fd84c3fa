/*
 * A learner's course over many runs: how often each thing was right, lately and before, whether
 * that changed, and what to do next.
 *
 * "Lately" is the last SL_PROGRESS_LATELY runs that tell something of the thing in question;
 * "before" is all that came earlier. A share has its 95 % interval (Wilson 1927). A trend is said
 * only where the 95 % interval of the difference of the two shares (Newcombe 1998) leaves out 0;
 * with several dozen shares on a page about one in twenty of those that did not change will still
 * seem to.
 */
#ifndef SL_CORE_PROGRESS_H
#define SL_CORE_PROGRESS_H

#include "core/junction.h"
#include "core/prompting.h"
#include "core/routine.h"
#include "core/statistics.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* So many runs are about a week or two of practice, and enough for an interval of use; ours, no
 * source. */
#define SL_PROGRESS_LATELY 20

/* One phase of one run. */
struct sl_progress_step {
    bool unclear;
    double after_due_s; /* beginning of the first word after the due moment, negative before it; NAN
                           when not heard or untimed */
    unsigned kinds;     /* of its faults: bits 1 << enum sl_fault_kind */
};

/* One marked run of the routine. */
struct sl_progress_run {
    enum sl_kind kind;
    enum sl_view view;
    enum sl_prompting prompting; /* SL_PROMPTING_COUNT: marked or driven, not rehearsed */
    bool driven;                 /* its words drove a car */
    double rolling_s;            /* as in struct sl_mark */
    struct sl_progress_step steps[SL_PHASE_MAX];
};

enum sl_trend {
    SL_TREND_UNKNOWN, /* "too-few": there is nothing before to compare with */
    SL_TREND_SAME,    /* "no-change": none that could not be chance */
    SL_TREND_BETTER,  /* "better" */
    SL_TREND_WORSE    /* "worse" */
};

/* The word in JSON; never NULL for a valid value. */
const char *sl_trend_word(enum sl_trend trend);

/* How often something happened. */
struct sl_course {
    struct sl_share lately, before;
    struct sl_interval range; /* of the share lately; NAN when it has no tries */
    enum sl_trend trend;
};

/* The middle of some values and the middle half of them; NAN when n is 0. */
struct sl_spread {
    size_t n;
    double median, low, high; /* low and high: the quartiles */
};

struct sl_progress_phase {
    struct sl_course right; /* said without a fault; runs in which it was unclear are left out */
    struct sl_spread after_due_lately, after_due_before;
};

/* What to practise next. */
enum sl_next_kind {
    SL_NEXT_FAULT,   /* the fault seen most often lately: `phase`, `fault` */
    SL_NEXT_JUNCTION /* no fault lately: the kind of junction practised least: `kind`, `view` */
};

struct sl_next {
    enum sl_next_kind why;
    size_t phase;
    enum sl_fault_kind fault;
    enum sl_kind kind;
    enum sl_view view;
    size_t times; /* how often lately, or how often practised at all */
};

/* Whether the level of prompting should change: the rule of core/prompting.h, run over the
 * rehearsals in turn; counting starts anew where the level was changed by hand. */
enum sl_ready {
    SL_READY_NONE,   /* "no-rehearsal": nothing to go by */
    SL_READY_STAY,   /* "stay": `clean_more` more clean runs are wanted */
    SL_READY_DROP,   /* "drop": a level less */
    SL_READY_BACK,   /* "back": a level more */
    SL_READY_ALREADY /* "already-none": there is nothing to drop */
};

/* The word in JSON; never NULL for a valid value. */
const char *sl_ready_word(enum sl_ready ready);

struct sl_progress {
    size_t n_runs, n_lately;
    size_t n_driven; /* of n_runs */
    size_t n_phases;
    struct sl_progress_phase phases[SL_PHASE_MAX];
    struct sl_course faults[SL_FAULT_KIND_COUNT]; /* runs with at least one of that kind */
    /* Runs without a fault; those with nothing but something unclear are left out. */
    struct sl_course clean;
    struct sl_course clean_at[SL_KIND_COUNT][SL_VIEW_COUNT]; /* the same by junction */
    size_t runs_at[SL_KIND_COUNT][SL_VIEW_COUNT];            /* all runs there */
    struct sl_spread rolling_lately, rolling_before;
    struct sl_next next;
    enum sl_ready ready;
    enum sl_prompting level; /* of the last rehearsal; SL_PROMPTING_COUNT without one */
    unsigned clean_more;     /* with SL_READY_STAY */
};

/* What a report of progress shows; nothing is owned. */
struct sl_progress_view {
    const char *learner;
    const struct sl_routine *routine;
    const struct sl_progress *progress;
    const struct sl_course *recall; /* answers of the recall drill that were right */
};

/* Adds a try to a course whose tries are added from the newest to the oldest, at most
 * SL_PROGRESS_LATELY of them as lately. */
void sl_course_add(struct sl_course *course, bool hit);

/* Fills range and trend once all tries are added. good: a hit is what is wanted. */
void sl_course_end(struct sl_course *course, bool good);

/* Sums up runs in order of time, oldest first, all of a routine with n_phases phases. SL_NO_MEMORY
 * only. */
enum sl_status sl_progress_make(const struct sl_progress_run *runs, size_t n_runs, size_t n_phases,
                                struct sl_progress *progress, struct sl_error *error);

#endif
