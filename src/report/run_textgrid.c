#include "report/run_exports.h"

#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define SAME_S 0.0005 /* points nearer than this would be written as one moment */

struct point {
    double at_s;
    char *label; /* owned */
};

struct points {
    struct point *items;
    size_t count, room;
    bool failed;
};

/* Takes the label over. */
static void add_point(struct points *points, double at_s, char *label)
{
    struct point *items =
        sl_grow(points->items, points->count, &points->room, sizeof *points->items);
    if (items == NULL || label == NULL) {
        points->items = items == NULL ? points->items : items;
        points->failed = true;
        free(label);
        return;
    }
    points->items = items;
    points->items[points->count++] = (struct point){fmax(at_s, 0.0), label};
}

static int by_time(const void *a, const void *b)
{
    const struct point *first = a;
    const struct point *second = b;
    return (first->at_s > second->at_s) - (first->at_s < second->at_s);
}

/* Sorts, and joins the points of one moment, as a tier has at most one at a time. */
static void tidy(struct points *points)
{
    size_t kept = 0;
    if (points->count > 0) {
        qsort(points->items, points->count, sizeof *points->items, by_time);
    }
    for (size_t i = 0; i < points->count; i++) {
        struct point *last = kept == 0 ? NULL : &points->items[kept - 1];
        if (last == NULL || points->items[i].at_s - last->at_s >= SAME_S) {
            points->items[kept++] = points->items[i];
            continue;
        }
        char *both = sl_strf("%s; %s", last->label, points->items[i].label);
        points->failed = points->failed || both == NULL;
        free(points->items[i].label);
        free(last->label);
        last->label = both;
    }
    points->count = kept;
}

static void clear(struct points *points)
{
    for (size_t i = 0; i < points->count; i++) {
        free(points->items[i].label);
    }
    free(points->items);
}

/* A text in quotes, which are doubled within. */
static void add_quoted(struct sl_str *out, const char *text)
{
    struct sl_str clean = {0};
    sl_text_clean(&clean, text == NULL ? "" : text);
    sl_str_add(out, "\"");
    for (const char *at = sl_str_text(&clean); *at != '\0'; at++) {
        sl_str_add_bytes(out, at, 1);
        if (*at == '"') {
            sl_str_add(out, "\"");
        }
    }
    sl_str_add(out, "\"\n");
    out->failed = out->failed || clean.failed;
    sl_str_clear(&clean);
}

static void begin_tier(struct sl_str *out, int number, const char *class, const char *name,
                       double end_s)
{
    sl_str_addf(out,
                "    item [%d]:\n        class = \"%s\"\n        name = \"%s\"\n"
                "        xmin = 0\n        xmax = %.4f\n",
                number, class, name, end_s);
}

static void add_points(struct sl_str *out, int number, const char *name,
                       const struct points *points, double end_s)
{
    begin_tier(out, number, "TextTier", name, end_s);
    sl_str_addf(out, "        points: size = %zu\n", points->count);
    for (size_t i = 0; i < points->count; i++) {
        sl_str_addf(out,
                    "        points [%zu]:\n            number = %.4f\n            mark = ", i + 1,
                    points->items[i].at_s);
        add_quoted(out, points->items[i].label);
    }
    out->failed = out->failed || points->failed;
}

static void add_interval(struct sl_str *list, size_t *n, double from_s, double to_s,
                         const char *text)
{
    if (to_s - from_s < SAME_S) {
        return;
    }
    sl_str_addf(list,
                "        intervals [%zu]:\n            xmin = %.4f\n            xmax = %.4f\n"
                "            text = ",
                ++*n, from_s, to_s);
    add_quoted(list, text);
}

/* The phrases, with empty intervals between them, as a tier has no holes. */
static void add_heard(struct sl_str *out, int number, const struct sl_heard_list *heard,
                      double end_s)
{
    struct sl_str list = {0};
    size_t n = 0;
    double done_s = 0.0;
    for (size_t i = 0; i < heard->count; i++) {
        double start_s = fmax(heard->items[i].start_s, done_s);
        double stop_s = fmin(heard->items[i].end_s, end_s);
        if (stop_s - start_s < SAME_S) {
            continue;
        }
        if (start_s - done_s < SAME_S) {
            start_s = done_s;
        }
        add_interval(&list, &n, done_s, start_s, "");
        add_interval(&list, &n, start_s, stop_s, heard->items[i].text);
        done_s = stop_s;
    }
    add_interval(&list, &n, done_s, end_s, "");
    begin_tier(out, number, "IntervalTier", "heard", end_s);
    sl_str_addf(out, "        intervals: size = %zu\n%s", n, sl_str_text(&list));
    out->failed = out->failed || list.failed;
    sl_str_clear(&list);
}

static void fill_windows(struct points *points, const struct sl_mark_view *view)
{
    for (size_t i = 0; view->mark->timed && i < view->plan->n_windows; i++) {
        const struct sl_window *window = &view->plan->windows[i];
        const char *title = view->routine->phases[i].title;
        add_point(points, view->from_s + window->opens_s, sl_strf("%s opens", title));
        add_point(points, view->from_s + window->due_s, sl_strf("%s due", title));
        add_point(points, view->from_s + window->closes_s, sl_strf("%s closes", title));
    }
    tidy(points);
}

static void fill_faults(struct points *points, const struct sl_mark_view *view)
{
    for (size_t i = 0; i < view->mark->n_faults; i++) {
        const struct sl_fault *fault = &view->mark->faults[i];
        double at_s = !isnan(fault->at_s) ? fault->at_s : fault->due_s;
        add_point(points, view->from_s + (isnan(at_s) ? 0.0 : at_s),
                  sl_strf("%s: %s", view->routine->phases[fault->phase].title,
                          sl_fault_word(fault->kind)));
    }
    tidy(points);
}

static double last_of(const struct points *points)
{
    return points->count == 0 ? 0.0 : points->items[points->count - 1].at_s;
}

enum sl_status sl_run_textgrid(const struct sl_mark_view *view, char **textgrid,
                               struct sl_error *error)
{
    struct sl_str out = {0};
    struct points windows = {0};
    struct points faults = {0};
    fill_windows(&windows, view);
    fill_faults(&faults, view);
    double end_s = fmax(view->levels->duration_s, fmax(last_of(&windows), last_of(&faults)));
    sl_str_addf(&out,
                "File type = \"ooTextFile\"\nObject class = \"TextGrid\"\n\nxmin = 0\n"
                "xmax = %.4f\ntiers? <exists>\nsize = 3\nitem []:\n",
                end_s);
    add_points(&out, 1, "windows", &windows, end_s);
    add_heard(&out, 2, view->heard, end_s);
    add_points(&out, 3, "faults", &faults, end_s);
    clear(&windows);
    clear(&faults);
    char *text = sl_str_take(&out);
    if (text == NULL) {
        return sl_fail_memory(error);
    }
    *textgrid = text;
    return SL_OK;
}
