#include "report/drive_page.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/drive_picture.h"
#include "report/facts.h"
#include "report/page.h"

#include <stdlib.h>

/* An element with what `add` adds. */
static void add_words(struct sl_xml *page, const char *term,
                      void (*add)(struct sl_str *, const struct sl_drive_view *),
                      const struct sl_drive_view *view)
{
    struct sl_str text = {0};
    add(&text, view);
    sl_xml_begin(page, "p");
    sl_xml_element(page, "strong", term);
    sl_xml_textf(page, " %s", sl_str_text(&text));
    sl_xml_end(page);
    sl_str_clear(&text);
}

static void add_lead(struct sl_xml *page, const struct sl_drive_view *view)
{
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "lead");
    add_words(page, "The end:", sl_drive_end, view);
    add_words(page, "Planned:", sl_drive_planned, view);
    add_words(page, "One change:", sl_drive_one, view);
    sl_xml_end(page);
}

static void add_picture(struct sl_xml *page, const struct sl_drive_view *view)
{
    sl_xml_begin(page, "figure");
    sl_page_box_begin(page, "The picture of the drive");
    sl_drive_picture_add(page, view);
    sl_page_box_end(page);
    sl_xml_element(page, "figcaption",
                   "Strong curves: the car; dashed: the plan. Uprights: when something was said, "
                   "and the line. The table says the same.");
    sl_xml_end(page);
}

static void add_phrases(struct sl_xml *page, const struct sl_drive_view *view)
{
    static const char *const headings[] = {"What was said", "At (s)",       "To the line (m)",
                                           "Speed (mph)",   "Engine (rpm)", "Gear"};
    struct sl_drive_phrase phrase;
    size_t next = 0;
    sl_page_table_begin(page, "Where the car was at each phrase", headings, 6);
    while (sl_drive_next_phrase(view, &next, &phrase)) {
        char *said = sl_strf("%s%s", phrase.heard->text,
                             phrase.heard->unclear ? " (unclear: the car did nothing)" : "");
        char *at = sl_strf("%.1f", phrase.at_s);
        char *metres = sl_strf("%.0f", phrase.car.distance_m);
        char *mph = sl_strf("%.0f", sl_mph_from_mps(phrase.car.speed_mps));
        char *rpm = sl_strf("%.0f", phrase.car.engine_rpm);
        const char *gear = phrase.car.gear == 0 ? "between two" : sl_gear_ordinal(phrase.car.gear);
        const char *texts[] = {said, at, metres, mph, rpm, gear};
        sl_page_row(page, texts, 6, 0, SL_TINT_NONE);
        free(said);
        free(at);
        free(metres);
        free(mph);
        free(rpm);
    }
    sl_page_table_end(page);
}

static void add_consequences(struct sl_xml *page, const struct sl_drive_view *view)
{
    sl_xml_element(page, "h2", "What came of the words");
    if (view->drive->n_consequences == 0) {
        sl_xml_element(page, "p", SL_DRIVE_AS_PLANNED);
        return;
    }
    sl_xml_begin(page, "ol");
    for (size_t i = 0; i < view->drive->n_consequences; i++) {
        const char *reason = view->drive->consequences[i].reason;
        struct sl_str text = {0};
        sl_drive_consequence(&text, view, i);
        sl_xml_begin(page, "li");
        sl_xml_element(page, "p", sl_str_text(&text));
        sl_xml_begin(page, "p");
        sl_xml_attr(page, "class", "why");
        sl_xml_textf(page, "Why: %s", reason == NULL ? "" : reason);
        sl_xml_end(page);
        sl_xml_end(page);
        sl_str_clear(&text);
    }
    sl_xml_end(page);
}

static void add_facts(struct sl_xml *page, const struct sl_drive_view *view)
{
    const struct sl_task *task = view->driving->task;
    const struct sl_car *car = view->driving->car;
    struct sl_str text = {0};
    sl_xml_element(page, "h2", "The drive");
    sl_page_facts_begin(page);
    sl_page_fact(page, "Recording", sl_base_name(view->file)); /* pages are handed on */
    sl_fact_name(&text, task->junction);
    sl_page_fact(page, "Junction", sl_str_text(&text));
    sl_str_clear(&text);
    sl_fact_kind(&text, task->junction, task->plan);
    sl_page_fact(page, "Kind", sl_str_text(&text));
    sl_str_clear(&text);
    sl_page_fact(page, "Car", car->title != NULL ? car->title : car->name);
    if (view->others != NULL) {
        sl_drive_others(&text, view);
        sl_page_fact(page, "Others", sl_str_text(&text));
        sl_str_clear(&text);
    }
    sl_page_facts_end(page);
}

enum sl_status sl_drive_page(const struct sl_drive_view *view, char **html, struct sl_error *error)
{
    const struct sl_junction *junction = view->driving->task->junction;
    char *title = sl_strf("A drive to %s", junction->title != NULL  ? junction->title
                                           : junction->name != NULL ? junction->name
                                                                    : "a junction");
    struct sl_xml *page = sl_page_begin(title);
    free(title);
    add_lead(page, view);
    add_picture(page, view);
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "close");
    sl_xml_element(page, "h2", "Phrase by phrase");
    add_phrases(page, view);
    add_consequences(page, view);
    add_facts(page, view);
    sl_xml_end(page);
    return sl_page_finish(page, html, error);
}
