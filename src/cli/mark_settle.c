#include "cli/mark_settle.h"

#include "core/str.h"
#include "files/quantity.h"
#include "report/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <time.h>

#define AT_MAX_S 86400.0
#define WIDTH 79
#define ANSWERS_OPTION "--settle-as"
#define ANSWERS_MEND                                                                               \
    "say PHASE=right, PHASE=wrong or PHASE=missed, @SECONDS behind right or wrong for when it "    \
    "was "                                                                                         \
    "said, with commas between phases"

/* One settling under way. */
struct decisions {
    const struct sl_task *task; /* with what may hide words in this sound */
    const struct sl_attempt *attempt;
    struct sl_settled_file made;
    bool changed;
};

/* To the millisecond, as the settled file keeps it. */
static bool read_moment(const char *text, double *at_s)
{
    if (!sl_number_parse(text, at_s) || *at_s < 0 || *at_s > AT_MAX_S) {
        return false;
    }
    *at_s = round(*at_s * 1000) / 1000;
    return true;
}

/* "gear=right" or "gear=right@17.2", which is cut to the phase's id. */
static enum sl_status read_answer(char *answer, struct sl_settlement *settlement,
                                  struct sl_error *error)
{
    char *as = strchr(answer, '=');
    char *at = as == NULL ? NULL : strchr(as, '@');
    *settlement = (struct sl_settlement){.at_s = NAN};
    bool fine = as != NULL && (at == NULL || read_moment(at + 1, &settlement->at_s));
    if (fine) {
        *as = '\0';
        if (at != NULL) {
            *at = '\0';
        }
        settlement->as = sl_settled_from_word(as + 1);
        fine =
            settlement->as != SL_SETTLED_NOT && (at == NULL || settlement->as != SL_SETTLED_MISSED);
    }
    return fine ? SL_OK
                : sl_fail(error, SL_INVALID, ANSWERS_OPTION, ANSWERS_MEND,
                          "\"%s\" is no phase with a decision", answer);
}

static enum sl_status take_answer(struct decisions *decisions, char *answer, struct sl_error *error)
{
    const struct sl_routine *routine = decisions->task->routine;
    struct sl_settlement settlement;
    enum sl_status status = read_answer(answer, &settlement, error);
    if (status != SL_OK) {
        return status;
    }
    size_t phase = sl_routine_phase(routine, answer);
    if (phase == routine->n_phases) {
        return sl_fail(error, SL_INVALID, ANSWERS_OPTION, ANSWERS_MEND,
                       "the routine has no phase \"%s\"", answer);
    }
    if (!decisions->attempt->mark.phases[phase].unclear) {
        return sl_fail(error, SL_INVALID, answer, "settle only what the mark calls unclear",
                       "this step is not unclear");
    }
    decisions->made.settlements.phases[phase] = settlement;
    decisions->changed = true;
    return SL_OK;
}

/* Each answer between commas; with `decisions` NULL only whether it can be read. */
static enum sl_status take_answers(struct decisions *decisions, const char *answers,
                                   struct sl_error *error)
{
    char *copy = sl_strdup(answers);
    char *save = NULL;
    enum sl_status status = copy == NULL ? sl_fail_memory(error) : SL_OK;
    for (char *answer = status == SL_OK ? strtok_r(copy, ",", &save) : NULL;
         answer != NULL && status == SL_OK; answer = strtok_r(NULL, ",", &save)) {
        struct sl_settlement read;
        status = decisions == NULL ? read_answer(answer, &read, error)
                                   : take_answer(decisions, answer, error);
    }
    free(copy);
    return status;
}

enum sl_status sl_settle_answers_check(const char *answers, struct sl_error *error)
{
    return take_answers(NULL, answers, error);
}

static void ask_about(const struct decisions *decisions, size_t phase,
                      const struct sl_heard *clearest)
{
    const struct sl_task *task = decisions->task;
    struct sl_str text = {0};
    struct sl_str label = {0};
    char *wanted = sl_settings_words(&decisions->attempt->mark.phases[phase].wanted.settings);
    sl_str_addf(&label, "%s: ", task->routine->phases[phase].title);
    if (clearest != NULL) {
        char *named = sl_settings_words(&clearest->settings);
        sl_str_addf(&text, "something like \"%s\" from %.1f s to %.1f s of the recording",
                    clearest->text, clearest->start_s, clearest->end_s);
        if (named != NULL && named[0] != '\0') {
            sl_str_addf(&text, ", which would be %s", named);
        }
        free(named);
    } else {
        sl_str_add(&text, "nothing like it was heard, but the sound may hide it");
    }
    if (wanted != NULL && wanted[0] != '\0') {
        sl_str_addf(&text, ". This junction wants %s", wanted);
    }
    sl_str_add(&text, ". Was it right (r), wrong (w) or missed (m)? l leaves it unclear, q ends.");
    struct sl_str out = {0};
    sl_text_fact(&out, sl_str_text(&label), sl_str_text(&text), WIDTH);
    fputs(sl_str_text(&out), stderr);
    free(wanted);
    sl_str_clear(&out);
    sl_str_clear(&label);
    sl_str_clear(&text);
}

