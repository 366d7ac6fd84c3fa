/* sayline forget: deletes what is known of a learner. */
#include "cli/shared.h"
#include "files/learner.h"
#include "files/path.h"
#include "practice/forget.h"
#include "practice/keep.h"
#include "report/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FORGET_YES, FORGET_DRY_RUN, FORGET_OPTIONS };

static const struct sl_option options[FORGET_OPTIONS] = {
    [FORGET_YES] = {"yes", 'y', NULL, "Do not ask."},
    [FORGET_DRY_RUN] = {"dry-run", 'n', NULL, "Only say what there is; delete nothing."},
};

/* What will be deleted, in words. */
static void add_what(struct sl_str *out, const struct sl_forget *forget)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%s in the history: marked runs: %zu; recall answers: %zu. ",
                forget->learner, forget->n_runs, forget->n_answers);
    sl_str_addf(&text, "Recordings, and files of what the drills remember, in %s: %zu.",
                forget->folder, forget->n_files);
    sl_text_fact(out, "", sl_str_text(&text), 80);
    for (size_t i = 0; i < forget->n_elsewhere; i++) {
        sl_text_fact(out, "Left alone, as it lies elsewhere: ", forget->elsewhere[i], 80);
    }
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static bool agreed(const struct sl_forget *forget)
{
    char answer[8] = "";
    struct sl_str text = {0};
    add_what(&text, forget);
    sl_str_add(&text, "Delete all of it for good? Say yes or no: ");
    fputs(sl_str_text(&text), stderr);
    sl_str_clear(&text);
    return fgets(answer, sizeof answer, stdin) != NULL && strcmp(answer, "yes\n") == 0;
}

/* What there is, or was. */
static enum sl_exit tell(const struct sl_forget *forget, const char *more)
{
    struct sl_str text = {0};
    add_what(&text, forget);
    sl_text_fact(&text, "", more, 80);
    enum sl_exit code = sl_print(&text) ? SL_EXIT_DONE : SL_EXIT_FAILED;
    sl_str_clear(&text);
    return code;
}

static enum sl_exit ask_and_do(const struct sl_call *call, struct sl_history *history,
                               const struct sl_forget *forget, struct sl_error *error)
{
    if (call->values[FORGET_DRY_RUN] != NULL) {
        return tell(forget, "Nothing was deleted.");
    }
    if (!forget->known) {
        sl_fail(error, SL_NOT_FOUND, NULL, "`sayline export` names those that there are",
                "there is no learner called \"%s\"", forget->learner);
        return SL_EXIT_USAGE;
    }
    if (call->values[FORGET_YES] == NULL && isatty(STDIN_FILENO) != 1) {
        sl_fail(error, SL_INVALID, NULL, "say --yes", "there is nobody here to be asked");
        return SL_EXIT_USAGE;
    }
    if (call->values[FORGET_YES] == NULL && !agreed(forget)) {
        fputs("Nothing was deleted.\n", stderr);
        return SL_EXIT_FAILED;
    }
    if (sl_forget_do(history, forget, error) != SL_OK) {
        return SL_EXIT_FAILED;
    }
    return tell(forget,
                "All of it is deleted. Copies that you made are yours to delete, and so are "
                "recordings that lie elsewhere; `sayline soundcheck --forget` drops what is known "
                "of the voice.");
}

static enum sl_exit work(const struct sl_call *call, struct sl_error *error)
{
    struct sl_history *history = NULL;
    struct sl_forget forget = {0};
    char *path = NULL;
    enum sl_exit code = SL_EXIT_FAILED;
    enum sl_status status = sl_keep_path(&path, error);
    if (status == SL_OK && sl_path_exists(path)) {
        status = sl_history_open(path, &history, error);
    }
    if (status == SL_OK) {
        status = sl_forget_find(history, call->operands[0], &forget, error);
    }
    if (status == SL_OK) {
        code = ask_and_do(call, history, &forget, error);
    }
    sl_forget_clear(&forget);
    sl_history_close(history);
    free(path);
    return code;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    enum sl_exit code = SL_EXIT_USAGE;
    if (sl_learner_check(call->operands[0], &error) == SL_OK) {
        code = work(call, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    return code;
}

const struct sl_command sl_command_forget = {
    .name = "forget",
    .summary = "delete what is known of a learner, for good",
    .usage = "[--yes | --dry-run] LEARNER",
    .purpose =
        "Deletes the learner's runs and answers from the history, all recordings of the learner's "
        "rehearsals, what prompting and recall remember, and what an earlier sayline kept of the "
        "learner's voice. It says what there is and asks first. "
        "Recordings that `sayline mark --keep` found elsewhere are named and left alone.",
    .options = options,
    .n_options = FORGET_OPTIONS,
    .least_operands = 1,
    .most_operands = 1,
    .operand = "LEARNER",
    .example = "sayline forget --dry-run " SL_DEFAULT_LEARNER,
    .example_tells =
        "says what there is of the learner called " SL_DEFAULT_LEARNER ", and deletes nothing.",
    .exit_failed = "something could not be deleted, or the answer was not yes",
    .run = run,
};
