#include "report/progress_page.h"

#include "report/page.h"
#include "report/progress_words.h"
#include "report/svg.h"

#include <math.h>
#include <stdlib.h>

#define TOP 20.0
#define ROW 34.0
#define FOOT 44.0

static void add_fact(struct sl_xml *page, const char *term, char *text)
{
    if (text != NULL && text[0] != '\0') {
        sl_page_fact(page, term, text);
    }
    free(text);
}

static double x_of(double share)
{
    return SL_SVG_LEFT + share * (SL_SVG_RIGHT - SL_SVG_LEFT);
}

static double share_of(const struct sl_share *share)
{
    return (double)share->hits / (double)share->of;
}

/* A phase, or the whole run (i is n_phases). */
static const struct sl_course *course_of(const struct sl_progress_view *view, size_t i,
                                         const char **name)
{
    bool whole = i == view->progress->n_phases;
    *name = whole ? "Whole run" : view->routine->phases[i].title;
    return whole ? &view->progress->clean : &view->progress->phases[i].right;
}

static void draw_row(struct sl_xml *page, const struct sl_progress_view *view, size_t i)
{
    const char *name = NULL;
    const struct sl_course *course = course_of(view, i, &name);
    double y = TOP + ROW * (double)i;
    double middle = y + 0.5 * ROW;
    sl_svg_text(page, 8.0, middle + 4.0, "head", name);
    if (course->lately.of == 0) {
        sl_svg_text(page, x_of(0.0) + 6.0, middle + 4.0, "soft", "not yet");
        return;
    }
    sl_svg_bar(page, x_of(course->range.low), x_of(course->range.high), middle - 0.5 * SL_SVG_BAR,
               "window");
    if (course->before.of > 0) {
        sl_svg_upright(page, x_of(share_of(&course->before)), middle - 11.0, middle + 11.0, "due");
    }
    sl_svg_dot(page, x_of(share_of(&course->lately)), middle, 6.0,
               course->trend == SL_TREND_WORSE ? "bad" : "good");
}

static void describe(struct sl_str *text, const struct sl_progress_view *view)
{
    for (size_t i = 0; i <= view->progress->n_phases; i++) {
        const char *name = NULL;
        const struct sl_course *course = course_of(view, i, &name);
        char *lately = sl_progress_share(&course->lately, &course->range);
        sl_str_addf(text, "%s%s: %s right lately, %s.", i == 0 ? "" : " ", name,
                    lately == NULL ? "" : lately, sl_progress_trend(course->trend));
        free(lately);
    }
}

static void draw(struct sl_xml *page, const struct sl_progress_view *view)
{
    double foot = TOP + ROW * (double)(view->progress->n_phases + 1) + 6.0;
    struct sl_str words = {0};
    describe(&words, view);
    sl_svg_begin(page, foot + FOOT, "How often each phase was right", sl_str_text(&words));
    sl_str_clear(&words);
    for (int percent = 0; percent <= 100; percent += 25) {
        char *label = sl_strf("%d %%", percent);
        sl_svg_upright(page, x_of(percent / 100.0), TOP - 6.0, foot, "grid");
        sl_svg_text(page, x_of(percent / 100.0), foot + 16.0,
                    percent == 100 ? "soft end" : "soft mid", label);
        free(label);
    }
    sl_svg_text(page, SL_SVG_RIGHT, foot + 34.0, "soft end", "of the runs");
    for (size_t i = 0; i <= view->progress->n_phases; i++) {
        draw_row(page, view, i);
    }
    sl_xml_end(page);
}

static void add_picture(struct sl_xml *page, const struct sl_progress_view *view)
{
    sl_xml_begin(page, "figure");
    sl_page_box_begin(page, "The picture of the phases");
    draw(page, view);
    sl_page_box_end(page);
    sl_xml_element(page, "figcaption",
                   "Dots: how often it was right lately. Pale bars: where the real share is, 95 "
                   "times in 100. Upright strokes: before. The table says the same.");
    sl_xml_end(page);
}

static void add_course(struct sl_xml *page, const char *name, const struct sl_course *course)
{
    char *lately = sl_progress_share(&course->lately, &course->range);
    char *before = sl_progress_share(&course->before, NULL);
    const char *texts[] = {name, lately, before, sl_progress_trend(course->trend)};
    sl_page_row(page, texts, 4, 3, sl_progress_trend_tint(course->trend));
    free(lately);
    free(before);
}