/* A line of standard input without its end; NULL at the end of input. */
static const char *read_line(char **line, size_t *room)
{
    fputs("> ", stderr);
    (void)fflush(stderr);
    ssize_t length = getline(line, room, stdin);
    if (length < 0) {
        fputs("\n", stderr);
        return NULL;
    }
    (*line)[strcspn(*line, "\r\n")] = '\0';
    return *line;
}

/* The answer to one phase; false when nothing more is to be asked. */
static bool ask(struct decisions *decisions, size_t phase, char **line, size_t *room)
{
    static const char letters[] = "rwm"; /* as enum sl_settled, from right on */
    const struct sl_heard *clearest =
        sl_settling_clearest(decisions->task, &decisions->attempt->heard, phase);
    struct sl_settlement settlement = {.at_s = NAN};
    ask_about(decisions, phase, clearest);
    while (settlement.as == SL_SETTLED_NOT) {
        const char *answer = read_line(line, room);
        if (answer == NULL || strcmp(answer, "q") == 0) {
            return false;
        }
        if (strcmp(answer, "l") == 0) {
            return true;
        }
        const char *letter = strlen(answer) == 1 ? strchr(letters, answer[0]) : NULL;
        if (letter != NULL) {
            settlement.as = (enum sl_settled)(SL_SETTLED_RIGHT + (letter - letters));
        } else {
            fputs("Please answer r, w, m, l or q.\n", stderr);
        }
    }
    if (clearest == NULL && settlement.as != SL_SETTLED_MISSED) {
        do {
            fputs("When was it said, in seconds of the recording?\n", stderr);
            const char *answer = read_line(line, room);
            if (answer == NULL) {
                return false;
            }
            (void)read_moment(answer, &settlement.at_s);
        } while (!(settlement.at_s >= 0 && settlement.at_s <= AT_MAX_S));
    }
    decisions->made.settlements.phases[phase] = settlement;
    decisions->changed = true;
    return true;
}

static void ask_all(struct decisions *decisions)
{
    char *line = NULL;
    size_t room = 0;
    size_t n = 0;
    bool more = true;
    for (size_t phase = 0; phase < decisions->task->routine->n_phases && more; phase++) {
        if (decisions->attempt->mark.phases[phase].unclear) {
            n++;
            more = ask(decisions, phase, &line, &room);
        }
    }
    if (n == 0) {
        fputs("Nothing is unclear in this recording.\n", stderr);
    }
    free(line);
}

/* Decisions of an earlier time. Those about another recording or junction are dropped. */
static enum sl_status load_earlier(const char *recording, struct decisions *decisions,
                                   struct sl_error *error)
{
    struct sl_error found = {0};
    enum sl_status status = sl_settled_load(recording, decisions->task, &decisions->made, &found);
    if (status == SL_NOT_FOUND || status == SL_INVALID) {
        status = SL_OK;
    } else if (status != SL_OK) {
        sl_fail(error, status, found.where, "take it away with --unsettle", "%s",
                found.what == NULL ? sl_status_name(status) : found.what);
    }
    sl_error_clear(&found);
    return status;
}

static char *today(void)
{
    time_t now = time(NULL);
    struct tm day;
    if (gmtime_r(&now, &day) == NULL) {
        return NULL;
    }
    return sl_strf("%04d-%02d-%02d", day.tm_year + 1900, day.tm_mon + 1, day.tm_mday);
}

/* Who decided and when, and the moments at which the settled steps were found. */
static void sign(struct decisions *decisions, const char *by, const struct sl_mark *mark)
{
    struct sl_settled_file *made = &decisions->made;
    free(made->on);
    made->on = today();
    if (by != NULL) {
        free(made->by);
        made->by = sl_strdup(by);
    }
    for (size_t phase = 0; phase < mark->n_phases; phase++) {
        if (mark->phases[phase].settled != SL_SETTLED_NOT) {
            made->settlements.phases[phase].at_s =
                mark->phases[phase].at_s + decisions->task->options.from_s;
        }
    }
}

enum sl_status sl_mark_settle(const struct sl_settling *settling, const struct sl_batch_file *file,
                              struct sl_attempt *attempt, struct sl_error *error)
{
    struct sl_task task = *file->task;
    task.options.hiding = attempt->hiding;
    struct decisions decisions = {.task = &task, .attempt = attempt};
    enum sl_status status = load_earlier(file->path, &decisions, error);
    if (status == SL_OK && settling->answers != NULL) {
        status = take_answers(&decisions, settling->answers, error);
    } else if (status == SL_OK) {
        ask_all(&decisions);
    }
    if (status == SL_OK) {
        status =
            sl_settle(&task, &attempt->heard, &decisions.made.settlements, &attempt->mark, error);
    }
    if (status == SL_OK && decisions.changed) {
        sign(&decisions, settling->by, &attempt->mark);
        status = sl_settled_save(file->path, &task, &decisions.made, error);
    }
    if (status == SL_OK) {
        attempt->settled = decisions.made;
    } else {
        sl_settled_clear(&decisions.made);
    }
    return status;
}
