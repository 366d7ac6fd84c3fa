/* What progress, marking anew and forgetting need of the history. */
#include "store/history_parts.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The runs being read, by ascending id as all three queries give them. */
struct reading {
    const struct sl_history_of *of;
    struct sl_progress_run *runs;
    int64_t *ids;
    size_t n_runs, runs_room, ids_room;
    size_t at; /* the run that the next row probably belongs to */
};

static enum sl_status add_run(struct reading *reading, struct sl_statement *row,
                              struct sl_error *error)
{
    void *runs =
        sl_grow(reading->runs, reading->n_runs, &reading->runs_room, sizeof *reading->runs);
    reading->runs = runs != NULL ? runs : reading->runs;
    void *ids = sl_grow(reading->ids, reading->n_runs, &reading->ids_room, sizeof *reading->ids);
    reading->ids = ids != NULL ? ids : reading->ids;
    if (runs == NULL || ids == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_progress_run *run = &reading->runs[reading->n_runs];
    *run = (struct sl_progress_run){.prompting = SL_PROMPTING_COUNT};
    for (size_t i = 0; i < SL_PHASE_MAX; i++) {
        run->steps[i].after_due_s = NAN;
    }
    reading->ids[reading->n_runs] = sl_column_whole(row);
    run->kind = sl_kind_from_word(sl_column_text(row));
    run->view = sl_view_from_word(sl_column_text(row));
    const char *prompting = sl_column_text(row);
    run->prompting = prompting == NULL ? SL_PROMPTING_COUNT : sl_prompting_from_word(prompting);
    run->driven = sl_column_whole(row) != 0;
    run->rolling_s = sl_column_real(row);
    bool known = run->kind < SL_KIND_COUNT && run->view < SL_VIEW_COUNT;
    reading->n_runs += known ? 1 : 0;
    return SL_OK;
}

/* The step that a row is of, whose first columns are run and phase; NULL: of none that is known. */
static struct sl_progress_step *step_of(struct reading *reading, struct sl_statement *row)
{
    int64_t id = sl_column_whole(row);
    size_t phase = sl_routine_phase(reading->of->routine, sl_column_text(row));
    while (reading->at < reading->n_runs && reading->ids[reading->at] < id) {
        reading->at++;
    }
    bool found = reading->at < reading->n_runs && reading->ids[reading->at] == id &&
                 phase < reading->of->routine->n_phases;
    return found ? &reading->runs[reading->at].steps[phase] : NULL;
}

static enum sl_status add_phase(struct reading *reading, struct sl_statement *row,
                                struct sl_error *error)
{
    (void)error;
    struct sl_progress_step *step = step_of(reading, row);
    if (step != NULL) {
        step->unclear = sl_column_whole(row) != 0;
        step->after_due_s = sl_column_real(row);
    }
    return SL_OK;
}

static enum sl_status add_fault(struct reading *reading, struct sl_statement *row,
                                struct sl_error *error)
{
    (void)error;
    struct sl_progress_step *step = step_of(reading, row);
    const char *word = sl_column_text(row);
    for (unsigned kind = 0; step != NULL && kind < SL_FAULT_KIND_COUNT; kind++) {
        if (strcmp(word, sl_fault_word((enum sl_fault_kind)kind)) == 0) {
            step->kinds |= 1U << kind;
        }
    }
    return SL_OK;
}

#define OF_LEARNER " WHERE run.learner = (SELECT id FROM learner WHERE name = ?)"
#define OF_ROUTINE OF_LEARNER " AND run.routine = ?"

/* Gives every row of a query about the learner and the routine to `add`. */
static enum sl_status read_all(struct sl_history *history, const char *sql, struct reading *reading,
                               enum sl_status (*add)(struct reading *, struct sl_statement *,
                                                     struct sl_error *),
                               struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    reading->at = 0;
    enum sl_status status = sl_statement_open(&history->db, sql, &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, reading->of->learner);
        sl_put_text(&statement, reading->of->name);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        status = add(reading, &statement, error);
        if (status == SL_OK) {
            status = sl_statement_step(&statement, &row, error);
        }
    }
    sl_statement_close(&statement);
    return status;
}

