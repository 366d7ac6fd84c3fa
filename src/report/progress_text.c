#include "report/progress_text.h"

#include "report/facts.h"
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

/* "18 of 20 (70 to 97 %)" */
static char *share_text(const struct sl_share *share, const struct sl_interval *range)
{
    if (share->of == 0) {
        return sl_strdup("-");
    }
    return range == NULL ? sl_strf("%zu of %zu", share->hits, share->of)
                         : sl_strf("%zu of %zu (%.0f to %.0f %%)", share->hits, share->of,
                                   100 * range->low, 100 * range->high);
}

static const char *trend_text(enum sl_trend trend)
{
    static const char *const texts[] = {"too few to say", "no clear change", "better", "worse"};
    return texts[trend];
}

static enum sl_tint trend_tint(enum sl_trend trend)
{
    return trend == SL_TREND_BETTER  ? SL_TINT_GOOD
           : trend == SL_TREND_WORSE ? SL_TINT_BAD
                                     : SL_TINT_NONE;
}

static void add_course(struct sl_str *out, const char *name, const struct sl_course *course,
                       const char *const *headings, const struct sl_style *style)
{
    struct line line = {.name = name,
                        .cells = {share_text(&course->lately, &course->range),
                                  share_text(&course->before, NULL),
                                  sl_strdup(trend_text(course->trend))},
                        .tint = trend_tint(course->trend)};
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
        add_course(out, sl_fault_word((enum sl_fault_kind)i), course, headings, style);
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
        line.cells[0] =
            lately->n == 0 ? sl_strdup("-") : sl_strf("%+.1f to %+.1f", lately->low, lately->high);
        line.cells[1] = lately->n == 0 ? sl_strdup("-") : sl_strf("%+.1f", lately->median);
        line.cells[2] = before->n == 0 ? sl_strdup("-") : sl_strf("%+.1f", before->median);
        add_line(out, &line, headings, style);
    }
    sl_text_fact(out, "", "(+ is after the moment that is due, - before it.)", style->width);
}

static void add_rolling(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    const struct sl_spread *lately = &view->progress->rolling_lately;
    const struct sl_spread *before = &view->progress->rolling_before;
    struct sl_str text = {0};
    if (lately->n == 0) {
        return;
    }
    sl_str_addf(&text,
                "%.1f s were kept for looking and deciding lately (the middle half: %.1f to "
                "%.1f s)",
                lately->median, lately->low, lately->high);
    if (before->n > 0) {
        sl_str_addf(&text, ", %.1f s before", before->median);
    }
    sl_str_addf(&text, "; at least %.0f s are wanted.", view->routine->timing.rolling_s);
    sl_fact(out, "Rolling:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_unclear(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    const struct sl_share *lately = &view->progress->faults[SL_FAULT_UNCLEAR].lately;
    if (lately->hits == 0) {
        return;
    }
    char *text = sl_strf("something could not be made out in %zu of the last %zu runs. That is no "
                         "fault; `sayline soundcheck` tells whether the microphone is right.",
                         lately->hits, lately->of);
    out->failed = out->failed || text == NULL;
    sl_fact(out, "Unclear:", text_of(text), width);
    free(text);
}

static void add_recall(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    const struct sl_course *recall = view->recall;
    if (recall->lately.of == 0) {
        return;
    }
    char *lately = share_text(&recall->lately, &recall->range);
    char *text =
        sl_strf("%s answers right lately; %s.", text_of(lately), trend_text(recall->trend));
    out->failed = out->failed || text == NULL;
    sl_fact(out, "Recall:", text_of(text), width);
    free(text);
    free(lately);
}

static void add_next(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    const struct sl_next *next = &view->progress->next;
    struct sl_str text = {0};
    if (next->why == SL_NEXT_FAULT) {
        const struct sl_phase *phase = &view->routine->phases[next->phase];
        const char *reason = phase->why[next->fault] != NULL ? phase->why[next->fault]
                                                             : view->routine->why[next->fault];
        sl_str_addf(&text, "%s: %s in %zu of the last %zu runs, the commonest fault. %s",
                    phase->title, sl_fault_word(next->fault), next->times, view->progress->n_lately,
                    text_of(reason));
    } else {
        sl_str_addf(&text,
                    "%s, %s view: there was no fault lately, and this kind of junction was "
                    "practised least (runs so far: %zu).",
                    sl_kind_title(next->kind), sl_view_word(next->view), next->times);
    }
    sl_fact(out, "Next:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_prompting(struct sl_str *out, const struct sl_progress *progress, int width)
{
    static const char *const levels[] = {"full", "partial", "none"};
    struct sl_str text = {0};
    switch (progress->ready) {
    case SL_READY_NONE:
        return;
    case SL_READY_STAY:
        sl_str_addf(&text, "stay at %s; %u more clean %s in a row, and you can do with less.",
                    levels[progress->level], progress->clean_more,
                    progress->clean_more == 1 ? "run" : "runs");
        break;
    case SL_READY_DROP:
        sl_str_addf(&text, "%d clean runs in a row at %s: you are ready for %s.",
                    SL_FADE_AFTER_CLEAN, levels[progress->level], levels[progress->level + 1]);
        break;
    case SL_READY_BACK:
        sl_str_addf(&text,
                    "the last run at %s had a fault, or the last %d were early or late: go "
                    "back to %s for a while.",
                    levels[progress->level], SL_FADE_BACK_AFTER_LATE, levels[progress->level - 1]);
        break;
    case SL_READY_ALREADY:
        sl_str_add(&text, "none, and it goes well: there is nothing left to drop. Mix the "
                          "junctions.");
        break;
    }
    sl_fact(out, "Prompting:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_head(struct sl_str *out, const struct sl_progress_view *view, int width)
{
    char *runs = sl_strf("%zu of %s. \"Lately\" is the last %d of them that tell something, "
                         "\"before\" is all earlier ones. The figures in brackets say how sure "
                         "that is: the real share is between them 95 times in 100.",
                         view->progress->n_runs, view->routine->name, SL_PROGRESS_LATELY);
    sl_fact(out, "Learner:", view->learner, width);
    sl_fact(out, "Runs:", text_of(runs), width);
    out->failed = out->failed || runs == NULL;
    free(runs);
}

void sl_report_progress(struct sl_str *out, const struct sl_progress_view *view,
                        const struct sl_style *style)
{
    struct sl_style within = *style;
    within.width = sl_fact_width(style->width);
    if (!style->brief) {
        add_head(out, view, within.width);
    }
    add_next(out, view, within.width);
    add_prompting(out, view->progress, within.width);
    if (style->brief) {
        return;
    }
    add_rolling(out, view, within.width);
    add_unclear(out, view, within.width);
    add_recall(out, view, within.width);
    add_phases(out, view, &within);
    add_faults(out, view, &within);
    add_junctions(out, view, &within);
    add_times(out, view, &within);
    sl_str_add(out, "\n");
    sl_fact_caution(out, within.width);
}
