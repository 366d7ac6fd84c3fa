#include "report/progress_text.h"

#include "report/facts.h"
#include "report/progress_words.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TABLE_LEAST 74 /* columns under which rows are listed one fact a line */
#define COLUMNS 4

/* What a table says of one thing, owned but the name and the tint. */
struct line {
    const char *name;
    char *cells[COLUMNS - 1];
    enum sl_tint tint; /* of the last cell */
};

static const char *text_of(const char *text)
{
    return text == NULL ? "" : text;
}

static void add_cells(struct sl_str *out, const char *const *texts, enum sl_tint tint,
                      const struct sl_style *style)
{
    static const int columns[COLUMNS] = {18, 22, 13, 15};
    struct sl_cell cells[COLUMNS];
    for (size_t i = 0; i < COLUMNS; i++) {
        cells[i] = (struct sl_cell){.text = text_of(texts[i]), .columns = columns[i]};
    }
    cells[0].tint = SL_TINT_HEADING;
    cells[COLUMNS - 1].tint = tint;
    sl_text_row(out, cells, COLUMNS, style->colour);
}

/* The line as a row below `headings`, or as a list of what they say; releases it. */
static void add_line(struct sl_str *out, struct line *line, const char *const *headings,
                     const struct sl_style *style)
{
    for (size_t i = 0; i < COLUMNS - 1; i++) {
        out->failed = out->failed || line->cells[i] == NULL;
    }
    if (style->width >= TABLE_LEAST) {
        const char *texts[COLUMNS] = {line->name, line->cells[0], line->cells[1], line->cells[2]};
        add_cells(out, texts, line->tint, style);
    } else {
        struct sl_str text = {0};
        sl_text_tinted(out, line->name, SL_TINT_HEADING, style->colour);
        sl_str_add(out, "\n");
        for (size_t i = 1; i < COLUMNS; i++) {
            sl_str_addf(&text, "  %s: ", headings[i]);
            sl_text_fact(out, sl_str_text(&text), text_of(line->cells[i - 1]), style->width);
            sl_str_clear(&text);
        }
    }
    for (size_t i = 0; i < COLUMNS - 1; i++) {
        free(line->cells[i]);
    }
}

static void add_headings(struct sl_str *out, const char *const *headings,
                         const struct sl_style *style)
{
    sl_str_add(out, "\n");
    if (style->width >= TABLE_LEAST) {
        add_cells(out, headings, SL_TINT_HEADING, style);
    } else {
        sl_text_fact(out, "", headings[0], style->width);
    }
}

static void add_course(struct sl_str *out, const char *name, const struct sl_course *course,
                       const char *const *headings, const struct sl_style *style)
{
    struct line line = {.name = name,
                        .cells = {sl_progress_share(&course->lately, &course->range),
                                  sl_progress_share(&course->before, NULL),
                                  sl_strdup(sl_progress_trend(course->trend))},
                        .tint = sl_progress_trend_tint(course->trend)};
    add_line(out, &line, headings, style);
}

static void add_phases(struct sl_str *out, const struct sl_progress_view *view,
                       const struct sl_style *style)
{
    static const char *const headings[] = {"Phase", "Right lately", "Before", "Change"};
    add_headings(out, headings, style);
    for (size_t i = 0; i < view->progress->n_phases; i++) {
        add_course(out, view->routine->phases[i].title, &view->progress->phases[i].right, headings,
                   style);
    }
    add_course(out, "Whole run", &view->progress->clean, headings, style);
}

static void add_faults(struct sl_str *out, const struct sl_progress_view *view,
                       const struct sl_style *style)
{
    static const char *const headings[] = {"Fault", "In runs lately", "Before", "Change"};
    bool begun = false;
    for (size_t i = 0; i < SL_FAULT_UNCLEAR; i++) {
        const struct sl_course *course = &view->progress->faults[i];
        if (course->lately.hits + course->before.hits == 0) {
            continue;
        }
        if (!begun) {
            add_headings(out, headings, style);
            begun = true;
        }
        struct sl_str name = {0};
        sl_text_code(&name, sl_fault_word((enum sl_fault_kind)i));
        out->failed = out->failed || name.failed;
        add_course(out, sl_str_text(&name), course, headings, style);
        sl_str_clear(&name);
    }
}

