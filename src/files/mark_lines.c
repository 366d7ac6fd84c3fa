#include "files/mark_lines.h"

#include "core/drive.h"
#include "core/str.h"
#include "files/json_out.h"
#include "files/path.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES ((size_t)256 << 20)

static char *copy_text(const json_t *object, const char *key)
{
    return sl_strdup(json_string_value(json_object_get(object, key)));
}

static struct sl_tally_step *step_of(struct sl_tally_run *run, const json_t *object)
{
    const char *phase = json_string_value(json_object_get(object, "phase"));
    for (size_t i = 0; phase != NULL && i < run->n_steps; i++) {
        if (strcmp(run->steps[i].phase, phase) == 0) {
            return &run->steps[i];
        }
    }
    return NULL;
}

/* False for what is no phase of a mark; memory that ran out is that, too. */
static bool take_phase(struct sl_tally_run *run, const json_t *phase)
{
    const json_t *heard = json_object_get(phase, "heard");
    const json_t *unclear = json_object_get(phase, "unclear");
    struct sl_tally_step *steps =
        sl_grow(run->steps, run->n_steps, &run->steps_room, sizeof *steps);
    if (steps == NULL || !json_is_boolean(heard) || !json_is_boolean(unclear) ||
        step_of(run, phase) != NULL) {
        run->steps = steps != NULL ? steps : run->steps;
        return false;
    }
    run->steps = steps;
    steps[run->n_steps] =
        (struct sl_tally_step){.phase = copy_text(phase, "phase"),
                               .heard = json_is_true(heard),
                               .unclear = json_is_true(unclear),
                               .settled = json_is_string(json_object_get(phase, "settled"))};
    return steps[run->n_steps].phase != NULL && ++run->n_steps > 0;
}

static bool take_fault(struct sl_tally_run *run, const json_t *fault)
{
    const char *word = json_string_value(json_object_get(fault, "kind"));
    struct sl_tally_step *step = step_of(run, fault);
    for (size_t kind = 0; word != NULL && step != NULL && kind < SL_FAULT_KIND_COUNT; kind++) {
        if (strcmp(sl_fault_word((enum sl_fault_kind)kind), word) == 0) {
            step->faults[kind]++;
            return true;
        }
    }
    return false;
}

/* What came of a drive; a mark without the key is of a rehearsal. */
static bool take_drive(struct sl_tally_run *run, const json_t *drive)
{
    run->driven = drive != NULL;
    for (size_t i = 0; i < json_array_size(drive); i++) {
        const char *word = json_string_value(json_array_get(drive, i));
        size_t kind = 0;
        while (word != NULL && kind < SL_CONSEQUENCE_COUNT &&
               strcmp(sl_consequence_word((enum sl_consequence_kind)kind), word) != 0) {
            kind++;
        }
        if (word == NULL || kind == SL_CONSEQUENCE_COUNT) {
            return false;
        }
        run->came_of |= SL_CAME_OF(kind);
    }
    return drive == NULL || json_is_array(drive);
}

/* What is wrong with the object, or NULL. */
static const char *take_mark(struct sl_tally_run *run, const json_t *object)
{
    const json_t *phases = json_object_get(object, "phases");
    const json_t *faults = json_object_get(object, "faults");
    const json_t *overall = json_object_get(json_object_get(object, "scores"), "overall");
    run->junction = copy_text(object, "junction");
    run->routine = copy_text(object, "routine");
    run->overall = json_number_value(overall);
    if (run->file == NULL || run->junction == NULL || run->routine == NULL ||
        !json_is_number(overall) || json_array_size(phases) == 0 || !json_is_array(faults)) {
        return "it lacks a key of a mark";
    }
    for (size_t i = 0; i < json_array_size(phases); i++) {
        if (!take_phase(run, json_array_get(phases, i))) {
            return "a phase of it is broken";
        }
    }
    for (size_t i = 0; i < json_array_size(faults); i++) {
        if (!take_fault(run, json_array_get(faults, i))) {
            return "a fault of it is broken";
        }
    }
    return take_drive(run, json_object_get(object, "drive")) ? NULL : "its drive is broken";
}

static const char *take_line(struct sl_tally_run *run, const json_t *object)
{
    const char *schema = json_string_value(json_object_get(object, "schema"));
    run->file = copy_text(object, "file");
    if (schema != NULL && strcmp(schema, "sayline-error-1") == 0) {
        const char *what =
            json_string_value(json_object_get(json_object_get(object, "error"), "what"));
        run->failure = sl_strdup(what == NULL ? "no reason was given" : what);
        return run->failure == NULL ? "memory ran out" : NULL;
    }
    if (schema == NULL || strcmp(schema, "sayline-mark-2") != 0) {
        return "it is no mark of this version";
    }
    return take_mark(run, object);
}

