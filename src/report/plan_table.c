#include "report/table.h"

#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TABLE_LEAST 72 /* columns under which phases are listed one fact a line */

/* Metres for people, never "-0". */
static double metres(double distance_m)
{
    return distance_m < 0.5 ? 0.0 : distance_m;
}

static char *moment_text(double at_s, double distance_m)
{
    return sl_strf("%.1f s %4.0f m", at_s, metres(distance_m));
}

/* What is right to say in a phase, in words. */
static char *wanted_text(const struct sl_plan_view *view, size_t phase)
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

static void add_row(struct sl_str *out, const char *const texts[5], const struct sl_style *style,
                    enum sl_tint tint)
{
    int rest = style->width - (9 + 3 * 13 + 4 * 2);
    struct sl_cell cells[] = {
        {.text = texts[0], .columns = 9, .tint = SL_TINT_HEADING},
        {.text = texts[1], .columns = 13, .right = true, .tint = tint},
        {.text = texts[2], .columns = 13, .right = true, .tint = tint},
        {.text = texts[3], .columns = 13, .right = true, .tint = tint},
        {.text = texts[4], .columns = rest, .tint = tint},
    };
    sl_text_row(out, cells, 5, style->colour);
}

static void list_phase(struct sl_str *out, const char *const texts[5], const struct sl_style *style)
{
    sl_text_tinted(out, texts[0], SL_TINT_HEADING, style->colour);
    sl_str_add(out, "\n");
    sl_text_fact(out, "  opens  ", texts[1], style->width);
    sl_text_fact(out, "  due    ", texts[2], style->width);
    sl_text_fact(out, "  closes ", texts[3], style->width);
    sl_text_fact(out, "  say    ", texts[4], style->width);
}

static void add_phase(struct sl_str *out, const struct sl_plan_view *view, size_t phase,
                      const struct sl_style *style)
{
    const struct sl_window *window = &view->plan->windows[phase];
    char *opens = moment_text(window->opens_s, window->opens_m);
    char *due = moment_text(window->due_s, window->due_m);
    char *closes = moment_text(window->closes_s, window->closes_m);
    char *wanted = wanted_text(view, phase);
    if (opens == NULL || due == NULL || closes == NULL || wanted == NULL) {
        out->failed = true;
    } else {
        const char *const texts[5] = {view->routine->phases[phase].title, opens, due, closes,
                                      wanted};
        if (style->width >= TABLE_LEAST) {
            add_row(out, texts, style, SL_TINT_NONE);
        } else {
            list_phase(out, texts, style);
        }
    }
    free(opens);
    free(due);
    free(closes);
    free(wanted);
}

static void add_phases(struct sl_str *out, const struct sl_plan_view *view,
                       const struct sl_style *style)
{
    static const char *const heading[5] = {"Phase", "Opens", "Due", "Closes", "Say"};
    if (style->width >= TABLE_LEAST) {
        add_row(out, heading, style, SL_TINT_HEADING);
    }
    for (size_t i = 0; i < view->plan->n_windows; i++) {
        add_phase(out, view, i, style);
    }
    sl_text_fact(out, "",
                 "(s: seconds after the junction is announced; m: metres from the line to the "
                 "front of the car)",
                 style->width);
}

/* printf into a labelled fact. */
__attribute__((format(printf, 4, 5))) static void
fact(struct sl_str *out, const struct sl_style *style, const char *label, const char *format, ...)
{
    struct sl_str text = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&text, format, args);
    va_end(args);
    sl_fact(out, label, sl_str_text(&text), style->width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_slowing(struct sl_str *out, const struct sl_plan_view *view,
                        const struct sl_style *style)
{
    const struct sl_plan *plan = view->plan;
    fact(out, style, "Slowing:",
         "from %.0f mph to %.0f mph, begun at %.1f s (%.0f m), finished at %.1f s (%.0f m); "
         "%.1f m/s2 (the gradient is counted in)",
         sl_mph_from_mps(plan->approach_mps), sl_mph_from_mps(plan->target_mps), plan->brake_s,
         plan->brake_m, plan->gear_s, plan->gear_m, plan->slowing_mps2);
    fact(out, style, "Rolling:", "the gear is in by %.1f s; %.1f s of rolling are left to the line",
         plan->rolling_from_s, plan->line_s - plan->rolling_from_s);
    fact(out, style, "Last stop:", "up to %.0f m before the line (%.1f s) a stop still fits",
         metres(plan->stop_by_m), plan->stop_by_s);
}

static void add_engine(struct sl_str *out, const struct sl_plan_view *view,
                       const struct sl_style *style)
{
    const struct sl_plan *plan = view->plan;
    fact(out, style, "Engine:", "%.0f rpm in %s gear at %.0f mph with the clutch up; %s",
         plan->engine_rpm, sl_gear_ordinal(plan->gear), sl_mph_from_mps(plan->target_mps),
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

static void add_length(struct sl_str *out, const struct sl_plan_view *view,
                       const struct sl_style *style)
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
    sl_fact(out, "Length:", sl_str_text(&text), style->width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_view(struct sl_str *out, const struct sl_plan_view *view,
                     const struct sl_style *style)
{
    const struct sl_plan *plan = view->plan;
    const char *word = sl_view_word(plan->view);
    if (!view->junction->sight_measured) {
        fact(out, style, "View:", "%s, as the junction file says", word);
    } else if (isinf(plan->see_m)) {
        fact(out, style, "View:", "%s: nothing hides the major road", word);
    } else {
        fact(out, style, "View:",
             "%s: the %.0f m of major road that must be seen are seen from %.0f m before the line "
             "(%.1f s)",
             word, plan->sight_needed_m, metres(plan->see_m), plan->see_s);
    }
}

void sl_report_plan(struct sl_str *out, const struct sl_plan_view *view,
                    const struct sl_style *style)
{
    struct sl_style fit = {.colour = style->colour, .width = sl_fact_width(style->width)};
    const char *car = view->car->title == NULL ? view->car->name : view->car->title;
    sl_fact_junction(out, view->junction, view->plan, fit.width);
    sl_fact(out, "Routine:", view->routine->name == NULL ? "" : view->routine->name, fit.width);
    sl_fact(out, "Car:", car == NULL ? "" : car, fit.width);
    sl_str_add(out, "\n");
    add_phases(out, view, &fit);
    sl_str_add(out, "\n");
    add_slowing(out, view, &fit);
    add_engine(out, view, &fit);
    add_length(out, view, &fit);
    add_view(out, view, &fit);
    sl_str_add(out, "\n");
    sl_fact_caution(out, fit.width);
}
