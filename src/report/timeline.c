#include "report/timeline.h"

#include "report/mark_words.h"
#include "report/plan_words.h"
#include "report/svg.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TOP 62.0
#define ROW 56.0
#define WAVE 64.0       /* height of the envelope */
#define FOOT 44.0       /* the axis of seconds */
#define LETTER 6.9      /* a letter's width, about: to keep words inside the picture */
#define WORDS_MOST 60   /* letters of what was heard; the table has all of them */
#define METRES_APART 44 /* between two marks of the upper axis */

/* What the parts of the picture share. */
struct picture {
    struct sl_xml *xml;
    const struct sl_mark_view *view;
    struct sl_timeline_span span;
    double rows_end, foot; /* y below the phases, y of the axis of seconds */
};

struct sl_timeline_span sl_timeline_span(const struct sl_mark_view *view)
{
    struct sl_timeline_span span = {0.0, view->mark->timed ? view->plan->line_s : 1.0};
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        const struct sl_phase_mark *mark = &view->mark->phases[i];
        span.from_s = fmin(span.from_s, mark->at_s); /* fmin and fmax pass over NAN */
        span.to_s = fmax(span.to_s, mark->end_s);
        if (view->mark->timed) {
            span.to_s = fmax(span.to_s, view->plan->windows[i].closes_s);
        }
    }
    for (size_t i = 0; i < view->mark->n_faults; i++) {
        span.to_s = fmax(span.to_s, view->mark->faults[i].at_s);
    }
    span.to_s += 0.5;
    return span;
}

static double x_at(const struct picture *picture, double at_s)
{
    double share = (at_s - picture->span.from_s) / (picture->span.to_s - picture->span.from_s);
    return SL_SVG_LEFT + share * (SL_SVG_RIGHT - SL_SVG_LEFT);
}

static void bar(const struct picture *picture, double from_s, double to_s, double y,
                const char *class)
{
    sl_svg_bar(picture->xml, x_at(picture, from_s), x_at(picture, to_s), y, class);
}

/* The axis of seconds, with a thin line up through the picture. */
static void add_seconds(const struct picture *picture)
{
    double step_s = picture->span.to_s - picture->span.from_s > 60.0 ? 10.0 : 5.0;
    long last = lround(floor(picture->span.to_s / step_s));
    for (long i = lround(ceil(picture->span.from_s / step_s)); i <= last; i++) {
        double at_s = step_s * (double)i;
        double x = x_at(picture, at_s);
        char *label = sl_strf("%.0f s", at_s);
        sl_svg_upright(picture->xml, x, TOP, picture->foot, "grid");
        sl_svg_text(picture->xml, x, picture->foot + 16.0, "soft mid", label);
        free(label);
    }
    sl_svg_text(picture->xml, SL_SVG_RIGHT, picture->foot + 34.0, "soft end",
                picture->view->mark->timed ? "seconds after the announcement"
                                           : "seconds of the recording");
}

/* The axis of metres, from the line backwards, as far as there is room between the marks. */
static void add_metres(const struct picture *picture)
{
    static const double marks_m[] = {0, 10, 25, 50, 75, 100, 150, 200, 250, 300, 400, 500, 1000};
    const struct sl_plan *plan = picture->view->plan;
    double last = INFINITY;
    sl_svg_text(picture->xml, 8.0, 34.0, "soft", "To the line");
    for (size_t i = 0; i < sizeof marks_m / sizeof *marks_m && marks_m[i] <= plan->distance_m;
         i++) {
        double x = x_at(picture, sl_plan_time_s(plan, marks_m[i]));
        if (last - x < METRES_APART) {
            continue;
        }
        last = x;
        char *label = i == 0 ? sl_strdup("line") : sl_strf("%.0f m", marks_m[i]);
        sl_svg_text(picture->xml, x, 34.0, i == 0 ? "head mid" : "soft mid", label);
        sl_svg_upright(picture->xml, x, 40.0, 46.0, "grid");
        free(label);
    }
    sl_svg_upright(picture->xml, x_at(picture, plan->stop_by_s), 40.0, picture->foot, "stop");
    sl_svg_text(picture->xml, x_at(picture, plan->stop_by_s) - 5.0, 52.0, "bad end", "last stop");
    sl_svg_upright(picture->xml, x_at(picture, plan->line_s), 40.0, picture->foot, "line");
}

