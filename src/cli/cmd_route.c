/* sayline route: a practice set from a list of junctions. */
#include "cli/homework_parts.h"
#include "files/path.h"

#include <stdlib.h>
#include <string.h>

enum { ROUTE_OUT, ROUTE_ICS, ROUTE_OPTIONS };

#define LIST_MOST 65536 /* bytes */

static const struct sl_option options[ROUTE_OPTIONS] = {
    [ROUTE_OUT] = {"out", 0, "FILE",
                   "The set to be written, which must not exist; standard output if not given."},
    [ROUTE_ICS] = {"ics", 0, "FILE", "Write a reminder of the due day for a calendar program."},
};

/* The junctions of a list, which are pieces of its text. */
struct route {
    const char *junctions[SL_HOMEWORK_ITEMS_MAX];
    size_t n_junctions;
};

static bool has(const struct route *route, const char *junction)
{
    for (size_t i = 0; i < route->n_junctions; i++) {
        if (strcmp(route->junctions[i], junction) == 0) {
            return true;
        }
    }
    return false;
}

/* A line without what follows '#' and without blanks around it; the line is changed. */
static char *trim(char *line)
{
    line += strspn(line, " \t\r");
    line[strcspn(line, "#\r")] = '\0';
    for (size_t n = strlen(line); n > 0 && strchr(" \t", line[n - 1]) != NULL; n--) {
        line[n - 1] = '\0';
    }
    return line;
}

/* Splits the list; a junction that comes twice on the route is practised once. */
static enum sl_status split(struct route *route, char *text, const char *list,
                            struct sl_error *error)
{
    char *rest = NULL;
    for (char *line = strtok_r(text, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        const char *junction = trim(line);
        if (*junction == '\0' || has(route, junction)) {
            continue;
        }
        if (route->n_junctions == SL_HOMEWORK_ITEMS_MAX) {
            return sl_fail(error, SL_TOO_LARGE, list, "make two lists of it",
                           "there are more than %d junctions", SL_HOMEWORK_ITEMS_MAX);
        }
        route->junctions[route->n_junctions++] = junction;
    }
    return route->n_junctions > 0 ? SL_OK
                                  : sl_fail(error, SL_INVALID, list,
                                            "name one a line, as `sayline list junctions` does",
                                            "there is no junction in the list");
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_str text = {0};
    struct route route = {0};
    enum sl_exit code = SL_EXIT_DONE;
    enum sl_status status = sl_read_text_file(call->operands[0], LIST_MOST, &text, &error);
    char *lines = status == SL_OK ? sl_str_take(&text) : NULL;
    if (status == SL_OK && lines == NULL) {
        status = sl_fail_memory(&error);
    }
    if (status == SL_OK) {
        status = split(&route, lines, call->operands[0], &error);
    }
    if (status == SL_OK) {
        const struct sl_homework_options made = {.operands = route.junctions,
                                                 .n_operands = route.n_junctions,
                                                 .out = call->values[ROUTE_OUT],
                                                 .ics = call->values[ROUTE_ICS]};
        code = sl_homework_new(&made);
    } else {
        code = sl_exit_for(&error);
        sl_complain(&error);
    }
    sl_error_clear(&error);
    sl_str_clear(&text);
    free(lines);
    return code;
}

const struct sl_command sl_command_route = {
    .name = "route",
    .summary = "make a practice set of the junctions on a route",
    .usage = "[OPTION...] LIST",
    .purpose =
        "Reads a list of junctions, one a line: names (`sayline list junctions`) or junction "
        "files, "
        "which are shared as they are; - is standard input. What follows # is a note. Writes a "
        "homework set of them, with a word on every line of it, to be changed in any text editor "
        "and given to `sayline homework do`. Paths in the list are from the set's folder.",
    .options = options,
    .n_options = ROUTE_OPTIONS,
    .least_operands = 1,
    .most_operands = 1,
    .operand = "LIST",
    .example = "sayline route docs/example-route.txt",
    .example_tells = "prints a set of three junctions.",
    .exit_failed = "the list or a junction in it cannot be used, or the set could not be written",
    .run = run,
};
