/* Settings that were said wrong in runs: what the recall drill goes by, beside its own answers. */
#include "store/history_parts.h"

static struct sl_history_slip slip_of(struct sl_statement *row, const struct sl_routine *routine)
{
    struct sl_history_slip slip = {.junction = sl_column_text(row)};
    slip.phase = sl_routine_phase(routine, sl_column_text(row));
    slip.driven = sl_column_whole(row) != 0;
    slip.at_s = sl_column_whole(row);
    return slip;
}

enum sl_status sl_history_slips(struct sl_history *history, const struct sl_history_of *of,
                                sl_history_slip_taker *take, void *user, struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    enum sl_status status = sl_statement_open(
        &history->db,
        "SELECT run.junction, fault.phase, run.seed IS NOT NULL AS driven, max(run.at_s)"
        " FROM run JOIN fault ON fault.run = run.id"
        " WHERE run.learner = (SELECT id FROM learner WHERE name = ?) AND run.routine = ?"
        " AND fault.kind = ? GROUP BY run.junction, fault.phase, driven",
        &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, of->learner);
        sl_put_text(&statement, of->name);
        sl_put_text(&statement, sl_fault_word(SL_FAULT_WRONG_SETTING));
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        const struct sl_history_slip slip = slip_of(&statement, of->routine);
        if (slip.phase < of->routine->n_phases) {
            take(user, &slip);
        }
        status = sl_statement_step(&statement, &row, error);
    }
    sl_statement_close(&statement);
    return status;
}