/* Words that begin below a moment, moved left where they would leave the picture. */
static void add_words(const struct picture *picture, double at_s, double y, const char *words)
{
    const char *next = words;
    size_t length = sl_text_line(words, WORDS_MOST, &next);
    char *shown = sl_strf("%.*s%s", (int)length, words, *next == '\0' ? "" : " ...");
    double wide = LETTER * (double)sl_text_columns(shown == NULL ? "" : shown);
    bool fits = x_at(picture, at_s) + wide <= SL_SVG_RIGHT;
    sl_svg_text(picture->xml, fits ? x_at(picture, at_s) : SL_SVG_RIGHT, y,
                fits ? "words" : "words end", shown);
    free(shown);
}

static void add_window(const struct picture *picture, size_t phase, double y)
{
    const struct sl_window *window = &picture->view->plan->windows[phase];
    bar(picture, window->opens_s, window->closes_s, y + 12.0, "window");
    sl_svg_upright(picture->xml, x_at(picture, window->due_s), y + 8.0, y + 30.0, "due");
}

static void add_phase(const struct picture *picture, size_t phase)
{
    const struct sl_mark_view *view = picture->view;
    const struct sl_phase_mark *mark = &view->mark->phases[phase];
    double y = TOP + ROW * (double)phase;
    double words_s = mark->at_s;
    enum sl_tint tint = SL_TINT_NONE;
    char *verdict = sl_mark_verdict(view->mark, phase, &tint);
    char *said = sl_mark_said(view, phase);
    const char *class = tint == SL_TINT_GOOD ? "good" : tint == SL_TINT_BAD ? "bad" : "unsure";
    struct sl_str verdict_class = {0};
    sl_str_addf(&verdict_class, "verdict %s", class);
    sl_svg_text(picture->xml, 8.0, y + 22.0, "head", view->routine->phases[phase].title);
    sl_svg_text(picture->xml, 8.0, y + 39.0, sl_str_text(&verdict_class), verdict);
    if (view->mark->timed) {
        add_window(picture, phase, y);
        words_s = isnan(words_s) ? view->plan->windows[phase].opens_s : words_s;
    }
    if (!isnan(mark->at_s)) {
        bar(picture, mark->at_s, mark->end_s, y + 12.0, class);
    }
    add_words(picture, isnan(words_s) ? picture->span.from_s : words_s, y + 45.0,
              said == NULL ? "" : said);
    sl_str_clear(&verdict_class);
    free(verdict);
    free(said);
}

/* The faults' numbers as in the report: faults first, then what is unclear, which counts anew. */
static void add_faults(const struct picture *picture)
{
    const struct sl_mark *mark = picture->view->mark;
    size_t numbers[2] = {0};
    size_t in_row[SL_PHASE_MAX] = {0};
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        bool unclear = fault->kind == SL_FAULT_UNCLEAR;
        size_t number = ++numbers[unclear ? 1 : 0];
        double at_s = !isnan(fault->at_s) ? fault->at_s : fault->due_s;
        double x = x_at(picture, isnan(at_s) ? picture->span.from_s : at_s) +
                   20.0 * (double)in_row[fault->phase]++;
        double y = TOP + ROW * (double)fault->phase + 6.0;
        char *label = sl_strf("%zu", number);
        sl_svg_dot(picture->xml, x, y, 9.0, unclear ? "fault unsure" : "fault bad");
        sl_svg_text(picture->xml, x, y + 4.5, "number", label);
        free(label);
    }
}

static void add_wave(const struct picture *picture, const struct sl_envelope *wave)
{
    double middle = picture->rows_end + 0.5 * WAVE;
    struct sl_str path = {0};
    double loudest = 1e-9;
    for (size_t i = 0; i < wave->n_peaks; i++) {
        loudest = fmax(loudest, wave->peaks[i]);
    }
    for (size_t i = 0; i < wave->n_peaks; i++) {
        double at_s = sl_envelope_at_s(wave, i) - picture->view->from_s;
        if (at_s >= picture->span.from_s && at_s <= picture->span.to_s) {
            double half = fmax(0.5, 0.45 * WAVE * wave->peaks[i] / loudest);
            sl_str_addf(&path, "M%.1f %.1fv%.1f", x_at(picture, at_s), middle - half, 2.0 * half);
        }
    }
    sl_svg_text(picture->xml, 8.0, middle + 4.0, "head", "Sound");
    sl_xml_begin(picture->xml, "path");
    sl_xml_attr(picture->xml, "class", "wave");
    sl_xml_attr(picture->xml, "d", sl_str_text(&path));
    sl_xml_end(picture->xml);
    sl_str_clear(&path);
}

