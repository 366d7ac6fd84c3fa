/* The JSON of a drive: docs/formats.md, "JSON of a drive". */
#include "files/drive_json.h"

#include "files/json_out.h"

static json_t *arrival_object(const struct sl_arrival *arrival)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "reached", json_boolean(arrival->reached));
    sl_json_put(&json, "line_s", sl_json_number(arrival->line_s));
    sl_json_put(&json, "speed_mph", sl_json_mph(arrival->speed_mps));
    sl_json_put(&json, "engine_rpm", sl_json_number(arrival->engine_rpm));
    sl_json_put(&json, "gear", json_integer(arrival->gear));
    sl_json_put(&json, "clutch", json_string(arrival->clutch_down ? "down" : "up"));
    sl_json_put(&json, "stands_m", sl_json_number(arrival->stands_m));
    sl_json_put(&json, "slow_from_s", sl_json_number(arrival->slow_from_s));
    sl_json_put(&json, "slow_to_s", sl_json_number(arrival->slow_to_s));
    sl_json_put(&json, "firmest_mps2", sl_json_number(arrival->firmest_mps2));
    sl_json_put(&json, "gear_from_s", sl_json_number(arrival->gear_from_s));
    sl_json_put(&json, "gear_to_s", sl_json_number(arrival->gear_to_s));
    sl_json_put(&json, "rolling_s", sl_json_number(arrival->rolling_s));
    sl_json_put(&json, "judder_s", sl_json_number(arrival->judder_s));
    sl_json_put(&json, "jolt_mps2", sl_json_number(arrival->jolt_mps2));
    sl_json_put(&json, "coasting_s", sl_json_number(arrival->coasting_s));
    sl_json_put(&json, "stalled_s", sl_json_number(arrival->stalled_s));
    return sl_json_take(&json);
}

static json_t *consequence_list(const struct sl_driven *driven)
{
    json_t *list = json_array();
    for (size_t i = 0; i < driven->drive->n_consequences; i++) {
        const struct sl_consequence *told = &driven->drive->consequences[i];
        const struct sl_routine *routine = driven->driving->task->routine;
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "name", json_string(sl_consequence_word(told->kind)));
        sl_json_put(&json, "phase", sl_json_text(routine->phases[told->phase].id));
        sl_json_put(&json, "what", sl_json_text(told->what));
        sl_json_put(&json, "reason", sl_json_text(told->reason));
        sl_json_put(&json, "unclear", json_boolean(told->unclear));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *change_object(const struct sl_driven *driven)
{
    const struct sl_drive_change *change = driven->change;
    if (!change->found) {
        return json_null();
    }
    struct sl_json json = sl_json_object();
    const struct sl_routine *routine = driven->driving->task->routine;
    sl_json_put(&json, "phase", sl_json_text(routine->phases[change->phase].id));
    sl_json_put(&json, "at_s", sl_json_number(change->at_s));
    sl_json_put(&json, "said", sl_json_settings(&change->said));
    sl_json_put(&json, "left", json_integer((json_int_t)change->n_consequences));
    sl_json_put(&json, "reached", json_boolean(change->arrival.reached));
    sl_json_put(&json, "line_s", sl_json_number(change->arrival.line_s));
    sl_json_put(&json, "speed_mph", sl_json_mph(change->arrival.speed_mps));
    sl_json_put(&json, "gear", json_integer(change->arrival.gear));
    sl_json_put(&json, "stands_m", sl_json_number(change->arrival.stands_m));
    sl_json_put(&json, "rolling_s", sl_json_number(change->arrival.rolling_s));
    sl_json_put(&json, "stalled_s", sl_json_number(change->arrival.stalled_s));
    return sl_json_take(&json);
}

static json_t *others_list(const struct sl_driven *driven)
{
    const struct sl_situation *others = driven->others;
    json_t *list = json_array();
    for (size_t i = 0; others != NULL && i < others->n_events; i++) {
        const struct sl_road_event *event = &others->events[i];
        double at_s = sl_drive_time_s(driven->drive, event->distance_m);
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "at_s", sl_json_number(at_s));
        sl_json_put(&json, "to_line_m", sl_json_number(event->distance_m));
        sl_json_put(&json, "text", json_string(event->text));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *trace_list(const struct sl_drive *drive)
{
    json_t *list = json_array();
    double end_s = drive->samples[drive->n_samples - 1].time_s;
    for (size_t i = 0; (double)i * SL_DRIVE_JSON_STEP_S <= end_s; i++) {
        struct sl_drive_sample sample = sl_drive_at(drive, (double)i * SL_DRIVE_JSON_STEP_S);
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "at_s", sl_json_number(sample.time_s));
        sl_json_put(&json, "to_line_m", sl_json_number(sample.distance_m));
        sl_json_put(&json, "speed_mph", sl_json_mph(sample.speed_mps));
        sl_json_put(&json, "engine_rpm", sl_json_number(sample.engine_rpm));
        sl_json_put(&json, "gear", json_integer(sample.gear));
        sl_json_put(&json, "clutch", json_string(sample.clutch_up ? "up" : "down"));
        sl_json_put(&json, "braking", json_boolean(sample.braking));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_drive_to_json(const struct sl_driven *driven, char **json, struct sl_error *error)
{
    const struct sl_task *task = driven->driving->task;
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-drive-1"));
    sl_json_put(&top, "file", sl_json_text(driven->file));
    sl_json_put(&top, "junction", sl_json_text(task->junction->name));
    sl_json_put(&top, "routine", sl_json_text(task->routine->name));
    sl_json_put(&top, "car", sl_json_text(driven->driving->car->name));
    sl_json_put(&top, "from_s", sl_json_number(task->options.from_s));
    sl_json_put(&top, "target_mph", sl_json_mph(task->plan->target_mps));
    sl_json_put(&top, "planned_line_s", sl_json_number(task->plan->line_s));
    sl_json_put(&top, "others", others_list(driven));
    sl_json_put(&top, "arrival", arrival_object(&driven->drive->arrival));
    sl_json_put(&top, "consequences", consequence_list(driven));
    sl_json_put(&top, "one_change", change_object(driven));
    sl_json_put(&top, "trace", trace_list(driven->drive));
    return sl_json_line(&top, json, error);
}