enum sl_status sl_mark_line_add(const char *line, size_t length, const char *where,
                                struct sl_tally *tally, struct sl_error *error)
{
    json_error_t at;
    json_t *object = json_loadb(line, length, JSON_REJECT_DUPLICATES, &at);
    struct sl_tally_run run = {.where = sl_strdup(where)};
    const char *wrong = json_is_object(object) ? take_line(&run, object) : "it is no JSON object";
    json_decref(object);
    if (wrong == NULL && run.where != NULL) {
        return sl_tally_add(tally, &run, error);
    }
    sl_tally_run_clear(&run);
    return sl_fail(error, SL_FORMAT, where,
                   "merge whole lines of `sayline mark --json`; mark that recording again",
                   "this line cannot be used: %s", wrong == NULL ? "memory ran out" : wrong);
}

enum sl_status sl_mark_lines_add(const char *path, struct sl_tally *tally, struct sl_error *error)
{
    struct sl_str text = {0};
    enum sl_status status = sl_read_text_file(path, MOST_BYTES, &text, error);
    const char *at = sl_str_text(&text);
    const char *end = at + text.length;
    for (size_t line = 1; status == SL_OK && at < end; line++) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        size_t length = (size_t)((stop == NULL ? end : stop) - at);
        if (length > 0) {
            char *where = sl_strf("%s:%zu", path, line);
            status = where == NULL ? sl_fail_memory(error)
                                   : sl_mark_line_add(at, length, where, tally, error);
            free(where);
        }
        at += length + (stop == NULL ? 0 : 1);
    }
    sl_str_clear(&text);
    return status;
}

static json_t *run_object(const struct sl_tally_run *run)
{
    struct sl_json json = sl_json_object();
    size_t faults = 0;
    size_t unclear = 0;
    sl_tally_count(run, &faults, &unclear);
    sl_json_put(&json, "file", sl_json_text(run->file));
    if (run->failure != NULL) {
        sl_json_put(&json, "what", sl_json_text(run->failure));
        return sl_json_take(&json);
    }
    sl_json_put(&json, "junction", sl_json_text(run->junction));
    sl_json_put(&json, "routine", sl_json_text(run->routine));
    sl_json_put(&json, "overall", sl_json_number(run->overall));
    sl_json_put(&json, "faults", json_integer((json_int_t)faults));
    sl_json_put(&json, "unclear", json_integer((json_int_t)unclear));
    return sl_json_take(&json);
}

static json_t *run_list(const struct sl_tally *tally, bool failed)
{
    json_t *list = json_array();
    for (size_t i = 0; i < tally->n_runs; i++) {
        bool wanted = (tally->runs[i].failure != NULL) == failed;
        if (wanted && !sl_json_append(list, run_object(&tally->runs[i]))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *row_list(const struct sl_tally_row *rows, size_t n_rows)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n_rows; i++) {
        const struct sl_tally_row *row = &rows[i];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "routine", sl_json_text(row->routine));
        sl_json_put(&json, "phase", sl_json_text(row->phase));
        sl_json_put(&json, "recordings", json_integer((json_int_t)row->runs));
        sl_json_put(&json, "heard", json_integer((json_int_t)row->heard));
        sl_json_put(&json, "unclear", json_integer((json_int_t)row->unclear));
        sl_json_put(&json, "settled", json_integer((json_int_t)row->settled));
        for (size_t kind = 0; kind < SL_FAULT_UNCLEAR; kind++) {
            sl_json_put(&json, sl_fault_word((enum sl_fault_kind)kind),
                        json_integer((json_int_t)row->faults[kind]));
        }
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_tally_to_json(const struct sl_tally *tally, char **json, struct sl_error *error)
{
    struct sl_tally_row *rows = NULL;
    size_t n_rows = 0;
    double mean = NAN;
    enum sl_status status = sl_tally_rows(tally, &rows, &n_rows, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_json top = sl_json_object();
    (void)sl_tally_marked(tally, &mean);
    sl_json_put(&top, "schema", json_string("sayline-merged-1"));
    sl_json_put(&top, "overall", sl_json_number(mean));
    sl_json_put(&top, "phases", row_list(rows, n_rows));
    sl_json_put(&top, "recordings", run_list(tally, false));
    sl_json_put(&top, "failed", run_list(tally, true));
    free(rows);
    return sl_json_line(&top, json, error);
}
