#include "cli/shared.h"

#include "core/units.h"
#include "files/atomic.h"
#include "files/models.h"
#include "files/quantity.h"
#include "practice/mark_batch.h"
#include "report/text.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#define WIDTH_UNKNOWN 80
#define MEND "  To mend it: "

static enum sl_status override_approach(struct sl_junction *junction, const char *approach,
                                        struct sl_error *error)
{
    if (!sl_quantity_parse(approach, SL_QUANTITY_SPEED, &junction->approach_mps)) {
        struct sl_str mend = {0};
        sl_str_addf(&mend, "give %s", sl_quantity_example(SL_QUANTITY_SPEED));
        sl_fail(error, SL_INVALID, "--approach", sl_str_text(&mend), "\"%s\" is no speed",
                approach);
        sl_str_clear(&mend);
        return SL_INVALID;
    }
    return sl_junction_check(junction, error);
}

enum sl_status sl_setup_load(struct sl_setup *setup, const struct sl_setup_names *names,
                             struct sl_error *error)
{
    const char *routine = names->routine == NULL ? SL_DEFAULT_ROUTINE : names->routine;
    const char *car = names->car == NULL ? SL_DEFAULT_CAR : names->car;
    enum sl_status status = sl_load_junction(names->junction, &setup->junction, error);
    if (status == SL_OK) {
        status = sl_load_routine(routine, &setup->routine, error);
    }
    if (status == SL_OK) {
        status = sl_load_car(car, &setup->car, error);
    }
    if (status == SL_OK && names->approach != NULL) {
        status = override_approach(&setup->junction, names->approach, error);
    }
    if (status == SL_OK) {
        status = sl_plan_make(&setup->junction, &setup->routine, &setup->car, &setup->plan, error);
    }
    setup->met = setup->junction;
    if (status == SL_OK && names->seeded) {
        sl_situation_make(&setup->junction, &setup->routine, &setup->plan, names->seed,
                          &setup->others);
        sl_situation_apply(&setup->others, &setup->met);
    }
    return status;
}

void sl_setup_clear(struct sl_setup *setup)
{
    sl_junction_clear(&setup->junction);
    sl_routine_clear(&setup->routine);
    sl_car_clear(&setup->car);
    *setup = (struct sl_setup){0};
}

const char *sl_learner_of(const char *given)
{
    return given == NULL ? SL_DEFAULT_LEARNER : given;
}

