#include "files/homework_file.h"

#include "files/json_out.h"

static json_t *item_object(const struct sl_homework *set, const struct sl_homework_state *state,
                           size_t item)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "junction", sl_json_text(set->items[item].name));
    const struct sl_homework_item *wanted = &set->items[item];
    sl_json_put(&json, "drive", json_boolean(wanted->drive));
    sl_json_put(&json, "prompting",
                sl_json_text(wanted->drive ? NULL : sl_prompting_word(wanted->prompting)));
    sl_json_put(&json, "wanted", json_integer(wanted->runs));
    sl_json_put(&json, "counted", json_integer(state->counted[item]));
    sl_json_put(&json, "left", json_integer(sl_homework_left(set, state, item)));
    return sl_json_take(&json);
}

static json_t *take_object(const struct sl_homework *set, const struct sl_homework_take *take)
{
    const char *objection = sl_homework_objection(set, &take->run);
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "file", sl_json_text(take->recording));
    sl_json_put(&json, "junction", sl_json_text(take->junction));
    sl_json_put(&json, "counts", json_boolean(objection == NULL));
    sl_json_put(&json, "objection", sl_json_text(objection));
    sl_json_put(&json, "score", take->run.marked ? sl_json_number(take->run.score) : json_null());
    sl_json_put(&json, "faults",
                take->run.marked ? json_integer((json_int_t)take->run.faults) : json_null());
    sl_json_put(&json, "driven", json_boolean(take->run.driven));
    sl_json_put(&json, "drive",
                take->run.driven && take->run.marked ? sl_json_came_of(take->run.came_of)
                                                     : json_null());
    return sl_json_take(&json);
}

static json_t *date_text(bool known, struct sl_date date)
{
    return known ? json_sprintf("%04d-%02d-%02d", date.year, date.month, date.day) : json_null();
}

enum sl_status sl_homework_to_json(const struct sl_homework_view *view, char **json,
                                   struct sl_error *error)
{
    const struct sl_homework *set = view->set;
    const struct sl_homework_state state = sl_homework_state_of(set, view->takes);
    struct sl_json made = sl_json_object();
    json_t *items = json_array();
    json_t *runs = json_array();
    bool whole = true;
    for (size_t i = 0; i < set->n_items; i++) {
        whole = sl_json_append(items, item_object(set, &state, i)) && whole;
    }
    for (size_t i = 0; i < view->takes->count; i++) {
        whole = sl_json_append(runs, take_object(set, &view->takes->items[i])) && whole;
    }
    sl_json_put(&made, "schema", json_string("sayline-homework-1"));
    sl_json_put(&made, "file", sl_json_text(view->path));
    sl_json_put(&made, "title", sl_json_text(set->title));
    sl_json_put(&made, "due", date_text(set->due_known, set->due));
    sl_json_put(&made, "left", json_integer(sl_homework_left_in_all(set, &state)));
    sl_json_put(&made, "junctions", items);
    sl_json_put(&made, "runs", runs);
    made.failed = made.failed || !whole;
    return sl_json_line(&made, json, error);
}