static void add_junctions(struct sl_str *out, const struct sl_progress_view *view,
                          const struct sl_style *style)
{
    static const char *const headings[] = {"Junction", "No fault lately", "Before", "Change"};
    add_headings(out, headings, style);
    for (size_t i = 0; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        enum sl_kind kind = (enum sl_kind)(i / SL_VIEW_COUNT);
        enum sl_view sight = (enum sl_view)(i % SL_VIEW_COUNT);
        if (view->progress->runs_at[kind][sight] == 0) {
            continue;
        }
        char *name = sl_strf("%s; %s", sl_kind_title(kind), sl_view_word(sight));
        out->failed = out->failed || name == NULL;
        add_course(out, text_of(name), &view->progress->clean_at[kind][sight], headings, style);
        free(name);
    }
}

static void add_times(struct sl_str *out, const struct sl_progress_view *view,
                      const struct sl_style *style)
{
    static const char *const headings[] = {"First word after due", "Lately, the middle half (s)",
                                           "Middle (s)", "Before (s)"};
    add_headings(out, headings, style);
    for (size_t i = 0; i < view->progress->n_phases; i++) {
        const struct sl_spread *lately = &view->progress->phases[i].after_due_lately;
        const struct sl_spread *before = &view->progress->phases[i].after_due_before;
        struct line line = {.name = view->routine->phases[i].title};
        line.cells[0] = sl_progress_half(lately);
        line.cells[1] = sl_progress_middle(lately);
        line.cells[2] = sl_progress_middle(before);
        add_line(out, &line, headings, style);
    }
    sl_text_fact(out, "", "(+ is after the moment that is due, - before it.)", style->width);
}

/* A fact, unless there is nothing to say; releases the text. */
static void add_fact(struct sl_str *out, const char *label, char *text, int width)
{
    out->failed = out->failed || text == NULL;
    if (text != NULL && text[0] != '\0') {
        sl_fact(out, label, text, width);
    }
    free(text);
}

static void add_head(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    sl_fact(out, "Learner:", view->learner, width);
    add_fact(out, "Runs:", sl_progress_runs(view), width);
}

/* Without a run there may still be answers of the drill. */
static void add_none(struct sl_str *out, const struct sl_progress_view *view,
                     const struct sl_style *style)
{
    char *none = sl_progress_none(view);
    out->failed = out->failed || none == NULL;
    sl_text_fact(out, "", text_of(none), style->width);
    free(none);
    if (!style->brief) {
        add_fact(out, "Recall:", sl_progress_recall(view), style->width);
    }
}

void sl_report_progress(struct sl_str *out, const struct sl_progress_view *view,
                        const struct sl_style *style)
{
    struct sl_style within = *style;
    within.width = sl_fact_width(style->width);
    if (view->progress->n_runs == 0) {
        add_none(out, view, &within);
        return;
    }
    if (!style->brief) {
        add_head(out, view, within.width);
    }
    add_fact(out, "Next:", sl_progress_next(view), within.width);
    add_fact(out, "Prompting:", sl_progress_prompting(view->progress), within.width);
    if (style->brief) {
        return;
    }
    add_fact(out, "Rolling:", sl_progress_rolling(view), within.width);
    add_fact(out, "Unclear:", sl_progress_unclear(view), within.width);
    add_fact(out, "Recall:", sl_progress_recall(view), within.width);
    add_phases(out, view, &within);
    add_faults(out, view, &within);
    add_junctions(out, view, &within);
    add_times(out, view, &within);
    sl_str_add(out, "\n");
    sl_fact_caution(out, within.width);
}
