#include "files/class_json.h"

#include "files/json_out.h"

static void put_mark(struct sl_json *json, const char *key, bool known, double score, size_t faults)
{
    struct sl_json mark = sl_json_object();
    sl_json_put(&mark, "score", sl_json_number(score));
    sl_json_put(&mark, "faults", json_integer((json_int_t)faults));
    json_t *object = sl_json_take(&mark);
    if (known) {
        sl_json_put(json, key, object);
    } else {
        json_decref(object);
        sl_json_put(json, key, json_null());
    }
}

static json_t *run_object(const struct sl_submission_run *run)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "file", sl_json_text(run->file));
    sl_json_put(&json, "junction", sl_json_text(run->junction));
    put_mark(&json, "handed_in", run->was_marked, run->was_score, run->was_faults);
    put_mark(&json, "marked", run->marked, run->score, run->faults);
    sl_json_put(&json, "drive",
                run->driven && run->marked ? sl_json_came_of(run->came_of) : json_null());
    sl_json_put(&json, "differs", json_boolean(sl_submission_differs(run)));
    sl_json_put(&json, "counts", json_boolean(run->objection == NULL));
    sl_json_put(&json, "objection", sl_json_text(run->objection));
    sl_json_put(&json, "failure", sl_json_text(run->failure));
    return sl_json_take(&json);
}

static json_t *submission_object(const struct sl_class *group,
                                 const struct sl_submission *submission)
{
    struct sl_json json = sl_json_object();
    json_t *runs = json_array();
    bool whole = true;
    for (size_t i = 0; i < submission->n_runs; i++) {
        whole = sl_json_append(runs, run_object(&submission->runs[i])) && whole;
    }
    sl_json_put(&json, "bag", sl_json_text(submission->bag));
    sl_json_put(&json, "learner", sl_json_text(submission->learner));
    sl_json_put(&json, "packed", sl_json_text(submission->date));
    sl_json_put(&json, "refusal", sl_json_text(submission->refusal));
    sl_json_put(&json, "left",
                submission->refusal != NULL
                    ? json_null()
                    : json_integer(sl_homework_left_in_all(group->set, &submission->state)));
    sl_json_put(&json, "runs", runs);
    json.failed = json.failed || !whole;
    return sl_json_take(&json);
}

enum sl_status sl_class_to_json(const struct sl_class *group, char **json, struct sl_error *error)
{
    struct sl_json made = sl_json_object();
    json_t *bags = json_array();
    bool whole = true;
    for (size_t i = 0; i < group->n_submissions; i++) {
        whole = sl_json_append(bags, submission_object(group, &group->submissions[i])) && whole;
    }
    sl_json_put(&made, "schema", json_string("sayline-class-1"));
    sl_json_put(&made, "set", sl_json_text(group->set->name));
    sl_json_put(&made, "title", sl_json_text(group->set->title));
    sl_json_put(&made, "bags", bags);
    made.failed = made.failed || !whole;
    return sl_json_line(&made, json, error);
}
