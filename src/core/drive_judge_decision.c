/* Going and waiting: when it was decided, and what the car then did. */
#include "core/drive_judge.h"
#include "core/units.h"

#include <math.h>

#define OVER_LINE_M 1.0 /* nobody sees it to less from the seat; common practice, no source */

/* The plan's last moment, or sooner where the car is sooner at the line. */
static double last_decision_s(const struct sl_drive_judge *judge, const struct sl_window *window)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    double behind_s = fmax(window->closes_s - judge->driving->task->plan->line_s, 0.0);
    double line_s = arrival->reached ? arrival->line_s + behind_s : INFINITY;
    return fmin(window->closes_s, line_s);
}

static void judge_decision_time(struct sl_drive_judge *judge, const struct sl_drive_said *said)
{
    const struct sl_task *task = judge->driving->task;
    const struct sl_window *window = &task->plan->windows[judge->phase];
    size_t speed = sl_drive_carrier(task->routine, SL_SET_SPEED);
    double blind_s = task->plan->see_s - said->at_s;
    double allowed_s = 0.0;
    for (size_t i = 0; i < task->routine->n_rules; i++) {
        bool looks = task->routine->rules[i].kind == SL_RULE_LOOK_FIRST;
        allowed_s = looks ? task->routine->rules[i].seconds : allowed_s;
    }
    if (speed < task->routine->n_phases && judge->said[speed].heard &&
        judge->said[speed].at_s > said->at_s) {
        sl_drive_tell(judge, SL_DECIDED_BEFORE_SPEED,
                      "It was decided %.1f s before the car was told to slow",
                      judge->said[speed].at_s - said->at_s);
    } else if (judge->gear_at_s > said->at_s) {
        sl_drive_tell(judge, SL_DECIDED_BEFORE_GEAR,
                      "It was decided %.1f s before the gear was called",
                      judge->gear_at_s - said->at_s);
    } else if (said->settings.decision == SL_DECISION_GO &&
               blind_s > allowed_s + SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_DECIDED_BLIND,
                      "It was decided to go %.1f s before the road could be seen", blind_s);
    } else if (said->at_s < window->opens_s - SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_DECIDED_EARLY,
                      "It was decided %.1f s before the car was ready for it",
                      window->opens_s - said->at_s);
    } else if (said->at_s > last_decision_s(judge, window) + SL_DRIVE_SPARE_S) {
        double distance_m = sl_drive_at(judge->drive, said->at_s).distance_m;
        sl_drive_tell(judge, SL_DECIDED_LATE, "It was decided %.1f s too late, %.0f m %s the line",
                      said->at_s - last_decision_s(judge, window), fabs(distance_m),
                      distance_m < 0.0 ? "past" : "before");
    }
}

void sl_drive_judge_decision(struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    const struct sl_drive_said *said = &judge->said[judge->phase];
    enum sl_decision wanted = sl_drive_wanted(judge).settings.decision;
    bool stop_line = judge->driving->task->junction->control == SL_CONTROL_STOP;
    if (!said->heard || said->settings.decision == SL_DECISION_UNSAID) {
        sl_drive_tell(judge, SL_UNDECIDED, "Nobody decided; the car %s at %.0f mph",
                      arrival->reached ? "rolled over the line" : "came to rest, last seen",
                      sl_mph_from_mps(arrival->reached ? arrival->speed_mps : 0.0));
        return;
    }
    judge_decision_time(judge, said);
    bool goes = said->settings.decision == SL_DECISION_GO;
    if (goes && stop_line) {
        sl_drive_tell(judge, SL_RAN_STOP_LINE, "The car went over a stop line at %.0f mph",
                      sl_mph_from_mps(arrival->speed_mps));
    } else if (goes && wanted == SL_DECISION_WAIT) {
        sl_drive_tell(judge, SL_WENT_INTO_TRAFFIC,
                      "The car went at %.0f mph where somebody had priority",
                      sl_mph_from_mps(arrival->speed_mps));
    } else if (!goes && wanted == SL_DECISION_GO) {
        sl_drive_tell(judge, SL_WAITED_FOR_NOBODY, "The car waited, and nobody came");
    }
    if (arrival->stands_m < -OVER_LINE_M) {
        sl_drive_tell(judge, SL_OVER_THE_LINE, "The car came to rest %.1f m over the line",
                      -arrival->stands_m);
    }
}
