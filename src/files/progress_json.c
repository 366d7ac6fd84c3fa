#include "files/progress_json.h"

#include "files/json_out.h"

static json_t *share_json(const struct sl_share *share)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "times", json_integer((json_int_t)share->hits));
    sl_json_put(&json, "of", json_integer((json_int_t)share->of));
    return sl_json_take(&json);
}

static json_t *course_json(const struct sl_course *course)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "lately", share_json(&course->lately));
    sl_json_put(&json, "low", sl_json_number(course->range.low));
    sl_json_put(&json, "high", sl_json_number(course->range.high));
    sl_json_put(&json, "before", share_json(&course->before));
    sl_json_put(&json, "trend", sl_json_text(sl_trend_word(course->trend)));
    return sl_json_take(&json);
}

static json_t *spread_json(const struct sl_spread *spread)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "n", json_integer((json_int_t)spread->n));
    sl_json_put(&json, "median_s", sl_json_number(spread->median));
    sl_json_put(&json, "low_s", sl_json_number(spread->low));
    sl_json_put(&json, "high_s", sl_json_number(spread->high));
    return sl_json_take(&json);
}

static json_t *spreads_json(const struct sl_spread *lately, const struct sl_spread *before)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "lately", spread_json(lately));
    sl_json_put(&json, "before", spread_json(before));
    return sl_json_take(&json);
}

/* Adds to a list that NULL makes a failed one. */
static void append(json_t **list, json_t *value)
{
    if (!sl_json_append(*list, value)) {
        json_decref(*list);
        *list = NULL;
    }
}

static json_t *phases_json(const struct sl_progress_view *of)
{
    json_t *list = json_array();
    for (size_t i = 0; i < of->progress->n_phases; i++) {
        const struct sl_progress_phase *phase = &of->progress->phases[i];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "phase", sl_json_text(of->routine->phases[i].id));
        sl_json_put(&json, "right", course_json(&phase->right));
        sl_json_put(&json, "after_due",
                    spreads_json(&phase->after_due_lately, &phase->after_due_before));
        append(&list, sl_json_take(&json));
    }
    return list;
}

static json_t *faults_json(const struct sl_progress *progress)
{
    json_t *list = json_array();
    for (size_t i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "kind", sl_json_text(sl_fault_word((enum sl_fault_kind)i)));
        sl_json_put(&json, "runs", course_json(&progress->faults[i]));
        append(&list, sl_json_take(&json));
    }
    return list;
}

static json_t *junctions_json(const struct sl_progress *progress)
{
    json_t *list = json_array();
    for (size_t i = 0; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        enum sl_kind kind = (enum sl_kind)(i / SL_VIEW_COUNT);
        enum sl_view view = (enum sl_view)(i % SL_VIEW_COUNT);
        if (progress->runs_at[kind][view] == 0) {
            continue;
        }
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "kind", sl_json_text(sl_kind_word(kind)));
        sl_json_put(&json, "view", sl_json_text(sl_view_word(view)));
        sl_json_put(&json, "runs", json_integer((json_int_t)progress->runs_at[kind][view]));
        sl_json_put(&json, "clean", course_json(&progress->clean_at[kind][view]));
        append(&list, sl_json_take(&json));
    }
    return list;
}

static json_t *next_json(const struct sl_progress_view *of)
{
    const struct sl_next *next = &of->progress->next;
    bool fault = next->why == SL_NEXT_FAULT;
    struct sl_json json = sl_json_object();
    if (fault) {
        sl_json_put(&json, "phase", sl_json_text(of->routine->phases[next->phase].id));
        sl_json_put(&json, "fault", sl_json_text(sl_fault_word(next->fault)));
    } else {
        sl_json_put(&json, "kind", sl_json_text(sl_kind_word(next->kind)));
        sl_json_put(&json, "view", sl_json_text(sl_view_word(next->view)));
    }
    sl_json_put(&json, "times", json_integer((json_int_t)next->times));
    return sl_json_take(&json);
}

static json_t *prompting_json(const struct sl_progress *progress)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "level", sl_json_text(sl_prompting_word(progress->level)));
    sl_json_put(&json, "advice", sl_json_text(sl_ready_word(progress->ready)));
    sl_json_put(&json, "clean_more", json_integer((json_int_t)progress->clean_more));
    return sl_json_take(&json);
}

enum sl_status sl_progress_to_json(const struct sl_progress_view *of, char **json,
                                   struct sl_error *error)
{
    const struct sl_progress *progress = of->progress;
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-progress-1"));
    sl_json_put(&top, "learner", sl_json_text(of->learner));
    sl_json_put(&top, "routine", sl_json_text(of->routine->name));
    sl_json_put(&top, "runs", json_integer((json_int_t)progress->n_runs));
    sl_json_put(&top, "driven", json_integer((json_int_t)progress->n_driven));
    sl_json_put(&top, "clean", course_json(&progress->clean));
    sl_json_put(&top, "phases", phases_json(of));
    sl_json_put(&top, "faults", faults_json(progress));
    sl_json_put(&top, "junctions", junctions_json(progress));
    sl_json_put(&top, "rolling",
                spreads_json(&progress->rolling_lately, &progress->rolling_before));
    sl_json_put(&top, "recall", course_json(of->recall));
    sl_json_put(&top, "next", progress->n_runs > 0 ? next_json(of) : json_null());
    sl_json_put(&top, "prompting", prompting_json(progress));
    return sl_json_line(&top, json, error);
}
