/* sayline progress: how a learner is getting on, and what to practise next. */
#include "cli/shared.h"
#include "files/learner.h"
#include "files/models.h"
#include "files/path.h"
#include "files/progress_json.h"
#include "practice/keep.h"
#include "report/progress_page.h"
#include "report/progress_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#define REMARKS_A_LINE 50 /* a terminal need not show each */

enum {
    PROGRESS_LEARNER,
    PROGRESS_ROUTINE,
    PROGRESS_REMARK,
    PROGRESS_HTML,
    PROGRESS_JSON,
    PROGRESS_QUIET,
    PROGRESS_COLOUR,
    PROGRESS_OPTIONS
};

static const struct sl_option options[PROGRESS_OPTIONS] = {
    [PROGRESS_LEARNER] = SL_OPTION_LEARNER,
    [PROGRESS_ROUTINE] = SL_OPTION_ROUTINE,
    [PROGRESS_REMARK] = {"remark", 0, NULL,
                         "First mark all of the learner's runs anew, from what was heard then, by "
                         "the rules as they are now."},
    [PROGRESS_HTML] = {"html", 0, "PAGE",
                       "Write it as a page to look at and to print as well. PAGE is replaced."},
    [PROGRESS_JSON] = {"json", 0, NULL, "One JSON object (docs/formats.md)."},
    [PROGRESS_QUIET] = {"quiet", 'q', NULL, "Only what to do next."},
    [PROGRESS_COLOUR] = SL_OPTION_COLOUR,
};

static void tell_remark(void *user, size_t done, size_t of)
{
    const struct timespec *begun = user;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    bool tell = isatty(STDERR_FILENO) == 1 && now.tv_sec - begun->tv_sec > 1;
    if (tell && done == of) {
        fputs("\r\033[K", stderr);
    } else if (tell && done % REMARKS_A_LINE == 0) {
        fprintf(stderr, "\rmarking anew: run %zu of %zu", done + 1, of);
    }
}

static enum sl_status remark(struct sl_history *history, const char *learner,
                             struct sl_error *error)
{
    struct timespec begun;
    clock_gettime(CLOCK_MONOTONIC, &begun);
    struct sl_remarked done = {.progress = tell_remark, .user = &begun};
    enum sl_status status = sl_keep_remark(history, learner, SL_VERSION, &done, error);
    if (status == SL_OK) {
        fprintf(stderr, "%zu %s marked anew, %zu of them with other faults than before.\n",
                done.marked, done.marked == 1 ? "run was" : "runs were", done.changed);
    }
    if (status == SL_OK && done.left > 0) {
        fprintf(stderr, "%zu could not be, and stay as they were. The first of them:\n", done.left);
        sl_complain(&done.why);
    }
    sl_error_clear(&done.why);
    return status;
}

/* What is summed up. */
struct summary {
    const struct sl_call *call;
    const char *learner;
    const char *name; /* of the routine, as the history has it */
    struct sl_routine routine;
    struct sl_progress progress;
    struct sl_course recall;
};

static enum sl_status read_history(struct summary *summary, struct sl_history *history,
                                   struct sl_error *error)
{
    struct sl_progress_run *runs = NULL;
    size_t n_runs = 0;
    const struct sl_history_of of = {summary->learner, summary->name, &summary->routine};
    enum sl_status status = SL_OK;
    if (summary->call->values[PROGRESS_REMARK] != NULL) {
        status = remark(history, summary->learner, error);
    }
    if (status == SL_OK) {
        status = sl_history_runs(history, &of, &runs, &n_runs, error);
    }
    if (status == SL_OK) {
        status = sl_history_recalled(history, summary->learner, &summary->recall, error);
    }
    if (status == SL_OK) {
        status =
            sl_progress_make(runs, n_runs, summary->routine.n_phases, &summary->progress, error);
    }
    free(runs);
    return status;
}