enum sl_status sl_history_runs(struct sl_history *history, const struct sl_history_of *of,
                               struct sl_progress_run **runs, size_t *n_runs,
                               struct sl_error *error)
{
    struct reading reading = {.of = of};
    /* One moment for the three queries: what is added meanwhile is not half seen. */
    enum sl_status status = sl_db_run(&history->db, "BEGIN", error);
    if (status != SL_OK) {
        return status;
    }
    status =
        read_all(history,
                 "SELECT id, kind, view, prompting, seed IS NOT NULL, rolling_s FROM run" OF_ROUTINE
                 " ORDER BY id",
                 &reading, add_run, error);
    if (status == SL_OK) {
        status = read_all(history,
                          "SELECT run.id, phase, unclear, phase.at_s - due_s FROM run"
                          " JOIN phase ON phase.run = run.id" OF_ROUTINE " ORDER BY run.id",
                          &reading, add_phase, error);
    }
    if (status == SL_OK) {
        status = read_all(history,
                          "SELECT run.id, phase, fault.kind FROM run"
                          " JOIN fault ON fault.run = run.id" OF_ROUTINE " ORDER BY run.id",
                          &reading, add_fault, error);
    }
    status = sl_db_end(&history->db, status, error);
    free(reading.ids);
    if (status != SL_OK) {
        free(reading.runs);
        return status;
    }
    *runs = reading.runs;
    *n_runs = reading.n_runs;
    return SL_OK;
}

enum sl_status sl_history_recalled(struct sl_history *history, const char *learner,
                                   struct sl_course *course, struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    struct sl_course made = {0};
    enum sl_status status =
        sl_statement_open(&history->db,
                          "SELECT recalled IN ('quick', 'slow') FROM recall WHERE learner ="
                          " (SELECT id FROM learner WHERE name = ?) AND recalled <> 'unclear'"
                          " ORDER BY id DESC",
                          &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, learner);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        sl_course_add(&made, sl_column_whole(&statement) != 0);
        status = sl_statement_step(&statement, &row, error);
    }
    sl_statement_close(&statement);
    if (status == SL_OK) {
        sl_course_end(&made, true);
        *course = made;
    }
    return status;
}

void sl_history_kept_clear(struct sl_history_kept *kept)
{
    free(kept->junction);
    free(kept->routine);
    free(kept->car);
    free(kept->faults);
    *kept = (struct sl_history_kept){0};
}

static enum sl_status take_kept(struct sl_statement *row, struct sl_history_kept *kept,
                                struct sl_error *error)
{
    kept->id = sl_column_whole(row);
    kept->junction = sl_strdup(sl_column_text(row));
    kept->routine = sl_strdup(sl_column_text(row));
    kept->car = sl_strdup(sl_column_text(row));
    double approach_mps = sl_column_real(row);
    kept->approach_mps = isnan(approach_mps) ? 0 : approach_mps;
    kept->driven = sl_column_whole(row) != 0;
    kept->seed = (uint64_t)sl_column_whole(row);
    kept->options.from_s = sl_column_real(row);
    kept->options.timed = sl_column_whole(row) != 0;
    kept->options.hiding = (unsigned)sl_column_whole(row);
    kept->faults = sl_strdup(sl_column_text(row));
    bool whole = kept->junction != NULL && kept->routine != NULL && kept->car != NULL &&
                 kept->faults != NULL;
    return whole ? SL_OK : sl_fail_memory(error);
}

enum sl_status sl_history_list(struct sl_history *history, const char *learner,
                               struct sl_history_kept **kept, size_t *n_kept,
                               struct sl_error *error)
{
    struct sl_statement statement = {0};
    struct sl_history_kept *list = NULL;
    size_t n = 0;
    size_t room = 0;
    bool row = false;
    enum sl_status status = sl_statement_open(
        &history->db,
        "SELECT id, junction, routine, car, approach_mps, seed IS NOT NULL, coalesce(seed, 0), "
        "from_s, timed,"
        " hiding, (SELECT"
        " coalesce(group_concat(phase || ' ' || kind, ', '), '') FROM (SELECT phase, kind FROM"
        " fault WHERE fault.run = run.id ORDER BY n)) FROM run" OF_LEARNER " ORDER BY id",
        &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, learner);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        struct sl_history_kept *grown = sl_grow(list, n, &room, sizeof *list);
        if (grown == NULL) {
            status = sl_fail_memory(error);
            break;
        }
        list = grown;
        list[n] = (struct sl_history_kept){0};
        status = take_kept(&statement, &list[n++], error);
        if (status == SL_OK) {
            status = sl_statement_step(&statement, &row, error);
        }
    }
    sl_statement_close(&statement);
    if (status != SL_OK) {
        for (size_t i = 0; i < n; i++) {
            sl_history_kept_clear(&list[i]);
        }
        free(list);
        return status;
    }
    *kept = list;
    *n_kept = n;
    return SL_OK;
}

