#include "report/class_page.h"

#include "report/class_words.h"
#include "report/page.h"
#include "report/svg.h"

#include <stdlib.h>

#define TOP 54.0
#define ROW 30.0
#define ROOM 10.0                       /* below the last row */
#define NAMES_END (SL_SVG_LEFT + 100.0) /* learners' names are longer than phases' */

static double middle_of(const struct sl_class_grid *grid, size_t phase)
{
    double wide = (SL_SVG_RIGHT - NAMES_END) / (double)grid->n_phases;
    return NAMES_END + ((double)phase + 0.5) * wide;
}

/* A cell: a bar as wide as the share that was right, in a pale bar that is the whole. */
static void draw_cell(struct sl_xml *page, const struct sl_class_grid *grid, size_t phase,
                      const struct sl_share *right, double y)
{
    double half = 0.35 * (middle_of(grid, 1) - middle_of(grid, 0));
    double x = middle_of(grid, phase) - half;
    if (right->of == 0) {
        sl_svg_text(page, middle_of(grid, phase), y + 12.0, "soft mid", "-");
        return;
    }
    sl_svg_bar(page, x, x + 2.0 * half, y, "window");
    if (right->hits > 0) {
        double share = (double)right->hits / (double)right->of;
        sl_svg_bar(page, x, x + 2.0 * half * share, y,
                   right->hits == right->of       ? "good"
                   : 2 * right->hits >= right->of ? "unsure"
                                                  : "bad");
    }
}

/* A name as far as there is room for it. */
static char *short_name(const char *name)
{
    const char *next = name;
    size_t length = sl_text_line(name, 28, &next);
    return sl_strf("%.*s%s", (int)length, name, *next == '\0' ? "" : " ...");
}

static void draw(struct sl_xml *page, const struct sl_class_page *class)
{
    const struct sl_class_grid *grid = class->grid;
    char *words = sl_strf("A row for each of %zu learners, a column for each phase: the longer the "
                          "strong bar, the more often it was right. The table has the figures.",
                          grid->n_learners);
    sl_svg_begin(page, TOP + ROW * (double)grid->n_learners + ROOM,
                 "The class by learner and phase", words);
    free(words);
    for (size_t i = 0; i < grid->n_phases; i++) {
        sl_svg_text(page, middle_of(grid, i), 30.0, "head mid", class->routine->phases[i].title);
    }
    for (size_t i = 0; i < grid->n_learners; i++) {
        double y = TOP + ROW * (double)i;
        char *name = short_name(grid->learners[i].name);
        sl_svg_text(page, 8.0, y + 12.0, "words", name);
        free(name);
        for (size_t phase = 0; phase < grid->n_phases; phase++) {
            draw_cell(page, grid, phase, &grid->learners[i].right[phase], y);
        }
    }
    sl_xml_end(page);
}

static void add_picture(struct sl_xml *page, const struct sl_class_page *class)
{
    sl_xml_begin(page, "figure");
    sl_page_box_begin(page, "The picture of the class");
    draw(page, class);
    sl_page_box_end(page);
    sl_xml_element(page, "figcaption",
                   "Strong bars: how often each phase was right. The table says the same.");
    sl_xml_end(page);
}

/* Texts of a row of the table; the caller frees the ones from 1 to n. */
static size_t fill_row(char **texts, const struct sl_share *right, size_t n_phases, size_t n_runs,
                       double score_sum)
{
    size_t n = 1;
    texts[n++] = sl_strf("%zu", n_runs);
    texts[n++] = n_runs == 0 ? sl_strdup("-") : sl_strf("%.0f", score_sum / (double)n_runs);
    for (size_t i = 0; i < n_phases; i++) {
        texts[n++] =
            right[i].of == 0 ? sl_strdup("-") : sl_strf("%zu of %zu", right[i].hits, right[i].of);
    }
    return n;
}

