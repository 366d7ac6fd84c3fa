/* Marks and answers: what is written of verdicts, and how settings are kept. */
#include "store/history_parts.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

char *sl_mirrors_text(const struct sl_settings *settings, bool *failed)
{
    struct sl_str text = {0};
    if (settings->n_mirrors == 0) {
        return NULL;
    }
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        sl_str_addf(&text, "%s%s", i > 0 ? "," : "", sl_mirror_word(settings->mirrors[i]));
    }
    char *taken = sl_str_take(&text);
    *failed = *failed || taken == NULL;
    return taken;
}

void sl_put_settings(struct sl_statement *statement, const struct sl_settings *settings,
                     const char *mirrors)
{
    sl_put_text(statement, mirrors);
    sl_put_text(statement, sl_signal_word(settings->signal));
    sl_put_real(statement, settings->speed_mps > 0 ? settings->speed_mps : NAN);
    if (settings->gear > 0) {
        sl_put_whole(statement, settings->gear);
    } else {
        sl_put_text(statement, NULL);
    }
    sl_put_text(statement, sl_clutch_word(settings->clutch));
    sl_put_text(statement, sl_decision_word(settings->decision));
    sl_put_text(statement, sl_position_word(settings->position));
}

static void add_mirrors(struct sl_settings *settings, const char *text)
{
    while (text != NULL && *text != '\0') {
        size_t length = strcspn(text, ",");
        for (int mirror = SL_MIRROR_INTERIOR; mirror <= SL_MIRROR_RIGHT; mirror++) {
            const char *word = sl_mirror_word((enum sl_mirror)mirror);
            if (strlen(word) == length && strncmp(word, text, length) == 0) {
                sl_settings_add_mirror(settings, (enum sl_mirror)mirror);
            }
        }
        text += length;
        text += *text == ',' ? 1 : 0;
    }
}

/* NULL names nothing. */
static const char *word_or_none(const char *word)
{
    return word == NULL ? "" : word;
}

struct sl_settings sl_column_settings(struct sl_statement *statement)
{
    struct sl_settings settings = {0};
    add_mirrors(&settings, sl_column_text(statement));
    settings.signal = sl_signal_from_word(word_or_none(sl_column_text(statement)));
    double speed_mps = sl_column_real(statement);
    settings.speed_mps = isnan(speed_mps) ? 0 : speed_mps;
    settings.gear = (int)sl_column_whole(statement);
    settings.clutch = sl_clutch_from_word(word_or_none(sl_column_text(statement)));
    settings.decision = sl_decision_from_word(word_or_none(sl_column_text(statement)));
    settings.position = sl_position_from_word(word_or_none(sl_column_text(statement)));
    return settings;
}

const char *sl_phrase_word(const struct sl_routine *routine, size_t phase)
{
    return phase == SL_PHRASE_FILLER       ? "filler"
           : phase == SL_PHRASE_CORRECTION ? "correction"
                                           : routine->phases[phase].id;
}

char *sl_mark_gist(const struct sl_routine *routine, const struct sl_mark *mark)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        sl_str_addf(&text, "%s%s %s", i > 0 ? ", " : "", routine->phases[fault->phase].id,
                    sl_fault_word(fault->kind));
    }
    return sl_str_take(&text);
}

static enum sl_status put_scores(struct sl_history *history, int64_t id,
                                 const struct sl_history_run *run, struct sl_error *error)
{
    const struct sl_mark *mark = run->mark;
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(
        &history->db,
        "UPDATE run SET marked_with = ?, score_order = ?, score_completeness = ?,"
        " score_settings = ?, score_timing = ?, score_overall = ?, rolling_s = ?, next = ?,"
        " view = ? WHERE id = ?",
        &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, run->marked_with);
        sl_put_real(&statement, mark->scores.order);
        sl_put_real(&statement, mark->scores.completeness);
        sl_put_real(&statement, mark->scores.settings);
        sl_put_real(&statement, mark->scores.timing);
        sl_put_real(&statement, mark->scores.overall);
        sl_put_real(&statement, mark->rolling_s);
        sl_put_text(&statement, mark->next);
        sl_put_text(&statement, sl_view_word(run->plan->view));
        sl_put_whole(&statement, id);
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    return status;
}

static enum sl_status put_phases(struct sl_history *history, int64_t id,
                                 const struct sl_history_run *run, struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(
        &history->db,
        "INSERT INTO phase (run, n, phase, heard, unclear, at_s, end_s, opens_s, due_s, closes_s,"
        " corrected, settled, settled_at_s, " SL_SETTINGS_COLUMNS
        ") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, " SL_SETTINGS_MARKS ")",
        &statement, error);
    const struct sl_settlement none = {.as = SL_SETTLED_NOT};
    bool timed = run->mark->timed;
    bool failed = false;
    for (size_t i = 0; i < run->mark->n_phases && status == SL_OK; i++) {
        const struct sl_phase_mark *phase = &run->mark->phases[i];
        const struct sl_window *window = &run->plan->windows[i];
        const struct sl_settlement settled =
            run->settlements == NULL ? none : run->settlements->phases[i];
        char *mirrors = sl_mirrors_text(&phase->said, &failed);
        sl_put_whole(&statement, id);
        sl_put_whole(&statement, (int64_t)i);
        sl_put_text(&statement, run->routine->phases[i].id);
        sl_put_whole(&statement, phase->heard ? 1 : 0);
        sl_put_whole(&statement, phase->unclear ? 1 : 0);
        sl_put_real(&statement, phase->at_s);
        sl_put_real(&statement, phase->end_s);
        sl_put_real(&statement, timed ? window->opens_s : NAN);
        sl_put_real(&statement, timed ? window->due_s : NAN);
        sl_put_real(&statement, timed ? window->closes_s : NAN);
        sl_put_whole(&statement, phase->corrected ? 1 : 0);
        sl_put_text(&statement, sl_settled_word(settled.as));
        sl_put_real(&statement, settled.as == SL_SETTLED_NOT ? NAN : settled.at_s);
        sl_put_settings(&statement, &phase->said, mirrors);
        status = failed ? sl_fail_memory(error) : sl_statement_run(&statement, error);
        free(mirrors);
    }
    sl_statement_close(&statement);
    return status;
}

