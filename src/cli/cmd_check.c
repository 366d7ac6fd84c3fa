/* sayline check: are these junction, routine or car files right? */
#include "cli/shared.h"
#include "files/models.h"
#include "report/text.h"

#include <stdint.h>
#include <string.h>

enum { CHECK_KIND, CHECK_OPTIONS };

static const struct sl_option options[CHECK_OPTIONS] = {
    [CHECK_KIND] = {"kind", 'k', "KIND",
                    "What the files are: junction, routine or car; junction if not given."},
};

static enum sl_status check_junction(const char *file, struct sl_error *error)
{
    struct sl_junction junction = {0};
    enum sl_status status = sl_load_junction(file, &junction, error);
    sl_junction_clear(&junction);
    return status;
}

static enum sl_status check_routine(const char *file, struct sl_error *error)
{
    struct sl_routine routine = {0};
    enum sl_status status = sl_load_routine(file, &routine, error);
    sl_routine_clear(&routine);
    return status;
}

static enum sl_status check_car(const char *file, struct sl_error *error)
{
    struct sl_car car = {0};
    enum sl_status status = sl_load_car(file, &car, error);
    sl_car_clear(&car);
    return status;
}

struct kind {
    const char *word;
    enum sl_status (*check)(const char *file, struct sl_error *error);
};

static const struct kind kinds[] = {
    {"junction", check_junction},
    {"routine", check_routine},
    {"car", check_car},
};

static const struct kind *find_kind(const char *word)
{
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (word == NULL || strcmp(kinds[i].word, word) == 0) {
            return &kinds[i];
        }
    }
    return NULL;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    const struct kind *kind = find_kind(call->values[CHECK_KIND]);
    if (kind == NULL) {
        sl_fail(&error, SL_INVALID, "--kind", "say junction, routine or car", "\"%s\" is no kind",
                call->values[CHECK_KIND]);
        sl_complain(&error);
        sl_error_clear(&error);
        return SL_EXIT_USAGE;
    }
    enum sl_exit code = SL_EXIT_DONE;
    for (size_t i = 0; i < call->n_operands; i++) {
        struct sl_str out = {0};
        if (kind->check(call->operands[i], &error) == SL_OK) {
            sl_text_clean(&out, call->operands[i]);
            sl_str_addf(&out, ": a right %s\n", kind->word);
        } else {
            sl_complain(&error);
            sl_error_clear(&error);
            code = SL_EXIT_FAILED;
        }
        code = sl_print(&out) ? code : SL_EXIT_FAILED;
        sl_str_clear(&out);
    }
    return code;
}

const struct sl_command sl_command_check = {
    .name = "check",
    .summary = "check junction, routine or car files",
    .usage = "[--kind KIND] FILE...",
    .purpose = "Reads each file as `mark` and `plan` do, and says that it is right, or the line, "
               "what is wrong there and how to mend it. - is standard input.",
    .options = options,
    .n_options = CHECK_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "FILE",
    .example = "sayline check models/junctions/t-left-open.yaml",
    .example_tells = "checks the shipped junction; a junction of your own is checked alike.",
    .exit_failed = "a file is not right or cannot be read, or the results could not be written",
    .run = run,
};
