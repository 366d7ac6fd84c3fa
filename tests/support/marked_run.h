/*
 * A script marked at a junction of the fixture. Include after cmocka.h.
 */
#ifndef SL_TESTS_MARKED_RUN_H
#define SL_TESTS_MARKED_RUN_H

#include "support/run_script.h"

#define CLEAN "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24"

enum where { T_LEFT, AHEAD, AHEAD_MISLEADS, LEFT_MISLEADS, CLOSED, STOP_LINE, BUSY, CLEAR };

static inline struct sl_junction junction_at(enum where where)
{
    struct sl_junction junction = fixture_junction();
    junction.turn = where == AHEAD || where == AHEAD_MISLEADS ? SL_TURN_AHEAD : junction.turn;
    junction.kind = junction.turn == SL_TURN_AHEAD ? SL_KIND_CROSSROADS : junction.kind;
    junction.signal_misleads = where == AHEAD_MISLEADS || where == LEFT_MISLEADS;
    junction.view = where == CLOSED ? SL_VIEW_CLOSED : junction.view;
    junction.control = where == STOP_LINE ? SL_CONTROL_STOP : junction.control;
    junction.traffic = where == BUSY    ? SL_TRAFFIC_BUSY
                       : where == CLEAR ? SL_TRAFFIC_CLEAR
                                        : SL_TRAFFIC_ANY;
    return junction;
}

struct run {
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_plan plan;
    struct sl_mark mark;
};

/* Marks into the run, in place of the mark that it has. */
static inline enum sl_status remark(struct run *run, const struct sl_heard_list *heard,
                                    const struct sl_mark_options *options, struct sl_error *error)
{
    const struct sl_task task = {&run->routine, &run->junction, &run->plan, *options};
    return sl_mark_make(&task, heard, &run->mark, error);
}

/* Marks a script; release with end_run. */
static inline struct run mark_from(const char *script, bool timed, enum where where, double from_s)
{
    struct run run = {
        .routine = fixture_routine(), .junction = junction_at(where), .plan = fixture_plan()};
    run.plan.view = run.junction.view;
    struct sl_heard_list heard = script_heard(&run.routine, script);
    const struct sl_mark_options options = {.timed = timed, .from_s = from_s};
    assert_int_equal(remark(&run, &heard, &options, NULL), SL_OK);
    sl_heard_clear(&heard);
    return run;
}

static inline struct run mark(const char *script, bool timed, enum where where)
{
    return mark_from(script, timed, where, 0);
}

static inline void end_run(struct run *run)
{
    sl_mark_clear(&run->mark);
    sl_routine_clear(&run->routine);
}

/* A fault of the mark; the test fails when it has fewer. */
static inline const struct sl_fault *fault_at(const struct run *run, size_t i)
{
    if (run->mark.faults == NULL || i >= run->mark.n_faults) {
        fail_msg("%zu faults only", run->mark.n_faults);
        abort(); /* not reached: for the analyser */
    }
    return &run->mark.faults[i];
}

#endif
