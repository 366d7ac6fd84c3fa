/*
 * Scripted runs with the faults that they must get, as rows of a table. Include after cmocka.h.
 */
#ifndef SL_TESTS_FAULT_ROWS_H
#define SL_TESTS_FAULT_ROWS_H

#include "support/marked_run.h"

struct row {
    const char *name;
    bool timed;
    enum where where;
    const char *script;
    const char *faults;
};

static inline void check_rows(const struct row *rows, size_t n_rows)
{
    for (size_t i = 0; i < n_rows; i++) {
        struct run run = mark(rows[i].script, rows[i].timed, rows[i].where);
        char *faults = script_faults(&run.routine, &run.mark);
        if (strcmp(faults, rows[i].faults) != 0) {
            print_error("%s\n  wanted: %s\n  marked: %s\n", rows[i].name, rows[i].faults, faults);
        }
        assert_string_equal(faults, rows[i].faults);
        free(faults);
        end_run(&run);
    }
}

#define CHECK_ROWS(rows) check_rows(rows, sizeof(rows) / sizeof *(rows))

#endif