static void add_row(struct sl_xml *page, char *name, const struct sl_class_page *class,
                    const struct sl_class_learner *sums)
{
    char *texts[SL_PHASE_MAX + 3] = {name};
    size_t n = fill_row(texts, sums->right, class->grid->n_phases, sums->n_runs, sums->score_sum);
    sl_page_row(page, (const char *const *)texts, n, 0, SL_TINT_NONE);
    for (size_t i = 1; i < n; i++) {
        free(texts[i]);
    }
}

static void add_table(struct sl_xml *page, const struct sl_class_page *class)
{
    const char *headings[SL_PHASE_MAX + 3] = {"Learner", "Runs", "Mean score"};
    struct sl_class_learner all = {0};
    char whole[] = "The class";
    size_t n = 3;
    for (size_t i = 0; i < class->grid->n_phases; i++) {
        headings[n++] = class->routine->phases[i].title;
        all.right[i] = class->grid->right[i];
    }
    sl_page_table_begin(page, "Runs in which each phase was right", headings, n);
    for (size_t i = 0; i < class->grid->n_learners; i++) {
        const struct sl_class_learner *learner = &class->grid->learners[i];
        all.n_runs += learner->n_runs;
        all.score_sum += learner->score_sum;
        add_row(page, learner->name, class, learner);
    }
    add_row(page, whole, class, &all);
    sl_page_table_end(page);
}

static void add_faults(struct sl_xml *page, const struct sl_class_page *class)
{
    const char *headings[SL_FAULT_KIND_COUNT + 1] = {"Phase"};
    struct sl_str names[SL_FAULT_KIND_COUNT] = {{0}};
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        sl_text_code(&names[kind], sl_fault_word((enum sl_fault_kind)kind));
        headings[kind + 1] = sl_str_text(&names[kind]);
    }
    sl_xml_element(page, "h2", "Faults");
    sl_page_table_begin(page, "Runs with a fault of each kind; unclear is none", headings,
                        SL_FAULT_KIND_COUNT + 1);
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        sl_str_clear(&names[kind]);
    }
    for (size_t i = 0; i < class->grid->n_phases; i++) {
        char *texts[SL_FAULT_KIND_COUNT + 1] = {class->routine->phases[i].title};
        for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
            texts[kind + 1] = sl_strf("%zu", class->grid->faults[i][kind]);
        }
        sl_page_row(page, (const char *const *)texts, SL_FAULT_KIND_COUNT + 1, 0, SL_TINT_NONE);
        for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
            free(texts[kind + 1]);
        }
    }
    sl_page_table_end(page);
}

static void add_remarks(struct sl_xml *page, const struct sl_class_page *class)
{
    if (class->n_remarks == 0) {
        return;
    }
    sl_xml_element(page, "h2", "To look at");
    sl_xml_begin(page, "ul");
    for (size_t i = 0; i < class->n_remarks; i++) {
        sl_xml_begin(page, "li");
        sl_xml_attr(page, "dir", "auto");
        sl_xml_text(page, class->remarks[i]);
        sl_xml_end(page);
    }
    sl_xml_end(page);
}

enum sl_status sl_class_page(const struct sl_class_page *class, char **html, struct sl_error *error)
{
    char *title = sl_strf("The class: %s", class->title);
    struct sl_xml *page = sl_page_begin(title);
    free(title);
    if (class->grid->n_learners == 0) {
        sl_xml_element(page, "p", "No run could be marked.");
    } else {
        sl_xml_begin(page, "div");
        sl_xml_attr(page, "class", "lead");
        sl_page_lead(page, "Teach next:", sl_class_teach(class->routine, class->grid));
        sl_page_lead(page, "Who:", sl_class_whom(class->grid));
        sl_xml_end(page);
        add_picture(page, class);
        sl_xml_element(page, "h2", "Learners");
        add_table(page, class);
        add_faults(page, class);
    }
    add_remarks(page, class);
    return sl_page_finish(page, html, error);
}
