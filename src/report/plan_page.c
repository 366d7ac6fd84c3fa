#include "report/plan_page.h"

#include "report/facts.h"
#include "report/page.h"
#include "report/plan_words.h"
#include "report/timeline.h"

#include <math.h>
#include <stdlib.h>

static void add_fact(void *page, const char *label, const char *text)
{
    sl_page_fact(page, label, text);
}

static void add_junction(struct sl_xml *page, const struct sl_plan_view *view)
{
    struct sl_str text = {0};
    sl_page_facts_begin(page);
    sl_fact_name(&text, view->junction);
    sl_page_fact(page, "Junction", sl_str_text(&text));
    sl_str_clear(&text);
    sl_fact_kind(&text, view->junction, view->plan);
    sl_page_fact(page, "Kind", sl_str_text(&text));
    sl_str_clear(&text);
    sl_page_fact(page, "Routine", view->routine->name);
    sl_page_fact(page, "Car", view->car->title == NULL ? view->car->name : view->car->title);
    sl_page_facts_end(page);
}

static void add_picture(struct sl_xml *page, const struct sl_plan_view *view)
{
    sl_xml_begin(page, "figure");
    sl_page_box_begin(page, "The picture of the approach");
    sl_timeline_add_plan(page, view);
    sl_page_box_end(page);
    sl_xml_element(page, "figcaption",
                   "Pale bars: when each phase may be said; the upright stroke in it: when it is "
                   "due. The table says the same.");
    sl_xml_end(page);
}

static char *moment(double at_s, double distance_m)
{
    return sl_strf("%.1f\u00a0s, %.0f\u00a0m", at_s, fabs(distance_m));
}

static void add_phases(struct sl_xml *page, const struct sl_plan_view *view)
{
    static const char *const headings[] = {"Phase", "Say", "From", "Due", "Until"};
    sl_page_table_begin(page, "Markers: seconds after the announcement, metres to the line",
                        headings, 5);
    for (size_t i = 0; i < view->plan->n_windows; i++) {
        const struct sl_window *window = &view->plan->windows[i];
        char *wanted = sl_plan_wanted(view, i);
        char *opens = moment(window->opens_s, window->opens_m);
        char *due = moment(window->due_s, window->due_m);
        char *closes = moment(window->closes_s, window->closes_m);
        const char *texts[] = {view->routine->phases[i].title, wanted, opens, due, closes};
        sl_page_row(page, texts, 5, 0, SL_TINT_NONE);
        free(wanted);
        free(opens);
        free(due);
        free(closes);
    }
    sl_page_table_end(page);
}

static void add_cautions(struct sl_xml *page)
{
    static const char *const cautions[] = {
        "Read this sheet before the drive, never during it.",
        "Slow sooner when it is wet, dark or busy. A stop line means stopping, whatever the view.",
    };
    sl_xml_element(page, "h2", "Cautions");
    sl_xml_begin(page, "ul");
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++) {
        sl_xml_element(page, "li", cautions[i]);
    }
    sl_xml_end(page);
}

enum sl_status sl_plan_page(const struct sl_plan_view *view, char **html, struct sl_error *error)
{
    char *title = sl_strf("Approach plan: %s", view->junction->title != NULL ? view->junction->title
                                               : view->junction->name != NULL ? view->junction->name
                                                                              : "a junction");
    struct sl_xml *page = sl_page_begin(title);
    free(title);
    add_junction(page, view);
    sl_xml_element(page, "h2", "When and where");
    add_picture(page, view);
    add_phases(page, view);
    sl_xml_element(page, "h2", "How it is computed");
    sl_page_facts_begin(page);
    sl_plan_facts(view, add_fact, page);
    sl_page_facts_end(page);
    add_cautions(page);
    return sl_page_finish(page, html, error);
}
