/* The JSON of a plan: docs/formats.md, "JSON of a plan". */
#include "files/result_json.h"

#include "core/str.h"
#include "files/json_out.h"

static json_t *window_object(const struct sl_planned *planned, size_t phase)
{
    const struct sl_window *window = &planned->plan->windows[phase];
    struct sl_wanted wanted =
        sl_routine_wanted(planned->routine, phase, planned->junction, planned->plan->view);
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "phase", sl_json_text(planned->routine->phases[phase].id));
    sl_json_put(&json, "opens_s", sl_json_number(window->opens_s));
    sl_json_put(&json, "due_s", sl_json_number(window->due_s));
    sl_json_put(&json, "closes_s", sl_json_number(window->closes_s));
    sl_json_put(&json, "opens_m", sl_json_number(window->opens_m));
    sl_json_put(&json, "due_m", sl_json_number(window->due_m));
    sl_json_put(&json, "closes_m", sl_json_number(window->closes_m));
    sl_json_put(&json, "wanted", sl_json_settings(&wanted.settings));
    return sl_json_take(&json);
}

static json_t *window_list(const struct sl_planned *planned)
{
    json_t *list = json_array();
    for (size_t i = 0; i < planned->plan->n_windows && i < planned->routine->n_phases; i++) {
        if (!sl_json_append(list, window_object(planned, i))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static void put_about(struct sl_json *json, const struct sl_junction *junction)
{
    sl_json_put(json, "title", sl_json_text(junction->title));
    sl_json_put(json, "kind", sl_json_text(sl_kind_word(junction->kind)));
    sl_json_put(json, "control", sl_json_text(sl_control_word(junction->control)));
    sl_json_put(json, "turn", sl_json_text(sl_turn_word(junction->turn)));
    sl_json_put(json, "gradient_percent", sl_json_number(100 * junction->gradient));
}

static void put_course(struct sl_json *json, const struct sl_plan *plan)
{
    sl_json_put(json, "approach_mph", sl_json_mph(plan->approach_mps));
    sl_json_put(json, "target_mph", sl_json_mph(plan->target_mps));
    sl_json_put(json, "distance_m", sl_json_number(plan->distance_m));
    sl_json_put(json, "needed_m", sl_json_number(plan->needed_m));
    sl_json_put(json, "slowing_mps2", sl_json_number(plan->slowing_mps2));
    sl_json_put(json, "brake_s", sl_json_number(plan->brake_s));
    sl_json_put(json, "brake_m", sl_json_number(plan->brake_m));
    sl_json_put(json, "gear_s", sl_json_number(plan->gear_s));
    sl_json_put(json, "gear_m", sl_json_number(plan->gear_m));
    sl_json_put(json, "rolling_from_s", sl_json_number(plan->rolling_from_s));
    sl_json_put(json, "rolling_from_m", sl_json_number(plan->rolling_from_m));
    sl_json_put(json, "line_s", sl_json_number(plan->line_s));
    sl_json_put(json, "stop_by_s", sl_json_number(plan->stop_by_s));
    sl_json_put(json, "stop_by_m", sl_json_number(plan->stop_by_m));
}

enum sl_status sl_plan_to_json(const struct sl_planned *planned, char **json,
                               struct sl_error *error)
{
    const struct sl_plan *plan = planned->plan;
    const struct sl_junction *junction = planned->junction;
    bool slower = plan->give_up == SL_GIVE_UP_SPEED;
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-plan-1"));
    sl_json_put(&top, "junction", sl_json_text(junction->name));
    sl_json_put(&top, "routine", sl_json_text(planned->routine->name));
    sl_json_put(&top, "car", sl_json_text(planned->car->name));
    put_about(&top, junction);
    sl_json_put(&top, "view", sl_json_text(sl_view_word(plan->view)));
    sl_json_put(&top, "view_measured", json_boolean(junction->sight_measured));
    sl_json_put(&top, "see_m", sl_json_number(plan->see_m));
    sl_json_put(&top, "see_s", sl_json_number(plan->see_s));
    sl_json_put(&top, "sight_needed_m",
                junction->sight_measured ? sl_json_number(plan->sight_needed_m) : json_null());
    put_course(&top, plan);
    sl_json_put(&top, "gear", json_integer(plan->gear));
    sl_json_put(&top, "engine_rpm", sl_json_number(plan->engine_rpm));
    sl_json_put(&top, "judder", json_boolean(plan->judder));
    sl_json_put(&top, "long_enough", json_boolean(plan->long_enough));
    sl_json_put(&top, "give_up", sl_json_text(sl_give_up_word(plan->give_up)));
    sl_json_put(&top, "fitting_mph", slower ? sl_json_mph(plan->fitting_mps) : json_null());
    sl_json_put(&top, "phases", window_list(planned));
    return sl_json_line(&top, json, error);
}
