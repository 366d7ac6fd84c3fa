/* sayline plan: when and where each phase is due at a junction. */
#include "cli/shared.h"
#include "files/result_json.h"
#include "report/plan_page.h"

#include <stdlib.h>

enum { PLAN_ROUTINE, PLAN_CAR, PLAN_APPROACH, PLAN_HTML, PLAN_JSON, PLAN_COLOUR, PLAN_OPTIONS };

static const struct sl_option options[PLAN_OPTIONS] = {
    [PLAN_ROUTINE] = SL_OPTION_ROUTINE,
    [PLAN_CAR] = SL_OPTION_CAR,
    [PLAN_APPROACH] = SL_OPTION_APPROACH,
    [PLAN_HTML] = {"html", 0, "PAGE",
                   "Write the plan as a page of one sheet to print as well. PAGE is replaced."},
    [PLAN_JSON] = {"json", 0, NULL, "The plan as one JSON object on one line (docs/formats.md)."},
    [PLAN_COLOUR] = SL_OPTION_COLOUR,
};

static enum sl_status add_plan(struct sl_str *out, const struct sl_setup *setup,
                               const struct sl_style *style, bool json, struct sl_error *error)
{
    if (!json) {
        struct sl_plan_view view = {&setup->plan, &setup->junction, &setup->routine, &setup->car};
        sl_report_plan(out, &view, style);
        return SL_OK;
    }
    char *line = NULL;
    const struct sl_planned planned = {&setup->plan, &setup->junction, &setup->routine,
                                       &setup->car};
    enum sl_status status = sl_plan_to_json(&planned, &line, error);
    if (status == SL_OK) {
        sl_str_addf(out, "%s\n", line);
        free(line);
    }
    return status;
}

static enum sl_status write_page(const char *path, const struct sl_setup *setup,
                                 struct sl_error *error)
{
    const struct sl_plan_view view = {&setup->plan, &setup->junction, &setup->routine, &setup->car};
    char *html = NULL;
    enum sl_status status = sl_plan_page(&view, &html, error);
    return status == SL_OK ? sl_write_and_free(path, html, error) : status;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_setup setup = {0};
    struct sl_style style;
    struct sl_str out = {0};
    struct sl_setup_names names = {.junction = call->operands[0],
                                   .routine = call->values[PLAN_ROUTINE],
                                   .car = call->values[PLAN_CAR],
                                   .approach = call->values[PLAN_APPROACH]};
    if (sl_style_choose(call->values[PLAN_COLOUR], &style, &error) != SL_OK) {
        (void)sl_conclude(&out, &error);
        return SL_EXIT_USAGE;
    }
    enum sl_status status = sl_setup_load(&setup, &names, &error);
    if (status == SL_OK && call->values[PLAN_HTML] != NULL) {
        status = write_page(call->values[PLAN_HTML], &setup, &error);
    }
    if (status == SL_OK) {
        (void)add_plan(&out, &setup, &style, call->values[PLAN_JSON] != NULL, &error);
    }
    enum sl_exit code = sl_conclude(&out, &error);
    sl_setup_clear(&setup);
    return code;
}

const struct sl_command sl_command_plan = {
    .name = "plan",
    .summary = "tell when and where each phase is due at a junction",
    .usage = "[OPTION...] JUNCTION",
    .purpose =
        "Computes the approach backwards from the line: rolling, the gear, slowing, signal, "
        "mirrors; the last point at which a stop still fits; the engine's speed in the gear; "
        "whether the approach is long enough and what to give up if not. JUNCTION is a name "
        "(`sayline list junctions`) or a YAML file; - is standard input. Coaching figures, "
        "not limits.",
    .options = options,
    .n_options = PLAN_OPTIONS,
    .least_operands = 1,
    .most_operands = 1,
    .operand = "JUNCTION",
    .example = "sayline plan --approach '40 mph' t-left-closed",
    .example_tells = "plans a closed T-junction, turning left, approached at 40 mph.",
    .exit_failed = "a junction, routine or car file cannot be used, no plan exists, or the plan "
                   "could not be written",
    .run = run,
};