static enum sl_status take_heard(struct sl_statement *row, const struct sl_routine *routine,
                                 struct sl_heard_list *list, struct sl_error *error)
{
    struct sl_heard heard = {0};
    const char *phase = sl_column_text(row);
    bool filler = strcmp(phase, "filler") == 0;
    bool correction = strcmp(phase, "correction") == 0;
    heard.phase = filler       ? SL_PHRASE_FILLER
                  : correction ? SL_PHRASE_CORRECTION
                               : sl_routine_phase(routine, phase);
    if (!filler && !correction && heard.phase >= routine->n_phases) {
        return sl_fail(error, SL_NOT_FOUND, routine->name, NULL,
                       "the routine has no phase \"%s\" any more", phase);
    }
    heard.text = (char *)sl_column_text(row); /* copied by the list */
    heard.start_s = sl_column_real(row);
    heard.end_s = sl_column_real(row);
    heard.confidence = sl_column_real(row);
    heard.unclear = sl_column_whole(row) != 0;
    heard.settings = sl_column_settings(row);
    return sl_heard_add(list, &heard, error);
}

enum sl_status sl_history_heard(struct sl_history *history, int64_t id,
                                const struct sl_routine *routine, struct sl_heard_list *heard,
                                struct sl_error *error)
{
    struct sl_statement statement = {0};
    struct sl_heard_list made = {0};
    bool row = false;
    enum sl_status status = sl_statement_open(
        &history->db,
        "SELECT phase, words, start_s, end_s, confidence, unclear, " SL_SETTINGS_COLUMNS
        " FROM phrase WHERE run = ? ORDER BY n",
        &statement, error);
    if (status == SL_OK) {
        sl_put_whole(&statement, id);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        status = take_heard(&statement, routine, &made, error);
        if (status == SL_OK) {
            status = sl_statement_step(&statement, &row, error);
        }
    }
    sl_statement_close(&statement);
    if (status != SL_OK) {
        sl_heard_clear(&made);
        return status;
    }
    sl_heard_clear(heard);
    *heard = made;
    return SL_OK;
}

enum sl_status sl_history_settled(struct sl_history *history, int64_t id,
                                  const struct sl_routine *routine,
                                  struct sl_settlements *settlements, struct sl_error *error)
{
    struct sl_statement statement = {0};
    struct sl_settlements made = {0};
    bool row = false;
    enum sl_status status = sl_statement_open(
        &history->db,
        "SELECT phase, settled, settled_at_s FROM phase WHERE run = ? AND settled IS NOT NULL",
        &statement, error);
    if (status == SL_OK) {
        sl_put_whole(&statement, id);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        size_t phase = sl_routine_phase(routine, sl_column_text(&statement));
        enum sl_settled as = sl_settled_from_word(sl_column_text(&statement));
        double at_s = sl_column_real(&statement);
        if (phase < routine->n_phases) {
            made.phases[phase] = (struct sl_settlement){.as = as, .at_s = at_s};
        }
        status = sl_statement_step(&statement, &row, error);
    }
    sl_statement_close(&statement);
    if (status == SL_OK) {
        *settlements = made;
    }
    return status;
}

enum sl_status sl_history_sounds(struct sl_history *history, const char *learner, char ***paths,
                                 size_t *n_paths, struct sl_error *error)
{
    struct sl_statement statement = {0};
    char **list = NULL;
    size_t n = 0;
    size_t room = 0;
    bool row = false;
    enum sl_status status = sl_statement_open(&history->db,
                                              "SELECT DISTINCT sound FROM run" OF_LEARNER
                                              " AND sound IS NOT NULL ORDER BY sound",
                                              &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, learner);
        status = sl_statement_step(&statement, &row, error);
    }
    while (status == SL_OK && row) {
        char *path = sl_strdup(sl_column_text(&statement));
        char **grown = path == NULL ? NULL : sl_grow(list, n, &room, sizeof *list);
        if (grown == NULL) {
            free(path);
            status = sl_fail_memory(error);
            break;
        }
        list = grown;
        list[n++] = path;
        status = sl_statement_step(&statement, &row, error);
    }
    sl_statement_close(&statement);
    for (size_t i = 0; status != SL_OK && i < n; i++) {
        free(list[i]);
    }
    if (status != SL_OK) {
        free(list);
        return status;
    }
    *paths = list;
    *n_paths = n;
    return SL_OK;
}
