#include "report/drive_text.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define COLUMNS 6
#define TABLE_LEAST 72 /* columns under which phrases are listed one fact a line */

/* Adds a fact whose text is `add`ed. */
static void add_fact(struct sl_str *out, const char *label, struct sl_str *text, int width)
{
    sl_fact(out, label, sl_str_text(text), width);
    out->failed = out->failed || text->failed;
    sl_str_clear(text);
}

static void add_about(struct sl_str *out, const struct sl_drive_view *view, int width)
{
    const struct sl_task *task = view->driving->task;
    const struct sl_car *car = view->driving->car;
    struct sl_str text = {0};
    sl_fact_junction(out, task->junction, task->plan, width);
    sl_fact(out, "Car:", car->title != NULL ? car->title : car->name, width);
    if (view->others != NULL) {
        sl_drive_others(&text, view);
        add_fact(out, "Others:", &text, width);
    }
    sl_drive_planned(&text, view);
    add_fact(out, "Planned:", &text, width);
}

static void add_row(struct sl_str *out, const char *const *texts, enum sl_tint tint,
                    const struct sl_style *style)
{
    struct sl_cell cells[COLUMNS] = {
        {.text = texts[0], .columns = 6, .right = true},
        {.text = texts[1], .columns = 8, .right = true},
        {.text = texts[2], .columns = 6, .right = true},
        {.text = texts[3], .columns = 6, .right = true},
        {.text = texts[4], .columns = 7},
        {.text = texts[5], .columns = style->width - 43},
    };
    for (size_t i = 0; i < COLUMNS; i++) {
        cells[i].tint = tint;
    }
    sl_text_row(out, cells, COLUMNS, style->colour);
}

static void list_phrase(struct sl_str *out, const struct sl_drive_phrase *phrase, const char *said,
                        int width)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%.1f s, %.0f m to the line, %.0f mph, %.0f rpm: %s", phrase->at_s,
                phrase->car.distance_m, sl_mph_from_mps(phrase->car.speed_mps),
                phrase->car.engine_rpm, said);
    sl_text_fact(out, "  ", sl_str_text(&text), width);
    sl_str_clear(&text);
}

/* The car at every phrase. */
static void add_phrases(struct sl_str *out, const struct sl_drive_view *view,
                        const struct sl_style *style)
{
    static const char *const headings[COLUMNS] = {"At (s)", "Line (m)", "mph",
                                                  "rpm",    "Gear",     "What was said"};
    struct sl_drive_phrase phrase;
    size_t next = 0;
    bool table = style->width >= TABLE_LEAST;
    if (table) {
        add_row(out, headings, SL_TINT_HEADING, style);
    }
    while (sl_drive_next_phrase(view, &next, &phrase)) {
        char *at = sl_strf("%.1f", phrase.at_s);
        char *metres = sl_strf("%.0f", phrase.car.distance_m);
        char *mph = sl_strf("%.0f", sl_mph_from_mps(phrase.car.speed_mps));
        char *rpm = sl_strf("%.0f", phrase.car.engine_rpm);
        char *said = sl_strf("%s%s", phrase.heard->text,
                             phrase.heard->unclear ? " (unclear: the car did nothing)" : "");
        const char *gear = phrase.car.gear == 0 ? "between" : sl_gear_ordinal(phrase.car.gear);
        if (table) {
            const char *const texts[COLUMNS] = {at, metres, mph, rpm, gear, said};
            add_row(out, texts, SL_TINT_NONE, style);
        } else {
            list_phrase(out, &phrase, said == NULL ? "" : said, style->width);
        }
        free(at);
        free(metres);
        free(mph);
        free(rpm);
        free(said);
    }
}

static void add_consequences(struct sl_str *out, const struct sl_drive_view *view,
                             const struct sl_style *style)
{
    if (view->drive->n_consequences == 0) {
        sl_text_tinted(out, SL_DRIVE_AS_PLANNED, SL_TINT_GOOD, style->colour);
        sl_str_add(out, "\n");
        return;
    }
    sl_text_tinted(out, "What came of the words", SL_TINT_HEADING, style->colour);
    sl_str_add(out, "\n");
    for (size_t i = 0; i < view->drive->n_consequences; i++) {
        const char *reason = view->drive->consequences[i].reason;
        struct sl_str text = {0};
        struct sl_str label = {0};
        sl_str_addf(&label, "%3zu. ", i + 1);
        sl_drive_consequence(&text, view, i);
        sl_text_fact(out, sl_str_text(&label), sl_str_text(&text), style->width);
        sl_text_fact(out, "     Why: ", reason == NULL ? "" : reason, style->width);
        out->failed = out->failed || text.failed || label.failed;
        sl_str_clear(&text);
        sl_str_clear(&label);
    }
}

void sl_report_drive(struct sl_str *out, const struct sl_drive_view *view,
                     const struct sl_style *style)
{
    const struct sl_style fit = {.colour = style->colour, .width = sl_fact_width(style->width)};
    struct sl_str text = {0};
    sl_fact(out, "File:", view->file, fit.width);
    if (!style->brief) {
        add_about(out, view, fit.width);
    }
    sl_drive_end(&text, view);
    add_fact(out, "The end:", &text, fit.width);
    sl_str_add(out, "\n");
    if (!style->brief) {
        add_phrases(out, view, &fit);
        sl_str_add(out, "\n");
    }
    add_consequences(out, view, &fit);
    sl_str_add(out, "\n");
    sl_drive_one(&text, view);
    add_fact(out, "Change:", &text, fit.width);
    if (!style->brief) {
        sl_str_add(out, "\n");
        sl_fact_caution(out, fit.width);
    }
}
