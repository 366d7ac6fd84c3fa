#include "report/drive_words.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>
#include <stdbool.h>
#include <string.h>

static double mph(double mps)
{
    return sl_mph_from_mps(mps);
}

static void add_rolling(struct sl_str *out, double rolling_s)
{
    if (isnan(rolling_s)) {
        sl_str_add(out, "no rolling");
    } else {
        sl_str_addf(out, "%.1f s of rolling", rolling_s);
    }
}

static void add_arrival(struct sl_str *out, const struct sl_arrival *arrival)
{
    if (!isnan(arrival->stalled_s)) {
        sl_str_addf(out, "the engine stalled %.0f m %s the line", fabs(arrival->stalled_m),
                    arrival->stalled_m >= 0.0 ? "before" : "past");
        return;
    }
    if (arrival->reached) {
        sl_str_addf(out, "at the line at %.0f mph in %s gear, clutch %s", mph(arrival->speed_mps),
                    sl_gear_ordinal(arrival->gear), arrival->clutch_down ? "down" : "up");
    }
    if (!isnan(arrival->stands_m)) {
        sl_str_addf(out, "%sat rest %.1f m %s the line in %s gear",
                    arrival->reached ? ", then " : "", fabs(arrival->stands_m),
                    arrival->stands_m >= 0.0 ? "before" : "over", sl_gear_ordinal(arrival->gear));
    }
    sl_str_add(out, ", with ");
    add_rolling(out, arrival->rolling_s);
}

void sl_drive_end(struct sl_str *out, const struct sl_drive_view *view)
{
    const struct sl_arrival *arrival = &view->drive->arrival;
    size_t begun = out->length;
    add_arrival(out, arrival);
    sl_str_capital(out, begun);
    sl_str_addf(out, "; %.1f s after the announcement.", arrival->line_s);
}

void sl_drive_planned(struct sl_str *out, const struct sl_drive_view *view)
{
    const struct sl_plan *plan = view->driving->task->plan;
    sl_str_addf(out,
                "At the line at %.0f mph in %s gear, with %.1f s of rolling; %.1f s after the "
                "announcement.",
                mph(plan->target_mps), sl_gear_ordinal(plan->gear),
                plan->line_s - plan->rolling_from_s, plan->line_s);
}

/* How it would have ended, where that is another end. */
static void add_end_then(struct sl_str *out, const struct sl_drive_view *view)
{
    struct sl_str then = {0};
    struct sl_str now = {0};
    add_arrival(&then, &view->change->arrival);
    add_arrival(&now, &view->drive->arrival);
    bool same = strcmp(sl_str_text(&then), sl_str_text(&now)) == 0;
    sl_str_add(out, same ? "the same" : sl_str_text(&then));
    out->failed = out->failed || then.failed || now.failed;
    sl_str_clear(&then);
    sl_str_clear(&now);
}

void sl_drive_one(struct sl_str *out, const struct sl_drive_view *view)
{
    const struct sl_drive_change *change = view->change;
    const struct sl_task *task = view->driving->task;
    if (view->drive->n_consequences == 0) {
        sl_str_add(out, "Nothing was to change.");
        return;
    }
    if (!change->found) {
        sl_str_add(out, "No single change would have helped; begin with the first of the above.");
        return;
    }
    char *words = sl_settings_words(&change->said);
    sl_str_addf(out, "%s (%s) at %.1f s, %.0f m before the line. The end then: ",
                task->routine->phases[change->phase].title, words == NULL ? "" : words,
                change->at_s, sl_plan_distance_m(task->plan, change->at_s));
    free(words);
    add_end_then(out, view);
    if (change->n_consequences == 0) {
        sl_str_add(out, "; nothing of the above is left.");
    } else {
        sl_str_addf(out, "; %zu of the %zu above %s left.", change->n_consequences,
                    view->drive->n_consequences, change->n_consequences == 1 ? "is" : "are");
    }
}

void sl_drive_others(struct sl_str *out, const struct sl_drive_view *view)
{
    for (size_t i = 0; i < view->others->n_events; i++) {
        const struct sl_road_event *event = &view->others->events[i];
        double at_s = sl_drive_time_s(view->drive, event->distance_m);
        sl_str_addf(out, "%s%.0f m before the line, ", i > 0 ? " " : "", event->distance_m);
        if (isnan(at_s)) {
            sl_str_addf(out, "where the car never came: %s", event->text);
        } else {
            sl_str_addf(out, "at %.1f s: %s", at_s, event->text);
        }
    }
    if (view->others->n_events == 0) {
        sl_str_add(out, "Nobody else was there.");
    }
}

void sl_drive_consequence(struct sl_str *out, const struct sl_drive_view *view, size_t index)
{
    const struct sl_consequence *told = &view->drive->consequences[index];
    sl_str_addf(out, "%s, ", view->driving->task->routine->phases[told->phase].title);
    sl_text_code(out, sl_consequence_word(told->kind));
    sl_str_addf(out, ": %s.%s", told->what,
                told->unclear ? " (Something was said here that could not be made out.)" : "");
}

bool sl_drive_next_phrase(const struct sl_drive_view *view, size_t *next,
                          struct sl_drive_phrase *phrase)
{
    const struct sl_heard_list *heard = view->driving->heard;
    const struct sl_task *task = view->driving->task;
    while (*next < heard->count) {
        const struct sl_heard *item = &heard->items[(*next)++];
        double at_s = item->start_s - task->options.from_s;
        if (item->phase < task->routine->n_phases && at_s >= 0.0) {
            *phrase = (struct sl_drive_phrase){item, at_s, sl_drive_at(view->drive, at_s)};
            return true;
        }
    }
    return false;
}
