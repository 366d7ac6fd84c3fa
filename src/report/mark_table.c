#include "report/table.h"

#include "core/settling.h"
#include "report/facts.h"
#include "report/mark_words.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TABLE_LEAST 72 /* columns under which phases are listed one fact a line */

/* The texts of one row, owned. */
struct row {
    char *window;
    char *at;
    char *said;
    char *verdict;
    enum sl_tint tint;
};

static void clear_row(struct row *row)
{
    free(row->window);
    free(row->at);
    free(row->said);
    free(row->verdict);
}

static struct row make_row(const struct sl_mark_view *view, size_t phase)
{
    const struct sl_phase_mark *mark = &view->mark->phases[phase];
    struct row row = {0};
    if (view->mark->timed) {
        const struct sl_window *window = &view->plan->windows[phase];
        row.window = sl_strf("%.1f to %.1f", window->opens_s, window->closes_s);
    }
    row.at = isnan(mark->at_s) ? sl_strdup("-") : sl_strf("%.1f", mark->at_s);
    row.said = sl_mark_said(view, phase);
    row.verdict = sl_mark_verdict(view->mark, phase, &row.tint);
    return row;
}

static void list_phase(struct sl_str *out, const char *title, const struct row *row,
                       const struct sl_style *style)
{
    sl_text_tinted(out, title, SL_TINT_HEADING, style->colour);
    sl_str_add(out, ": ");
    sl_text_tinted(out, row->verdict == NULL ? "" : row->verdict, row->tint, style->colour);
    sl_str_add(out, "\n");
    if (row->window != NULL) {
        sl_text_fact(out, "  due at ", row->window, style->width);
    }
    sl_text_fact(out, "  said at ", row->at == NULL ? "" : row->at, style->width);
    sl_text_fact(out, "  heard ", row->said == NULL ? "" : row->said, style->width);
}

/* The row as cells; columns 1 and 2 are times. Untimed tables have no window. */
static size_t fill_cells(struct sl_cell *cells, const struct row *row, const char *title, int width)
{
    size_t n = 0;
    int used = 9 + 2 + 7 + 2 + 2 + 16;
    cells[n++] = (struct sl_cell){.text = title, .columns = 9, .tint = SL_TINT_HEADING};
    if (row->window != NULL) {
        cells[n++] = (struct sl_cell){.text = row->window, .columns = 12, .right = true};
        used += 14;
    }
    cells[n++] = (struct sl_cell){.text = row->at, .columns = 7, .right = true};
    cells[n++] = (struct sl_cell){.text = row->said, .columns = width - used};
    cells[n++] = (struct sl_cell){.text = row->verdict, .columns = 16, .tint = row->tint};
    return n;
}

static void add_heading(struct sl_str *out, bool timed, const struct sl_style *style)
{
    char window[] = "Due (s)";
    char at[] = "At (s)";
    char said[] = "What was heard";
    char verdict[] = "Verdict";
    struct row row = {timed ? window : NULL, at, said, verdict, SL_TINT_HEADING};
    struct sl_cell cells[5];
    size_t n = fill_cells(cells, &row, "Phase", style->width);
    for (size_t i = 0; i < n; i++) {
        cells[i].tint = SL_TINT_HEADING;
    }
    sl_text_row(out, cells, n, style->colour);
}

static void add_phases(struct sl_str *out, const struct sl_mark_view *view,
                       const struct sl_style *style)
{
    bool table = style->width >= TABLE_LEAST;
    if (table) {
        add_heading(out, view->mark->timed, style);
    }
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        struct row row = make_row(view, i);
        const char *title = view->routine->phases[i].title;
        if (table) {
            struct sl_cell cells[5];
            size_t n = fill_cells(cells, &row, title, style->width);
            sl_text_row(out, cells, n, style->colour);
        } else {
            list_phase(out, title, &row, style);
        }
        clear_row(&row);
    }
}

static void add_finding(struct sl_str *out, const struct sl_mark_view *view, size_t number,
                        const struct sl_fault *fault, int width)
{
    struct sl_str text = {0};
    struct sl_str label = {0};
    sl_str_addf(&label, "%3zu. ", number);
    sl_str_addf(&text, "%s, ", view->routine->phases[fault->phase].title);
    sl_text_code(&text, sl_fault_word(fault->kind));
    sl_str_addf(&text, ": %s", fault->what);
    sl_text_fact(out, sl_str_text(&label), sl_str_text(&text), width);
    sl_text_fact(out, "     Why: ", fault->reason == NULL ? "" : fault->reason, width);
    out->failed = out->failed || text.failed || label.failed;
    sl_str_clear(&label);
    sl_str_clear(&text);
}

