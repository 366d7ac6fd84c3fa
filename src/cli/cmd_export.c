/* sayline export: the history as JSON or CSV. */
#include "cli/shared.h"
#include "files/atomic.h"
#include "files/learner.h"
#include "files/path.h"
#include "files/row_json.h"
#include "practice/keep.h"
#include "report/csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EXPORT_LEARNER, EXPORT_JSON, EXPORT_CSV, EXPORT_OUT, EXPORT_OPTIONS };

static const struct sl_option options[EXPORT_OPTIONS] = {
    [EXPORT_LEARNER] = {"learner", 'l', "NAME", "Only of this learner; of all if not given."},
    [EXPORT_JSON] = {"json", 0, NULL, "One JSON object with all tables; this if nothing is said."},
    [EXPORT_CSV] = {"csv", 0, NULL, "A CSV file a table (RFC 4180), in the folder of --out."},
    [EXPORT_OUT] = {"out", 'o', "PATH",
                    "The JSON file, in place of standard output, or the folder of the CSV files."},
};

/* A table on its way. */
struct writing {
    struct sl_str out;
    bool csv;
    bool begun; /* a row was written: a comma comes before the next */
};

static bool take_columns(void *user, const struct sl_row *row)
{
    struct writing *writing = user;
    if (writing->csv) {
        sl_csv_columns(&writing->out, row);
    }
    return true;
}

static bool take_row(void *user, const struct sl_row *row)
{
    struct writing *writing = user;
    if (writing->csv) {
        sl_csv_row(&writing->out, row);
        return !writing->out.failed;
    }
    char *json = NULL;
    writing->out.failed = sl_row_to_json(row, &json, NULL) != SL_OK || writing->out.failed;
    sl_str_addf(&writing->out, "%s\n", writing->begun ? "," : "");
    sl_str_add(&writing->out, json == NULL ? "" : json);
    writing->begun = true;
    free(json);
    return !writing->out.failed;
}

/* Adds a table; a history that does not exist has no rows. */
static enum sl_status add_table(struct sl_history *history, const struct sl_call *call,
                                const char *table, struct writing *writing, struct sl_error *error)
{
    const struct sl_history_reader reader = {.table = table,
                                             .learner = call->values[EXPORT_LEARNER],
                                             .columns = take_columns,
                                             .take = take_row,
                                             .user = writing};
    writing->begun = false;
    enum sl_status status = sl_history_read(history, &reader, error);
    return status == SL_OK && writing->out.failed ? sl_fail_memory(error) : status;
}

static enum sl_status write_out(const char *path, const struct sl_str *text, struct sl_error *error)
{
    return sl_write_text_file(path, sl_str_text(text), text->length, error);
}

static enum sl_status export_json(struct sl_history *history, const struct sl_call *call,
                                  struct sl_error *error)
{
    struct writing writing = {.csv = false};
    const char *out = call->values[EXPORT_OUT];
    enum sl_status status = SL_OK;
    sl_str_add(&writing.out, "{\"schema\": \"sayline-history-1\"");
    for (size_t i = 0; sl_history_tables[i] != NULL && status == SL_OK; i++) {
        sl_str_addf(&writing.out, ",\n\"%s\": [", sl_history_tables[i]);
        status = add_table(history, call, sl_history_tables[i], &writing, error);
        sl_str_add(&writing.out, writing.begun ? "\n]" : "]");
    }
    sl_str_add(&writing.out, "}\n");
    if (status == SL_OK && out != NULL && strcmp(out, "-") != 0) {
        status = write_out(out, &writing.out, error);
    } else if (status == SL_OK && !sl_print(&writing.out)) {
        status = SL_IO; /* it was said */
    }
    sl_str_clear(&writing.out);
    return status;
}

static enum sl_status export_csv(struct sl_history *history, const struct sl_call *call,
                                 struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; sl_history_tables[i] != NULL && status == SL_OK; i++) {
        struct writing writing = {.csv = true};
        char *path = sl_strf("%s/%s.csv", call->values[EXPORT_OUT], sl_history_tables[i]);
        status = path == NULL ? sl_fail_memory(error)
                              : add_table(history, call, sl_history_tables[i], &writing, error);
        if (status == SL_OK) {
            status = write_out(path, &writing.out, error);
        }
        if (status == SL_OK) {
            printf("%s\n", path);
        }
        free(path);
        sl_str_clear(&writing.out);
    }
    return status;
}

static enum sl_status check(const struct sl_call *call, struct sl_error *error)
{
    const char *const *values = call->values;
    if (values[EXPORT_JSON] != NULL && values[EXPORT_CSV] != NULL) {
        return sl_fail(error, SL_INVALID, NULL, "say one of them",
                       "--json and --csv exclude each "
                       "other");
    }
    if (values[EXPORT_CSV] != NULL && values[EXPORT_OUT] == NULL) {
        return sl_fail(error, SL_INVALID, "--csv", "say --out FOLDER",
                       "CSV is a file a table, so it needs a folder");
    }
    return values[EXPORT_LEARNER] == NULL ? SL_OK : sl_learner_check(values[EXPORT_LEARNER], error);
}

static enum sl_status find_learner(struct sl_history *history, const char *learner,
                                   struct sl_error *error)
{
    bool known = learner == NULL;
    enum sl_status status = known ? SL_OK : sl_history_knows(history, learner, &known, error);
    if (status == SL_OK && !known) {
        status = sl_fail(error, SL_NOT_FOUND, NULL, "`sayline export` names those that there are",
                         "there is no learner called \"%s\"", learner);
    }
    return status;
}

static enum sl_exit work(const struct sl_call *call, struct sl_error *error)
{
    struct sl_history *history = NULL;
    enum sl_status status = sl_keep_open(&history, error);
    if (status == SL_OK) {
        status = find_learner(history, call->values[EXPORT_LEARNER], error);
    }
    if (status == SL_OK) {
        status = call->values[EXPORT_CSV] != NULL ? export_csv(history, call, error)
                                                  : export_json(history, call, error);
    }
    sl_history_close(history);
    return status == SL_OK ? SL_EXIT_DONE : sl_exit_for(error);
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    enum sl_exit code = SL_EXIT_USAGE;
    if (check(call, &error) == SL_OK) {
        code = work(call, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    return code;
}

const struct sl_command sl_command_export = {
    .name = "export",
    .summary = "write out all that the history holds",
    .usage = "[--learner NAME] [--json | --csv] [--out PATH]",
    .purpose = "Writes every run, what was heard in it, every verdict and every recall answer, as "
               "JSON or as CSV files, with the paths and digests of the recordings "
               "(docs/formats.md). It is personal data: give it only to whom it concerns.",
    .options = options,
    .n_options = EXPORT_OPTIONS,
    .least_operands = 0,
    .most_operands = 0,
    .operand = "nothing",
    .example = "sayline export",
    .example_tells = "prints the whole history as JSON.",
    .exit_failed = "the history cannot be used, or the results could not be written",
    .run = run,
};