/* Columns of the terminal behind a descriptor. */
static int terminal_width(int descriptor)
{
    const char *columns = getenv("COLUMNS");
    double stated = 0.0;
    if (columns != NULL && sl_number_parse(columns, &stated) && stated >= 1.0 && stated < 1e4) {
        return (int)stated;
    }
    struct winsize size;
    if (ioctl(descriptor, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        return size.ws_col;
    }
    return WIDTH_UNKNOWN;
}

enum sl_status sl_style_choose(const char *when, struct sl_style *style, struct sl_error *error)
{
    bool always = when != NULL && strcmp(when, "always") == 0;
    bool never = when != NULL && strcmp(when, "never") == 0;
    if (when != NULL && !always && !never && strcmp(when, "auto") != 0) {
        return sl_fail(error, SL_INVALID, "--colour", "say auto, always or never",
                       "\"%s\" is no choice", when);
    }
    const char *no_color = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    bool wanted = no_color == NULL || no_color[0] == '\0';
    bool able = isatty(STDOUT_FILENO) == 1 && (term == NULL || strcmp(term, "dumb") != 0);
    *style = (struct sl_style){.colour = always || (!never && wanted && able),
                               .width = terminal_width(STDOUT_FILENO)};
    return SL_OK;
}

/* All of the machine, within what a batch takes. */
static int n_cores(void)
{
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > SL_JOBS_MAX ? SL_JOBS_MAX : (int)n;
}

enum sl_status sl_whole_choose(const char *text, const struct sl_whole *whole, double *value,
                               struct sl_error *error)
{
    double read = 0.0;
    if (text == NULL) {
        return SL_OK;
    }
    if (!sl_number_parse(text, &read) || read < whole->least || read > whole->most ||
        read != floor(read)) {
        return sl_fail(error, SL_INVALID, whole->option, NULL,
                       "\"%s\" is not a whole number from %.0f to %.0f", text, whole->least,
                       whole->most);
    }
    *value = read;
    return SL_OK;
}

enum sl_status sl_seed_choose(const char *text, uint64_t *seed, struct sl_error *error)
{
    const struct sl_whole whole = {"--seed", 0.0, SL_SEED_MAX};
    double value = fmod((double)time(NULL), SL_SEED_MAX);
    enum sl_status status = sl_whole_choose(text, &whole, &value, error);
    if (status == SL_OK) {
        *seed = (uint64_t)value;
    }
    return status;
}

enum sl_status sl_jobs_choose(const char *text, int *jobs, struct sl_error *error)
{
    const struct sl_whole whole = {"--jobs", 1.0, SL_JOBS_MAX};
    double n = n_cores();
    enum sl_status status = sl_whole_choose(text, &whole, &n, error);
    if (status == SL_OK) {
        *jobs = (int)n;
    }
    return status;
}

bool sl_print(struct sl_str *text)
{
    bool whole = !text->failed;
    bool already_broken = ferror(stdout) != 0;
    errno = 0;
    bool written = whole && fwrite(sl_str_text(text), 1, text->length, stdout) == text->length &&
                   fflush(stdout) == 0;
    if (!written && !already_broken) {
        const char *why = whole ? strerror(errno) : "memory ran out";
        fprintf(stderr, "sayline: the results cannot be written: %s\n", why);
    }
    return written;
}

enum sl_status sl_write_and_free(const char *path, char *text, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    size_t length = strlen(text);
    if (strcmp(path, "-") != 0) {
        status = sl_write_text_file(path, text, length, error);
    } else if (fwrite(text, 1, length, stdout) != length || fflush(stdout) != 0) {
        status = sl_fail(error, SL_IO, "standard output", NULL, "it cannot be written");
    }
    free(text);
    return status;
}

void sl_complain(const struct sl_error *error)
{
    struct sl_str text = {0};
    sl_str_add(&text, "sayline: ");
    if (error->where != NULL) {
        sl_text_clean(&text, error->where);
        sl_str_add(&text, ": ");
    }
    sl_text_clean(&text, error->what != NULL ? error->what : sl_status_name(error->status));
    sl_str_add(&text, "\n");
    if (error->mend != NULL) {
        sl_text_fact(&text, MEND, error->mend, terminal_width(STDERR_FILENO));
    }
    fputs(sl_str_text(&text), stderr);
    sl_str_clear(&text);
}

enum sl_exit sl_exit_for(const struct sl_error *error)
{
    return error->status == SL_NOT_FOUND ? SL_EXIT_USAGE
           : error->status == SL_DEVICE  ? SL_EXIT_NO_DEVICE
                                         : SL_EXIT_FAILED;
}

enum sl_exit sl_conclude(struct sl_str *out, struct sl_error *error)
{
    enum sl_exit code = SL_EXIT_DONE;
    if (error->status != SL_OK) {
        code = sl_exit_for(error);
        sl_complain(error);
    } else if (!sl_print(out)) {
        code = SL_EXIT_FAILED;
    }
    sl_error_clear(error);
    sl_str_clear(out);
    return code;
}

#define PLAIN_IN_A_SHELL "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+=:,./@%"

void sl_add_argument(struct sl_str *out, const char *argument)
{
    struct sl_str clean = {0};
    sl_text_clean(&clean, argument);
    const char *text = sl_str_text(&clean);
    if (*text != '\0' && text[strspn(text, PLAIN_IN_A_SHELL)] == '\0') {
        sl_str_add(out, text);
    } else {
        sl_str_add(out, "'");
        for (; *text != '\0'; text++) {
            if (*text == '\'') {
                sl_str_add(out, "'\\''");
            } else {
                sl_str_add_bytes(out, text, 1);
            }
        }
        sl_str_add(out, "'");
    }
    sl_str_clear(&clean);
}
