#include "report/plan_words.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"

#include <math.h>
#include <stdlib.h>

/* Metres for people, never "-0". */
static double metres(double distance_m)
{
    return distance_m < 0.5 ? 0.0 : distance_m;
}

char *sl_plan_wanted(const struct sl_plan_view *view, size_t phase)
{
    struct sl_wanted wanted =
        sl_routine_wanted(view->routine, phase, view->junction, view->plan->view);
    char *words = sl_settings_words(&wanted.settings);
    if (words != NULL && words[0] == '\0') {
        free(words);
        bool decides = (view->routine->phases[phase].carries & SL_SET_DECISION) != 0;
        words = sl_strdup(decides ? "go or wait, as you see it" : "");
    }
    return words;
}

/* Where facts go. */
struct facts {
    sl_plan_fact *add;
    void *user;
};

/* printf into a fact. */
__attribute__((format(printf, 3, 4))) static void fact(const struct facts *to, const char *label,
                                                       const char *format, ...)
{
    struct sl_str text = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&text, format, args);
    va_end(args);
    to->add(to->user, label, sl_str_text(&text));
    sl_str_clear(&text);
}

static void add_slowing(const struct facts *to, const struct sl_plan_view *view)
{
    const struct sl_plan *plan = view->plan;
    fact(to, "Slowing",
         "from %.0f mph to %.0f mph, begun at %.1f s (%.0f m), finished at %.1f s (%.0f m); "
         "%.1f m/s2 (the gradient is counted in)",
         sl_mph_from_mps(plan->approach_mps), sl_mph_from_mps(plan->target_mps), plan->brake_s,
         plan->brake_m, plan->gear_s, plan->gear_m, plan->slowing_mps2);
    fact(to, "Rolling", "the gear is in by %.1f s; %.1f s of rolling are left to the line",
         plan->rolling_from_s, plan->line_s - plan->rolling_from_s);
    fact(to, "Last stop", "up to %.0f m before the line (%.1f s) a stop still fits",
         metres(plan->stop_by_m), plan->stop_by_s);
}

static void add_engine(const struct facts *to, const struct sl_plan_view *view)
{
    const struct sl_plan *plan = view->plan;
    fact(to, "Engine", "%.0f rpm in %s gear at %.0f mph with the clutch up; %s", plan->engine_rpm,
         sl_gear_ordinal(plan->gear), sl_mph_from_mps(plan->target_mps),
         plan->judder ? "that is low enough to judder: take a lower gear or dip the clutch"
         : plan->engine_rpm < view->car->judder_rpm ? "too low for that, so the clutch stays down"
                                                    : "smooth");
}

static const char *give_up_text(enum sl_give_up give_up)
{
    switch (give_up) {
    case SL_GIVE_UP_MARGIN:
        return "give up the spare rolling time";
    case SL_GIVE_UP_GENTLE:
        return "give up the spare rolling time and slow more firmly";
    case SL_GIVE_UP_PAUSES:
        return "slow more firmly and say mirrors and signal without a pause between";
    case SL_GIVE_UP_SPEED:
        return "approach more slowly";
    case SL_GIVE_UP_NOTHING:
        break;
    }
    return "nothing has to go";
}

static void add_length(const struct facts *to, const struct sl_plan_view *view)
{
    const struct sl_plan *plan = view->plan;
    struct sl_str text = {0};
    sl_str_addf(&text,
                "%.0f m from the announcement to the line, %.0f m needed: ", plan->distance_m,
                plan->needed_m);
    if (plan->long_enough) {
        sl_str_add(&text, "long enough");
    } else {
        sl_str_addf(&text, "too short; %s", give_up_text(plan->give_up));
    }
    if (plan->give_up == SL_GIVE_UP_SPEED && plan->fitting_mps > 0.0) {
        sl_str_addf(&text, ", at most %.0f mph", floor(sl_mph_from_mps(plan->fitting_mps)));
    }
    to->add(to->user, "Length", sl_str_text(&text));
    sl_str_clear(&text);
}

static void add_view(const struct facts *to, const struct sl_plan_view *view)
{
    const struct sl_plan *plan = view->plan;
    const char *word = sl_view_word(plan->view);
    if (!view->junction->sight_measured) {
        fact(to, "View", "%s, as the junction file says", word);
    } else if (isinf(plan->see_m)) {
        fact(to, "View", "%s: nothing hides the major road", word);
    } else {
        fact(to, "View",
             "%s: the %.0f m of major road that must be seen are seen from %.0f m before the line "
             "(%.1f s)",
             word, plan->sight_needed_m, metres(plan->see_m), plan->see_s);
    }
}

void sl_plan_facts(const struct sl_plan_view *view, sl_plan_fact *add, void *user)
{
    const struct facts to = {add, user};
    add_slowing(&to, view);
    add_engine(&to, view);
    add_length(&to, view);
    add_view(&to, view);
}