/* The same in words, for who does not see it. */
static void describe(struct sl_str *text, const struct sl_mark_view *view)
{
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        const struct sl_phase_mark *mark = &view->mark->phases[i];
        enum sl_tint tint = SL_TINT_NONE;
        char *verdict = sl_mark_verdict(view->mark, i, &tint);
        sl_str_addf(text, "%s%s: ", i == 0 ? "" : " ", view->routine->phases[i].title);
        if (view->mark->timed) {
            sl_str_addf(text, "due %.1f to %.1f s, ", view->plan->windows[i].opens_s,
                        view->plan->windows[i].closes_s);
        }
        if (isnan(mark->at_s)) {
            sl_str_add(text, "not heard, ");
        } else {
            sl_str_addf(text, "said at %.1f s, ", mark->at_s);
        }
        sl_str_addf(text, "%s.", verdict == NULL ? "" : verdict);
        free(verdict);
    }
}

static void begin_picture(const struct picture *picture)
{
    const struct sl_junction *junction = picture->view->junction;
    struct sl_str words = {0};
    describe(&words, picture->view);
    char *title = sl_strf("The run at %s over time",
                          junction->name == NULL ? "the junction" : junction->name);
    sl_svg_begin(picture->xml, picture->foot + FOOT, title, sl_str_text(&words));
    free(title);
    sl_str_clear(&words);
}

void sl_timeline_add(struct sl_xml *xml, const struct sl_mark_view *view,
                     const struct sl_envelope *wave)
{
    bool sound = wave != NULL && wave->n_peaks > 0;
    double rows_end = TOP + ROW * (double)view->mark->n_phases;
    struct picture picture = {.xml = xml,
                              .view = view,
                              .span = sl_timeline_span(view),
                              .rows_end = rows_end,
                              .foot = rows_end + (sound ? WAVE : 0.0)};
    begin_picture(&picture);
    add_seconds(&picture);
    if (view->mark->timed) {
        add_metres(&picture);
    }
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        add_phase(&picture, i);
    }
    add_faults(&picture);
    if (sound) {
        add_wave(&picture, wave);
    }
    sl_xml_end(xml);
}

/* The words of a plan's picture. */
static char *plan_text(const struct sl_plan_view *view)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < view->plan->n_windows; i++) {
        const struct sl_window *window = &view->plan->windows[i];
        sl_str_addf(&text, "%s%s: %.1f to %.1f s, due at %.1f s.", i == 0 ? "" : " ",
                    view->routine->phases[i].title, window->opens_s, window->closes_s,
                    window->due_s);
    }
    return sl_str_take(&text);
}

void sl_timeline_add_plan(struct sl_xml *xml, const struct sl_plan_view *view)
{
    struct sl_mark nothing_said = {.timed = true};
    const struct sl_mark_view drawn = {.routine = view->routine,
                                       .junction = view->junction,
                                       .plan = view->plan,
                                       .mark = &nothing_said};
    double end_s = view->plan->line_s;
    for (size_t i = 0; i < view->plan->n_windows; i++) {
        end_s = fmax(end_s, view->plan->windows[i].closes_s);
    }
    double foot = TOP + ROW * (double)view->plan->n_windows;
    const struct picture picture = {xml, &drawn, {0.0, end_s + 0.5}, foot, foot};
    char *words = plan_text(view);
    sl_svg_begin(xml, foot + FOOT, "The approach over time", words);
    free(words);
    add_seconds(&picture);
    add_metres(&picture);
    for (size_t i = 0; i < view->plan->n_windows; i++) {
        double y = TOP + ROW * (double)i;
        char *wanted = sl_plan_wanted(view, i);
        sl_svg_text(xml, 8.0, y + 24.0, "head", view->routine->phases[i].title);
        add_window(&picture, i, y);
        add_words(&picture, view->plan->windows[i].opens_s, y + 45.0, wanted == NULL ? "" : wanted);
        free(wanted);
    }
    sl_xml_end(xml);
}

enum sl_status sl_timeline_svg(const struct sl_mark_view *view, const struct sl_envelope *wave,
                               char **svg, struct sl_error *error)
{
    struct sl_xml *xml = sl_xml_new();
    sl_timeline_add(xml, view, wave);
    return sl_xml_finish(xml, svg, error);
}