static void add_phases(struct sl_xml *page, const struct sl_progress_view *view)
{
    static const char *const headings[] = {"Phase", "Right lately", "Before", "Change"};
    sl_page_table_begin(page, "How often each phase was right", headings, 4);
    for (size_t i = 0; i <= view->progress->n_phases; i++) {
        const char *name = NULL;
        const struct sl_course *course = course_of(view, i, &name);
        add_course(page, name, course);
    }
    sl_page_table_end(page);
}

static void add_faults(struct sl_xml *page, const struct sl_progress_view *view)
{
    static const char *const headings[] = {"Fault", "In runs lately", "Before", "Change"};
    bool begun = false;
    for (size_t i = 0; i < SL_FAULT_UNCLEAR; i++) {
        const struct sl_course *course = &view->progress->faults[i];
        if (course->lately.hits + course->before.hits == 0) {
            continue;
        }
        if (!begun) {
            sl_xml_element(page, "h2", "Faults");
            sl_page_table_begin(page, "In how many runs there was a fault of each kind", headings,
                                4);
            begun = true;
        }
        struct sl_str name = {0};
        sl_text_code(&name, sl_fault_word((enum sl_fault_kind)i));
        add_course(page, sl_str_text(&name), course);
        sl_str_clear(&name);
    }
    if (begun) {
        sl_page_table_end(page);
    }
}

static void add_junctions(struct sl_xml *page, const struct sl_progress_view *view)
{
    static const char *const headings[] = {"Junction", "No fault lately", "Before", "Change"};
    sl_xml_element(page, "h2", "Junctions");
    sl_page_table_begin(page, "How often a run had no fault, by kind of junction and view",
                        headings, 4);
    for (size_t i = 0; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        enum sl_kind kind = (enum sl_kind)(i / SL_VIEW_COUNT);
        enum sl_view sight = (enum sl_view)(i % SL_VIEW_COUNT);
        if (view->progress->runs_at[kind][sight] > 0) {
            char *name = sl_strf("%s; %s", sl_kind_title(kind), sl_view_word(sight));
            add_course(page, name, &view->progress->clean_at[kind][sight]);
            free(name);
        }
    }
    sl_page_table_end(page);
}

static void add_times(struct sl_xml *page, const struct sl_progress_view *view)
{
    static const char *const headings[] = {"Phase", "Lately, the middle half (s)",
                                           "Lately, the middle (s)", "Before (s)"};
    sl_xml_element(page, "h2", "When the first word came");
    sl_page_table_begin(page, "Seconds after (+) or before (-) the moment that was due", headings,
                        4);
    for (size_t i = 0; i < view->progress->n_phases; i++) {
        const struct sl_spread *lately = &view->progress->phases[i].after_due_lately;
        const struct sl_spread *before = &view->progress->phases[i].after_due_before;
        char *half = sl_progress_half(lately);
        char *middle = sl_progress_middle(lately);
        char *then = sl_progress_middle(before);
        const char *texts[] = {view->routine->phases[i].title, half, middle, then};
        sl_page_row(page, texts, 4, 0, SL_TINT_NONE);
        free(half);
        free(middle);
        free(then);
    }
    sl_page_table_end(page);
}

/* On paper in two columns, so that one sheet holds them. */
static void add_tables(struct sl_xml *page, const struct sl_progress_view *view)
{
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "pairs");
    sl_xml_element(page, "h2", "Phases");
    add_phases(page, view);
    add_faults(page, view);
    add_junctions(page, view);
    add_times(page, view);
    sl_xml_end(page);
}

enum sl_status sl_progress_page(const struct sl_progress_view *view, char **html,
                                struct sl_error *error)
{
    char *title = sl_strf("Progress: %s", view->learner);
    struct sl_xml *page = sl_page_begin(title);
    free(title);
    if (view->progress->n_runs == 0) {
        char *none = sl_progress_none(view);
        sl_xml_element(page, "p", none == NULL ? "" : none);
        free(none);
        sl_page_lead(page, "Recall:", sl_progress_recall(view));
        return sl_page_finish(page, html, error);
    }
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "lead");
    sl_page_lead(page, "Next:", sl_progress_next(view));
    sl_page_lead(page, "Prompting:", sl_progress_prompting(view->progress));
    sl_xml_end(page);
    add_picture(page, view);
    add_tables(page, view);
    sl_xml_element(page, "h2", "The course");
    sl_page_facts_begin(page);
    add_fact(page, "Runs", sl_progress_runs(view));
    add_fact(page, "Rolling", sl_progress_rolling(view));
    add_fact(page, "Unclear", sl_progress_unclear(view));
    add_fact(page, "Recall", sl_progress_recall(view));
    sl_page_facts_end(page);
    return sl_page_finish(page, html, error);
}