static enum sl_status put_faults(struct sl_history *history, int64_t id,
                                 const struct sl_history_run *run, struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status =
        sl_statement_open(&history->db,
                          "INSERT INTO fault (run, n, phase, kind, at_s, due_s, rule, what, reason)"
                          " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                          &statement, error);
    for (size_t i = 0; i < run->mark->n_faults && status == SL_OK; i++) {
        const struct sl_fault *fault = &run->mark->faults[i];
        sl_put_whole(&statement, id);
        sl_put_whole(&statement, (int64_t)i);
        sl_put_text(&statement, run->routine->phases[fault->phase].id);
        sl_put_text(&statement, sl_fault_word(fault->kind));
        sl_put_real(&statement, fault->at_s);
        sl_put_real(&statement, fault->due_s);
        sl_put_text(&statement, fault->rule);
        sl_put_text(&statement, fault->what);
        sl_put_text(&statement, fault->reason);
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    return status;
}

enum sl_status sl_history_put_mark_in(struct sl_history *history, int64_t id,
                                      const struct sl_history_run *run, struct sl_error *error)
{
    char *clear = sl_strf("DELETE FROM phase WHERE run = %lld; DELETE FROM fault WHERE run = %lld",
                          (long long)id, (long long)id);
    enum sl_status status =
        clear == NULL ? sl_fail_memory(error) : sl_db_run(&history->db, clear, error);
    free(clear);
    status = status == SL_OK ? put_scores(history, id, run, error) : status;
    status = status == SL_OK ? put_phases(history, id, run, error) : status;
    return status == SL_OK ? put_faults(history, id, run, error) : status;
}

/* Keys of a set of parts, parted by commas; the caller frees. */
static char *parts_text(unsigned parts)
{
    struct sl_str text = {0};
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        if ((parts & sl_parts[i]) != 0) {
            sl_str_addf(&text, "%s%s", text.length > 0 ? "," : "", sl_part_key(sl_parts[i]));
        }
    }
    return sl_str_take(&text);
}

enum { RIGHT, WRONG, UNSAID, UNCLEAR, SETS };

static void put_answer(struct sl_statement *statement, const struct sl_history_answer *answer,
                       char *const *sets, const char *mirrors)
{
    const struct sl_recall_told *told = answer->told;
    const struct sl_reply *reply = told->reply;
    sl_put_whole(statement, answer->at_s);
    sl_put_text(statement, told->question->id);
    sl_put_text(statement, answer->heard);
    sl_put_whole(statement, reply->gave_up ? 1 : 0);
    sl_put_text(statement, reply->view_said ? sl_view_word(reply->view) : NULL);
    sl_put_settings(statement, &reply->said, mirrors);
    for (size_t i = 0; i < SETS; i++) {
        sl_put_text(statement, sets[i]);
    }
    sl_put_text(statement, sl_recalled_word(told->verdict.recalled));
    sl_put_real(statement, told->after_s);
    sl_put_text(statement, answer->marked_with);
    sl_put_text(statement, answer->learner);
}

static enum sl_status insert_answer(struct sl_history *history,
                                    const struct sl_history_answer *answer, char *const *sets,
                                    struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool failed = false;
    char *mirrors = sl_mirrors_text(&answer->told->reply->said, &failed);
    if (failed) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_statement_open(
        &history->db,
        "INSERT INTO recall (at_s, question, heard, gave_up, view, " SL_SETTINGS_COLUMNS
        ", right, wrong, unsaid, unclear, recalled, after_s, marked_with, learner)"
        " SELECT ?, ?, ?, ?, ?, " SL_SETTINGS_MARKS
        ", ?, ?, ?, ?, ?, ?, ?, id FROM learner WHERE name = ?",
        &statement, error);
    if (status == SL_OK) {
        put_answer(&statement, answer, sets, mirrors);
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    free(mirrors);
    return status;
}

enum sl_status sl_history_add_answer(struct sl_history *history,
                                     const struct sl_history_answer *answer, struct sl_error *error)
{
    const struct sl_verdict *verdict = &answer->told->verdict;
    char *sets[SETS] = {parts_text(verdict->right), parts_text(verdict->wrong),
                        parts_text(verdict->unsaid), parts_text(verdict->unclear)};
    bool whole = true;
    for (size_t i = 0; i < SETS; i++) {
        whole = whole && sets[i] != NULL;
    }
    enum sl_status status = whole ? sl_db_begin(&history->db, error) : sl_fail_memory(error);
    if (status == SL_OK) {
        int64_t learner = 0;
        status = sl_history_add_learner(history, answer->learner, &learner, error);
        status = status == SL_OK ? insert_answer(history, answer, sets, error) : status;
        status = sl_db_end(&history->db, status, error);
    }
    for (size_t i = 0; i < SETS; i++) {
        free(sets[i]);
    }
    return status;
}
