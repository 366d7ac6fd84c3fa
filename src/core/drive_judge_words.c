/* What nobody feels in the car, and everybody around it: mirrors, signal, position. */
#include "core/drive_judge.h"
#include "core/wanted.h"

#include <math.h>
#include <stdlib.h>

static const struct sl_drive_said *said_at(const struct sl_drive_judge *judge,
                                           enum sl_moment moment)
{
    const struct sl_routine *routine = judge->driving->task->routine;
    size_t phase = sl_drive_phase(routine, moment);
    return phase < routine->n_phases && judge->said[phase].heard ? &judge->said[phase] : NULL;
}

static void judge_mirrors_time(struct sl_drive_judge *judge, const struct sl_drive_said *said,
                               const struct sl_window *window)
{
    double slow_from_s = judge->drive->arrival.slow_from_s;
    const struct sl_drive_said *signal = said_at(judge, SL_MOMENT_SIGNAL);
    if (signal != NULL && signal->at_s < said->at_s) {
        sl_drive_tell(judge, SL_MIRRORS_AFTER_SIGNAL,
                      "The signal came %.1f s before the first look in the mirrors",
                      said->at_s - signal->at_s);
    } else if (slow_from_s < said->at_s) {
        sl_drive_tell(judge, SL_MIRRORS_AFTER_SLOWING,
                      "The car had been slowing for %.1f s before the first look in the mirrors",
                      said->at_s - slow_from_s);
    } else if (said->at_s > window->closes_s + SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_MIRRORS_LATE,
                      "The mirrors were looked in %.1f s after the signal was due",
                      said->at_s - window->closes_s);
    }
}

static void judge_mirrors(struct sl_drive_judge *judge, const struct sl_settings *wanted,
                          const struct sl_window *window)
{
    const struct sl_drive_said *said = &judge->said[judge->phase];
    if (!said->heard) {
        sl_drive_tell(judge, SL_MIRRORS_UNCHECKED,
                      "Nobody looked in a mirror: whoever was behind was behind unseen");
        return;
    }
    judge_mirrors_time(judge, said, window);
    const struct sl_wanted full = {.settings = *wanted};
    bool named = said->settings.n_mirrors > 0;
    if (named && !sl_wanted_is_right(SL_SET_MIRRORS, &said->settings, &full)) {
        char *words = sl_settings_words(&said->settings);
        char *right = sl_settings_words(wanted);
        sl_drive_tell(judge, SL_BLIND_SIDE, "The look was in the %s, not in the %s",
                      words != NULL ? words : "one", right != NULL ? right : "those of the turn");
        free(words);
        free(right);
    } else if (named && !sl_wanted_in_order(&said->settings, wanted)) {
        sl_drive_tell(judge, SL_MIRRORS_SWAPPED,
                      "The door mirror was looked in before the interior mirror");
    }
}

static void judge_signal_setting(struct sl_drive_judge *judge, enum sl_signal wanted)
{
    enum sl_signal signal = judge->said[judge->phase].settings.signal;
    const struct sl_junction *junction = judge->driving->task->junction;
    if (signal == SL_SIGNAL_UNSAID || signal == wanted) {
        return;
    }
    if (junction->signal_misleads) {
        sl_drive_tell(judge, SL_MISLEADING_SIGNAL,
                      "The %s lamps blinked where they mean something else",
                      sl_signal_word(signal));
    } else if (signal == SL_SIGNAL_NONE) {
        sl_drive_tell(judge, SL_WRONG_SIGNAL, "No lamp blinked, and the car turns %s",
                      sl_turn_word(junction->turn));
    } else {
        sl_drive_tell(judge, SL_WRONG_SIGNAL, "The %s lamps blinked, and the car %s %s",
                      sl_signal_word(signal), junction->turn == SL_TURN_AHEAD ? "goes" : "turns",
                      sl_turn_word(junction->turn));
    }
}

static void judge_signal(struct sl_drive_judge *judge, enum sl_signal wanted,
                         const struct sl_window *window)
{
    const struct sl_drive_said *said = &judge->said[judge->phase];
    double slow_from_s = judge->drive->arrival.slow_from_s;
    if (!said->heard && wanted == SL_SIGNAL_NONE) {
        sl_drive_tell(judge, SL_SIGNAL_FORGOTTEN,
                      "No lamp blinked, which is right here, but nobody had thought about it");
    } else if (!said->heard) {
        sl_drive_tell(judge, SL_NO_SIGNAL, "No lamp blinked: nobody knew of the turn");
    } else if (slow_from_s < said->at_s) {
        sl_drive_tell(judge, SL_SIGNAL_AFTER_SLOWING,
                      "The brake lights were on for %.1f s before the signal was decided",
                      said->at_s - slow_from_s);
    } else if (said->at_s < window->opens_s - SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_EARLY_SIGNAL,
                      "The signal was decided %.1f s too early, %.0f m before the line",
                      window->opens_s - said->at_s,
                      sl_plan_distance_m(judge->driving->task->plan, said->at_s));
    } else if (said->at_s > window->closes_s + SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_LATE_SIGNAL, "The signal was decided %.1f s too late",
                      said->at_s - window->closes_s);
    }
    if (said->heard) {
        judge_signal_setting(judge, wanted);
    }
}

static void judge_position(struct sl_drive_judge *judge, enum sl_position wanted,
                           const struct sl_window *window)
{
    const struct sl_drive_said *said = &judge->said[judge->phase];
    double slow_from_s = judge->drive->arrival.slow_from_s;
    const struct sl_drive_said *signal = said_at(judge, SL_MOMENT_SIGNAL);
    if (!said->heard) {
        sl_drive_tell(judge, SL_NO_POSITION,
                      "The car kept the place in the road that it happened to have");
        return;
    }
    if (signal != NULL && said->at_s < signal->at_s) {
        sl_drive_tell(judge, SL_MOVED_BEFORE_SIGNAL, "The car moved over %.1f s before the signal",
                      signal->at_s - said->at_s);
    } else if (said->at_s < window->opens_s - SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_EARLY_POSITION, "The car moved over %.1f s too early",
                      window->opens_s - said->at_s);
    } else if (said->at_s > window->closes_s + SL_DRIVE_SPARE_S || slow_from_s < said->at_s) {
        sl_drive_tell(judge, SL_LATE_POSITION, "The car moved over when it was to slow already");
    }
    enum sl_position position = said->settings.position;
    if (position != SL_POSITION_UNSAID && position != wanted) {
        sl_drive_tell(judge, SL_WRONG_POSITION, "The car stood %s in its lane, to go %s",
                      sl_position_word(position),
                      sl_turn_word(judge->driving->task->junction->turn));
    }
}

void sl_drive_judge_words(struct sl_drive_judge *judge)
{
    const struct sl_task *task = judge->driving->task;
    const struct sl_phase *phase = &task->routine->phases[judge->phase];
    const struct sl_window *window = &task->plan->windows[judge->phase];
    const struct sl_wanted wanted = sl_drive_wanted(judge);
    if (phase->moment == SL_MOMENT_MIRRORS) {
        judge_mirrors(judge, &wanted.settings, window);
    } else if (phase->moment == SL_MOMENT_SIGNAL) {
        judge_signal(judge, wanted.settings.signal, window);
    } else if (phase->moment == SL_MOMENT_POSITION) {
        judge_position(judge, wanted.settings.position, window);
    }
}