/* The faults, or what is unclear instead, which is none. */
static size_t add_findings(struct sl_str *out, const struct sl_mark_view *view, bool unclear,
                           int width)
{
    size_t n = 0;
    for (size_t i = 0; i < view->mark->n_faults; i++) {
        const struct sl_fault *fault = &view->mark->faults[i];
        if ((fault->kind == SL_FAULT_UNCLEAR) == unclear) {
            add_finding(out, view, ++n, fault, width);
        }
    }
    return n;
}

static void add_faults(struct sl_str *out, const struct sl_mark_view *view,
                       const struct sl_style *style)
{
    struct sl_str list = {0};
    size_t n = add_findings(&list, view, false, style->width);
    if (n == 0) {
        sl_str_add(out, "No faults.\n");
    } else {
        sl_str_addf(out, "%zu %s\n%s", n, n == 1 ? "fault:" : "faults:", sl_str_text(&list));
    }
    out->failed = out->failed || list.failed;
    sl_str_clear(&list);
    n = add_findings(&list, view, true, style->width);
    if (n > 0) {
        sl_str_addf(out, "%zu unclear, %s:\n%s", n,
                    n == 1 ? "which is no fault" : "which are no faults", sl_str_text(&list));
    }
    out->failed = out->failed || list.failed;
    sl_str_clear(&list);
}

static void add_settled(struct sl_str *out, const struct sl_mark_view *view, int width)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        const char *word = sl_settled_word(view->mark->phases[i].settled);
        if (word != NULL) {
            sl_str_addf(&text, "%s%s %s", text.length > 0 ? ", " : "",
                        view->routine->phases[i].title, word);
        }
    }
    if (text.length > 0) {
        sl_str_add(&text, "; settled by the instructor");
        sl_fact(out, "Settled:", sl_str_text(&text), width);
    }
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_corrections(struct sl_str *out, const struct sl_mark_view *view,
                            const struct sl_style *style)
{
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        const struct sl_phase_mark *mark = &view->mark->phases[i];
        if (!mark->corrected) {
            continue;
        }
        char *text = sl_mark_correction(view, i);
        sl_fact(out, "Corrected:", text == NULL ? "" : text, style->width);
        free(text);
    }
}

static void add_scores(struct sl_str *out, const struct sl_mark *mark, int width)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%.0f of 100 overall", mark->scores.overall);
    sl_fact(out, "Score:", sl_str_text(&text), width);
    sl_str_clear(&text);
    sl_str_addf(&text, "order %.0f, completeness %.0f, settings %.0f", mark->scores.order,
                mark->scores.completeness, mark->scores.settings);
    if (mark->timed && !isnan(mark->scores.timing)) {
        sl_str_addf(&text, ", timing %.0f", mark->scores.timing);
    } else {
        sl_str_add(&text, "; timing was not marked");
    }
    sl_fact(out, "Parts:", sl_str_text(&text), width);
    sl_str_clear(&text);
}

static void add_plan(struct sl_str *out, const struct sl_mark_view *view, int width)
{
    struct sl_str text = {0};
    sl_mark_plan(&text, view);
    sl_fact(out, "Plan:", sl_str_text(&text), width);
    if (view->mark->timed && !view->plan->long_enough) {
        sl_fact(out, "Plan:",
                "the approach is too short for everything; `sayline plan` says what to give up",
                width);
    }
    sl_str_clear(&text);
}

static void add_notices(struct sl_str *out, const struct sl_level_report *levels, int width)
{
#define ADD_NOTICE(code, bit, word, text)                                                          \
    if ((levels->notices & (unsigned)(code)) != 0) {                                               \
        sl_fact(out, "Sound:", text, width);                                                       \
    }
    SL_NOTICE_MAP(ADD_NOTICE)
#undef ADD_NOTICE
}

static void add_file(struct sl_str *out, const struct sl_mark_view *view, int width)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%s (%.1f s)", view->file, view->levels->duration_s);
    sl_fact(out, "Recording:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

void sl_report_mark(struct sl_str *out, const struct sl_mark_view *view,
                    const struct sl_style *style)
{
    struct sl_style fit = {.colour = style->colour, .width = sl_fact_width(style->width)};
    add_file(out, view, fit.width);
    if (!style->brief) {
        sl_fact_junction(out, view->junction, view->plan, fit.width);
        add_plan(out, view, fit.width);
    }
    add_notices(out, view->levels, fit.width);
    if (!style->brief) {
        sl_str_add(out, "\n");
        add_phases(out, view, &fit);
        sl_str_add(out, "\n");
    }
    add_faults(out, view, &fit);
    if (!style->brief) {
        add_corrections(out, view, &fit);
    }
    add_settled(out, view, fit.width);
    if (!style->brief) {
        sl_str_add(out, "\n");
    }
    add_scores(out, view->mark, fit.width);
    if (!style->brief) {
        sl_fact(out, "Next:", view->mark->next == NULL ? "" : view->mark->next, fit.width);
        sl_str_add(out, "\n");
        sl_fact_caution(out, fit.width);
    }
}
