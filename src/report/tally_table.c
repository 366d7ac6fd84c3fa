#include "report/tally_table.h"

#include "report/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The kinds of fault as columns, in the order in which reports name them. */
static void add_heading(struct sl_str *out, const char *routine)
{
    sl_text_clean(out, routine);
    sl_str_add(out,
               "\n  Phase       Runs  Heard  Unclear  Missed  Order  Wrong  Early  Late  Extra\n");
}

static void add_row(struct sl_str *out, const struct sl_tally_row *row)
{
    sl_str_add(out, "  ");
    sl_text_clean(out, row->phase);
    for (size_t used = sl_text_columns(row->phase); used < 10; used++) {
        sl_str_add(out, " ");
    }
    sl_str_addf(out, "%6zu %6zu %8zu %7zu %6zu %6zu %6zu %5zu %6zu\n", row->runs, row->heard,
                row->unclear, row->faults[SL_FAULT_MISSED], row->faults[SL_FAULT_OUT_OF_ORDER],
                row->faults[SL_FAULT_WRONG_SETTING], row->faults[SL_FAULT_EARLY],
                row->faults[SL_FAULT_LATE], row->faults[SL_FAULT_EXTRA]);
}

static void add_run(struct sl_str *out, const struct sl_tally_run *run)
{
    size_t faults = 0;
    size_t unclear = 0;
    sl_tally_count(run, &faults, &unclear);
    sl_text_clean(out, run->file == NULL ? "(no name)" : run->file);
    if (run->failure != NULL) {
        sl_str_add(out, ": not marked: ");
        sl_text_clean(out, run->failure);
        sl_str_add(out, "\n");
        return;
    }
    sl_str_add(out, ": ");
    sl_text_clean(out, run->junction);
    sl_str_addf(out, ", %.0f of 100, %zu %s, %zu unclear\n", run->overall, faults,
                faults == 1 ? "fault" : "faults", unclear);
}

void sl_report_tally(struct sl_str *out, const struct sl_tally *tally, const struct sl_style *style)
{
    struct sl_tally_row *rows = NULL;
    size_t n_rows = 0;
    double mean = NAN;
    size_t marked = sl_tally_marked(tally, &mean);
    if (sl_tally_rows(tally, &rows, &n_rows, NULL) != SL_OK) {
        out->failed = true;
        return;
    }
    for (size_t i = 0; !style->brief && i < tally->n_runs; i++) {
        add_run(out, &tally->runs[i]);
    }
    for (size_t i = 0; i < n_rows; i++) {
        if (i == 0 || strcmp(rows[i - 1].routine, rows[i].routine) != 0) {
            sl_str_add(out, i > 0 || !style->brief ? "\n" : "");
            add_heading(out, rows[i].routine);
        }
        add_row(out, &rows[i]);
    }
    sl_str_addf(out, "\n%zu of %zu recordings marked", marked, tally->n_runs);
    if (marked > 0) {
        sl_str_addf(out, "; mean score %.1f of 100", mean);
    }
    sl_str_add(out, ".\n");
    free(rows);
}
