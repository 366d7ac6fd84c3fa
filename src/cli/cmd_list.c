/* sayline list: what can be named. */
#include "cli/shared.h"
#include "files/models.h"
#include "files/near.h"

#include <stdlib.h>
#include <string.h>

/* A kind of thing that lives in a models folder of the same name. */
struct kind {
    const char *folder;
    /* Adds the title of the thing of this name. */
    enum sl_status (*title)(const char *name, struct sl_str *out, struct sl_error *error);
};

static enum sl_status junction_title(const char *name, struct sl_str *out, struct sl_error *error)
{
    struct sl_junction junction = {0};
    enum sl_status status = sl_load_junction(name, &junction, error);
    if (status == SL_OK) {
        const char *title = junction.title;
        sl_str_add(out, title == NULL ? sl_kind_title(junction.kind) : title);
    }
    sl_junction_clear(&junction);
    return status;
}

static enum sl_status routine_title(const char *name, struct sl_str *out, struct sl_error *error)
{
    struct sl_routine routine = {0};
    enum sl_status status = sl_load_routine(name, &routine, error);
    if (status == SL_OK) {
        sl_str_add(out, routine.title == NULL ? "" : routine.title);
    }
    sl_routine_clear(&routine);
    return status;
}

static enum sl_status car_title(const char *name, struct sl_str *out, struct sl_error *error)
{
    struct sl_car car = {0};
    enum sl_status status = sl_load_car(name, &car, error);
    if (status == SL_OK) {
        sl_str_add(out, car.title == NULL ? "" : car.title);
    }
    sl_car_clear(&car);
    return status;
}

static const struct kind kinds[] = {
    {"junctions", junction_title},
    {"routines", routine_title},
    {"cars", car_title},
};

static int longest(char *const *names, size_t n_names)
{
    size_t most = 0;
    for (size_t i = 0; i < n_names; i++) {
        size_t length = strlen(names[i]);
        most = length > most ? length : most;
    }
    return most > 60 ? 60 : (int)most;
}

/* False when a file of the kind cannot be used; that was said. */
static bool list_kind(struct sl_str *out, const struct kind *kind)
{
    struct sl_error error = {0};
    char **names = NULL;
    size_t n_names = 0;
    bool usable = sl_models_list(kind->folder, &names, &n_names, &error) == SL_OK;
    int width = longest(names, n_names);
    for (size_t i = 0; i < n_names; i++) {
        struct sl_str title = {0};
        if (kind->title(names[i], &title, &error) == SL_OK) {
            sl_str_addf(out, "%-*s  %s\n", width, names[i], sl_str_text(&title));
        } else {
            sl_complain(&error);
            sl_error_clear(&error);
            usable = false;
        }
        sl_str_clear(&title);
        free(names[i]);
    }
    free(names);
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    return usable;
}

static enum sl_exit refuse(const char *word)
{
    const char *names[sizeof kinds / sizeof *kinds];
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        names[i] = kinds[i].folder;
    }
    const char *near = sl_nearest(word, names, sizeof kinds / sizeof *kinds);
    char *mend = near == NULL ? sl_strdup("junctions, routines and cars can be listed")
                              : sl_strf("did you mean %s?", near);
    struct sl_error error = {0};
    sl_fail(&error, SL_INVALID, NULL, mend, "there is no list of %s", word);
    sl_complain(&error);
    sl_error_clear(&error);
    free(mend);
    return SL_EXIT_USAGE;
}

static enum sl_exit run(const struct sl_call *call)
{
    const char *wanted = call->n_operands > 0 ? call->operands[0] : NULL;
    struct sl_str out = {0};
    bool usable = true;
    bool found = false;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (wanted != NULL && strcmp(wanted, kinds[i].folder) != 0) {
            continue;
        }
        if (wanted == NULL) {
            sl_str_addf(&out, "%s%s:\n", found ? "\n" : "", kinds[i].folder);
        }
        found = true;
        usable = list_kind(&out, &kinds[i]) && usable;
    }
    if (!found) {
        return refuse(wanted);
    }
    bool written = sl_print(&out);
    sl_str_clear(&out);
    return usable && written ? SL_EXIT_DONE : SL_EXIT_FAILED;
}

const struct sl_command sl_command_list = {
    .name = "list",
    .summary = "list the junctions, routines and cars that can be named",
    .usage = "[junctions|routines|cars]",
    .purpose = "Lists what is shipped and what you keep yourself in ~/.local/share/sayline (or in "
               "the folder that SAYLINE_MODELS names), one a line: the name, then the title.",
    .least_operands = 0,
    .most_operands = 1,
    .operand = "kind",
    .example = "sayline list junctions",
    .example_tells = "lists every junction that mark and plan know by name.",
    .exit_failed = "a listed file cannot be used, or the list could not be written",
    .run = run,
};
