#include "report/drive_picture.h"

#include "core/units.h"
#include "report/svg.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define TOP 20.0     /* of the words */
#define WORDS_ROWS 4 /* phrases stand below one another in turn, so that none hides another */
#define WORDS_ROW 18.0
#define WORDS_MOST 26
#define PANEL 80.0 /* height of a curve's panel */
#define GAP 22.0
#define FOOT 44.0
#define STEPS_PER_POINT 2 /* samples to a point of a curve */

#define LETTER 7.0 /* about as wide as a letter */

struct picture {
    struct sl_xml *xml;
    const struct sl_drive_view *view;
    double to_s;
    double panels; /* y of the first */
    double foot;
};

/* One curve of the car and of the plan. */
struct panel {
    const char *title, *unit;
    double (*car)(const struct sl_drive_sample *sample);
    double (*planned)(const struct sl_drive_view *view, double at_s);
};

static double car_mph(const struct sl_drive_sample *sample)
{
    return sl_mph_from_mps(sample->speed_mps);
}

static double car_rpm(const struct sl_drive_sample *sample)
{
    return sample->engine_rpm;
}

static double car_m(const struct sl_drive_sample *sample)
{
    return fmax(sample->distance_m, 0.0);
}

static double planned_mph(const struct sl_drive_view *view, double at_s)
{
    return sl_mph_from_mps(sl_plan_speed_mps(view->driving->task->plan, at_s));
}

/* Of the plan's gear once it is in; of the gear that the car came in until then. */
static double planned_rpm(const struct sl_drive_view *view, double at_s)
{
    const struct sl_plan *plan = view->driving->task->plan;
    const struct sl_car *car = view->driving->car;
    int gear =
        at_s >= plan->rolling_from_s ? plan->gear : sl_feet_approach_gear(car, plan->approach_mps);
    return fmax(sl_engine_rpm(car, sl_plan_speed_mps(plan, at_s), gear), car->idle_rpm);
}

static double planned_m(const struct sl_drive_view *view, double at_s)
{
    return sl_plan_distance_m(view->driving->task->plan, at_s);
}

static const struct panel panels[] = {
    {"Speed", "mph", car_mph, planned_mph},
    {"Engine", "rpm", car_rpm, planned_rpm},
    {"To the line", "m", car_m, planned_m},
};

#define N_PANELS (sizeof panels / sizeof panels[0])

static double x_at(const struct picture *picture, double at_s)
{
    return SL_SVG_LEFT + at_s / picture->to_s * (SL_SVG_RIGHT - SL_SVG_LEFT);
}

static void add_path(const struct picture *picture, const char *class, struct sl_str *path)
{
    sl_xml_begin(picture->xml, "path");
    sl_xml_attr(picture->xml, "class", class);
    sl_xml_attr(picture->xml, "d", sl_str_text(path));
    sl_xml_end(picture->xml);
    sl_str_clear(path);
}

static double highest(const struct picture *picture, const struct panel *panel)
{
    const struct sl_drive *drive = picture->view->drive;
    double most = panel->planned(picture->view, 0.0);
    for (size_t i = 0; i < drive->n_samples; i++) {
        most = fmax(most, panel->car(&drive->samples[i]));
    }
    return most;
}

static void add_panel(const struct picture *picture, size_t index)
{
    const struct panel *panel = &panels[index];
    const struct sl_drive *drive = picture->view->drive;
    double foot = picture->panels + (PANEL + GAP) * (double)index + PANEL;
    double most = highest(picture, panel);
    double scale = PANEL / fmax(most * 1.05, 1e-9);
    struct sl_str car = {0};
    struct sl_str planned = {0};
    char *label = sl_strf("up to %.0f %s", most, panel->unit);
    sl_svg_text(picture->xml, 8.0, foot - PANEL + 14.0, "head", panel->title);
    sl_svg_text(picture->xml, 8.0, foot - PANEL + 31.0, "soft", label);
    free(label);
    for (size_t i = 0; i < drive->n_samples; i += STEPS_PER_POINT) {
        const struct sl_drive_sample *sample = &drive->samples[i];
        double x = x_at(picture, sample->time_s);
        sl_str_addf(&car, "%s%.1f %.1f", i == 0 ? "M" : "L", x, foot - scale * panel->car(sample));
        if (sample->time_s <= picture->view->driving->task->plan->line_s) {
            sl_str_addf(&planned, "%s%.1f %.1f", i == 0 ? "M" : "L", x,
                        foot - scale * panel->planned(picture->view, sample->time_s));
        }
    }
    add_path(picture, "planned", &planned);
    add_path(picture, "driven", &car);
}