/* Opens the history where there is one; nothing is made. */
static enum sl_status sum_up(struct summary *summary, struct sl_error *error)
{
    struct sl_history *history = NULL;
    char *path = NULL;
    enum sl_status status = sl_load_routine(summary->name, &summary->routine, error);
    if (status == SL_OK) {
        status = sl_keep_path(&path, error);
    }
    if (status == SL_OK && !sl_path_exists(path)) {
        sl_course_end(&summary->recall, true);
        status = sl_progress_make(NULL, 0, summary->routine.n_phases, &summary->progress, error);
    } else if (status == SL_OK) {
        status = sl_history_open(path, &history, error);
        status = status == SL_OK ? read_history(summary, history, error) : status;
    }
    sl_history_close(history);
    free(path);
    return status;
}

static struct sl_progress_view view_of(const struct summary *summary)
{
    return (struct sl_progress_view){summary->learner, &summary->routine, &summary->progress,
                                     &summary->recall};
}

static enum sl_status write_page(const struct summary *summary, struct sl_error *error)
{
    const char *path = summary->call->values[PROGRESS_HTML];
    const struct sl_progress_view view = view_of(summary);
    char *html = NULL;
    if (path == NULL) {
        return SL_OK;
    }
    enum sl_status status = sl_progress_page(&view, &html, error);
    return status == SL_OK ? sl_write_and_free(path, html, error) : status;
}

static bool print(const struct summary *summary, const struct sl_style *style)
{
    struct sl_str out = {0};
    const struct sl_progress_view view = view_of(summary);
    if (summary->call->values[PROGRESS_JSON] != NULL) {
        char *json = NULL;
        out.failed = sl_progress_to_json(&view, &json, NULL) != SL_OK;
        sl_str_addf(&out, "%s\n", json == NULL ? "" : json);
        free(json);
    } else {
        sl_report_progress(&out, &view, style);
    }
    bool printed = sl_print(&out);
    sl_str_clear(&out);
    return printed;
}

static enum sl_exit work(struct summary *summary, const struct sl_style *style,
                         struct sl_error *error)
{
    const char *routine = summary->call->values[PROGRESS_ROUTINE];
    char *name = sl_path_whole(routine == NULL ? SL_DEFAULT_ROUTINE : routine);
    enum sl_exit code = SL_EXIT_DONE;
    summary->name = name != NULL ? name : routine; /* a path to nowhere is said by who reads it */
    if (sum_up(summary, error) != SL_OK) {
        code = sl_exit_for(error);
    } else if (write_page(summary, error) != SL_OK || !print(summary, style)) {
        code = SL_EXIT_FAILED;
    }
    sl_routine_clear(&summary->routine);
    free(name);
    return code;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_style style;
    struct summary summary = {.call = call,
                              .learner = sl_learner_of(call->values[PROGRESS_LEARNER])};
    enum sl_exit code = SL_EXIT_USAGE;
    enum sl_status status = sl_learner_check(summary.learner, &error);
    if (status == SL_OK) {
        status = sl_style_choose(call->values[PROGRESS_COLOUR], &style, &error);
    }
    if (status == SL_OK) {
        style.brief = call->values[PROGRESS_QUIET] != NULL;
        code = work(&summary, &style, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    return code;
}

const struct sl_command sl_command_progress = {
    .name = "progress",
    .summary = "tell how a learner is getting on, and what to practise next",
    .usage = "[OPTION...]",
    .purpose =
        "Sums up what the history holds of a learner: how often each phase was right, which faults "
        "there were, how it went at each kind of junction, when the first words came and how much "
        "rolling was kept; lately and before, and whether that is a change or may be chance. Says "
        "what to practise next and why, and whether fewer prompts will do (docs/method.md). The "
        "figures are for coaching: what counts is the road, and your instructor.",
    .options = options,
    .n_options = PROGRESS_OPTIONS,
    .least_operands = 0,
    .most_operands = 0,
    .operand = "nothing",
    .example = "sayline progress",
    .example_tells = "sums up the runs of the learner called " SL_DEFAULT_LEARNER ".",
    .exit_failed = "the history or the routine file cannot be used, or the results could not be "
                   "written",
    .run = run,
};
