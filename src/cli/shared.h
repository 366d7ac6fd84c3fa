/*
 * What several commands do alike: options of the same meaning, loading, printing.
 */
#ifndef SL_CLI_SHARED_H
#define SL_CLI_SHARED_H

#include "cli/command.h"
#include "core/car.h"
#include "core/junction.h"
#include "core/plan.h"
#include "core/routine.h"
#include "core/situation.h"
#include "files/learner.h"
#include "report/table.h"

#define SL_DEFAULT_ROUTINE "decide-last"
#define SL_DEFAULT_CAR "small-petrol"

/* Entries of option tables that mean the same everywhere. */
#define SL_OPTION_ROUTINE                                                                          \
    {                                                                                              \
        "routine", 'r', "NAME",                                                                    \
            "The routine, by name or as a YAML file; " SL_DEFAULT_ROUTINE " if not given."         \
    }
#define SL_OPTION_CAR                                                                              \
    {                                                                                              \
        "car", 'c', "NAME", "The car, by name or as a YAML file; " SL_DEFAULT_CAR " if not given." \
    }
#define SL_OPTION_APPROACH                                                                         \
    {                                                                                              \
        "approach", 'a', "SPEED",                                                                  \
            "The speed before slowing, such as '40 mph', instead of the junction's."               \
    }
#define SL_OPTION_LEARNER                                                                          \
    {                                                                                              \
        "learner", 'l', "NAME",                                                                    \
            "Whose it is, where several practise on this machine; " SL_DEFAULT_LEARNER             \
            " if not given."                                                                       \
    }
#define SL_OPTION_NO_HISTORY                                                                       \
    {                                                                                              \
        "no-history", 0, NULL, "Keep nothing of it in the history of `sayline progress`."          \
    }
#define SL_OPTION_COLOUR                                                                           \
    {                                                                                              \
        "colour", 0, "WHEN",                                                                       \
            "auto, always or never. With auto, colour is used on a terminal, unless NO_COLOR is "  \
            "set."                                                                                 \
    }

/* The learner that --learner names (NULL: not given). */
const char *sl_learner_of(const char *given);

/* What recordings are marked against. Initialise with {0}; release with sl_setup_clear. */
struct sl_setup {
    struct sl_junction junction; /* as announced */
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_situation others; /* who else is there; nobody without a seed */
    struct sl_junction met;     /* the junction with them in it, against which words are judged; its
                                   strings are those of `junction` */
};

struct sl_setup_names {
    const char *junction;
    const char *routine;  /* NULL: the default */
    const char *car;      /* NULL: the default */
    const char *approach; /* a speed such as "40 mph" instead of the junction's; NULL: as it is */
    bool seeded;          /* others are there, as `seed` brings them (core/situation.h) */
    uint64_t seed;
};

/* Loads, checks and plans. Release the setup in every case. */
enum sl_status sl_setup_load(struct sl_setup *setup, const struct sl_setup_names *names,
                             struct sl_error *error);
void sl_setup_clear(struct sl_setup *setup);

/* The style for standard output. `when` is the value of --colour, or NULL. SL_INVALID when it is
 * none of its words. */
enum sl_status sl_style_choose(const char *when, struct sl_style *style, struct sl_error *error);

/* The option and where its whole number must lie, ends included. */
struct sl_whole {
    const char *option; /* "--seed" */
    double least, most;
};

#define SL_SEED_MAX 4294967295.0

/* Reads the value of an option; without one (NULL) *value stays as it is. SL_INVALID when it is no
 * such whole number. */
enum sl_status sl_whole_choose(const char *text, const struct sl_whole *whole, double *value,
                               struct sl_error *error);

/* The value of --seed; without one (NULL) by the clock, so that it is another each second.
 * SL_INVALID when it is no whole number of 0 to SL_SEED_MAX. */
enum sl_status sl_seed_choose(const char *text, uint64_t *seed, struct sl_error *error);

/* The threads for many recordings: the value of --jobs, or NULL for all of the machine. SL_INVALID
 * when it is no whole number of 1 to SL_JOBS_MAX. */
enum sl_status sl_jobs_choose(const char *text, int *jobs, struct sl_error *error);

/*
 * Writes and flushes results on standard output. False when that fails (a full disk): it was said
 * on standard error, the first time.
 */
bool sl_print(struct sl_str *text);

/* Writes a text to a file, whole or not at all ("-": to standard output), and frees it. */
enum sl_status sl_write_and_free(const char *path, char *text, struct sl_error *error);

/* Says an error on standard error: "sayline: WHERE: WHAT" and the mend below it, wrapped. */
void sl_complain(const struct sl_error *error);

/* The exit code for an error before any file was worked on and any sound flowed: a name that does
 * not exist is wrong use, a device that does not work is no device, anything else is a file that
 * cannot be used. */
enum sl_exit sl_exit_for(const struct sl_error *error);

/* The end of a command: an error is said, or else the results are printed. Clears both and gives
 * the exit code. */
enum sl_exit sl_conclude(struct sl_str *out, struct sl_error *error);

/* Adds an argument as a shell takes it: in quotes where it needs them. */
void sl_add_argument(struct sl_str *out, const char *argument);

#endif