static void add_words(const struct picture *picture)
{
    struct sl_drive_phrase phrase;
    size_t next = 0;
    size_t row = 0;
    while (sl_drive_next_phrase(picture->view, &next, &phrase)) {
        const char *text = phrase.heard->text;
        const char *rest = text;
        size_t length = sl_text_line(text, WORDS_MOST, &rest);
        char *shown = sl_strf("%.*s%s", (int)length, text, *rest == '\0' ? "" : " ...");
        double x = x_at(picture, fmin(phrase.at_s, picture->to_s));
        double y = TOP + WORDS_ROW * (double)row;
        row = (row + 1) % WORDS_ROWS;
        double wide = LETTER * (double)sl_text_columns(shown == NULL ? "" : shown);
        bool fits = x + wide <= SL_SVG_RIGHT;
        sl_svg_upright(picture->xml, x, y + 3.0, picture->foot, "due");
        sl_svg_text(picture->xml, fits ? x + 4.0 : x - 4.0, y,
                    phrase.heard->unclear ? (fits ? "unsure" : "unsure end")
                                          : (fits ? "words" : "words end"),
                    shown);
        free(shown);
    }
}

static void add_seconds(const struct picture *picture)
{
    double step_s = picture->to_s > 60.0 ? 10.0 : 5.0;
    long last = lround(floor(picture->to_s / step_s));
    for (long i = 0; i <= last; i++) {
        double at_s = step_s * (double)i;
        char *label = sl_strf("%.0f s", at_s);
        sl_svg_upright(picture->xml, x_at(picture, at_s), picture->panels, picture->foot, "grid");
        sl_svg_text(picture->xml, x_at(picture, at_s), picture->foot + 16.0, "soft mid", label);
        free(label);
    }
    sl_svg_text(picture->xml, SL_SVG_RIGHT, picture->foot + 34.0, "soft end",
                "seconds after the announcement; strong: the car, dashed: the plan");
    const struct sl_arrival *arrival = &picture->view->drive->arrival;
    if (arrival->reached) {
        double x = x_at(picture, arrival->line_s);
        sl_svg_upright(picture->xml, x, picture->panels, picture->foot, "line");
        sl_svg_text(picture->xml, x, picture->panels - 4.0, "head mid", "line");
    }
}

static void begin_picture(const struct picture *picture)
{
    struct sl_str words = {0};
    struct sl_drive_phrase phrase;
    size_t next = 0;
    while (sl_drive_next_phrase(picture->view, &next, &phrase)) {
        sl_str_addf(&words, "At %.1f s, %.0f m before the line at %.0f mph: %s. ", phrase.at_s,
                    phrase.car.distance_m, sl_mph_from_mps(phrase.car.speed_mps),
                    phrase.heard->text);
    }
    sl_drive_end(&words, picture->view);
    sl_svg_begin(picture->xml, picture->foot + FOOT, "The drive over time", sl_str_text(&words));
    sl_str_clear(&words);
}

void sl_drive_picture_add(struct sl_xml *xml, const struct sl_drive_view *view)
{
    const struct sl_drive *drive = view->drive;
    double first = TOP + WORDS_ROW * (double)WORDS_ROWS + 6.0;
    struct picture picture = {.xml = xml,
                              .view = view,
                              .to_s = fmax(drive->samples[drive->n_samples - 1].time_s, 1.0),
                              .panels = first,
                              .foot = first - GAP};
    for (size_t i = 0; i < N_PANELS; i++) {
        picture.foot += PANEL + GAP;
    }
    begin_picture(&picture);
    add_seconds(&picture);
    for (size_t i = 0; i < N_PANELS; i++) {
        add_panel(&picture, i);
    }
    add_words(&picture);
    sl_xml_end(xml);
}
