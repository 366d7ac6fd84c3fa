/* sayline merge: the lines of many `sayline mark --json`, added up. */
#include "cli/shared.h"
#include "files/mark_lines.h"
#include "report/tally_table.h"

#include <stdint.h>
#include <stdlib.h>

enum { MERGE_JSON, MERGE_QUIET, MERGE_OPTIONS };

static const struct sl_option options[MERGE_OPTIONS] = {
    [MERGE_JSON] = {"json", 0, NULL, "One JSON object (docs/formats.md)."},
    [MERGE_QUIET] = {"quiet", 'q', NULL, "Only the totals, not each recording."},
};

static enum sl_status merge(const struct sl_call *call, struct sl_str *out, struct sl_error *error)
{
    struct sl_tally tally = {0};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < call->n_operands && status == SL_OK; i++) {
        status = sl_mark_lines_add(call->operands[i], &tally, error);
    }
    if (status == SL_OK) {
        status = sl_tally_sort(&tally, error);
    }
    if (status == SL_OK && call->values[MERGE_JSON] != NULL) {
        char *json = NULL;
        status = sl_tally_to_json(&tally, &json, error);
        sl_str_addf(out, "%s\n", json == NULL ? "" : json);
        free(json);
    } else if (status == SL_OK) {
        const struct sl_style style = {.brief = call->values[MERGE_QUIET] != NULL};
        sl_report_tally(out, &tally, &style);
    }
    sl_tally_clear(&tally);
    return status;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_str out = {0};
    enum sl_exit code = SL_EXIT_FAILED;
    if (merge(call, &out, &error) == SL_OK) {
        code = sl_print(&out) ? SL_EXIT_DONE : SL_EXIT_FAILED;
    } else {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    sl_str_clear(&out);
    return code;
}

const struct sl_command sl_command_merge = {
    .name = "merge",
    .summary = "add up the marks of many recordings",
    .usage = "[OPTION...] FILE...",
    .purpose =
        "Reads the lines of `sayline mark --json`, in any order and from any number of FILEs, and "
        "prints each recording's score and, for each phase, how often it was heard, unclear and at "
        "fault. The report is the same however the lines were spread. A line that is broken, and a "
        "recording that is there twice, is refused by name. - is standard input.",
    .options = options,
    .n_options = MERGE_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "FILE",
    .example = "sayline mark -j t-left-open --json audio/demo/late-gear.flac | sayline merge -",
    .example_tells = "adds up what could be thousands of lines.",
    .exit_failed = "a file or a line cannot be used, a recording is there twice, or the results "
                   "could not be written",
    .run = run,
};
