/*
 * Running the built program from a test.
 */
#ifndef SL_TESTS_SUPPORT_PROGRAM_H
#define SL_TESTS_SUPPORT_PROGRAM_H

/* What a command line did; the texts are owned, release with sl_ran_clear. */
struct sl_ran {
    int code; /* exit code; 128 + N when signal N ended it */
    char *out;
    char *err;
};

/*
 * Runs a command line through `sh -c` in the project's folder, `sayline` being the built one, with
 * standard input empty and no terminal. Fails the test when it cannot be run at all. The time it
 * may take is limited: 600 s a command, then code 124.
 */
struct sl_ran sl_run(const char *command);

/* The same on a terminal of its own, at which `typed` is typed; all that shows there, also what was
 * typed, is `out`, with "\r\n" at the ends of lines, and `err` is empty. */
struct sl_ran sl_run_typed(const char *command, const char *typed);

void sl_ran_clear(struct sl_ran *ran);

/* Runs a command with $D as a folder, in which the learner's data go; fails the test when the exit
 * code is not as said. */
void sl_check_in(const char *folder, const char *command, int code);

/* A new folder for a test's files, removed by sl_scratch_remove; the caller frees the path. */
char *sl_scratch_make(void);
void sl_scratch_remove(char *folder);

#endif
