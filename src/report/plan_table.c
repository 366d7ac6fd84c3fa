#include "report/table.h"

#include "report/facts.h"
#include "report/plan_words.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TABLE_LEAST 72 /* columns under which phases are listed one fact a line */

static char *moment_text(double at_s, double distance_m)
{
    return sl_strf("%.1f s %4.0f m", at_s, fabs(distance_m));
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
    char *wanted = sl_plan_wanted(view, phase);
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

/* Where facts go. */
struct wrapped {
    struct sl_str *out;
    int width;
};

static void add_fact(void *user, const char *label, const char *text)
{
    const struct wrapped *to = user;
    struct sl_str named = {0};
    sl_str_addf(&named, "%s:", label);
    sl_fact(to->out, sl_str_text(&named), text, to->width);
    to->out->failed = to->out->failed || named.failed;
    sl_str_clear(&named);
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
    struct wrapped to = {out, fit.width};
    sl_plan_facts(view, add_fact, &to);
    sl_str_add(out, "\n");
    sl_fact_caution(out, fit.width);
}
