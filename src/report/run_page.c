#include "report/run_page.h"

#include "core/settling.h"
#include "core/units.h"
#include "report/facts.h"
#include "report/mark_words.h"
#include "report/page.h"
#include "report/timeline.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void add_lead(struct sl_xml *page, const struct sl_mark *mark)
{
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "lead");
    sl_xml_begin(page, "p");
    sl_xml_begin(page, "strong");
    sl_xml_textf(page, "Score: %.0f of 100.", mark->scores.overall);
    sl_xml_end(page);
    sl_xml_textf(page, " Order %.0f, completeness %.0f, settings %.0f", mark->scores.order,
                 mark->scores.completeness, mark->scores.settings);
    if (mark->timed && !isnan(mark->scores.timing)) {
        sl_xml_textf(page, ", timing %.0f.", mark->scores.timing);
    } else {
        sl_xml_text(page, "; timing was not marked.");
    }
    sl_xml_end(page);
    sl_xml_begin(page, "p");
    sl_xml_element(page, "strong", "Next:");
    sl_xml_textf(page, " %s", mark->next == NULL ? "" : mark->next);
    sl_xml_end(page);
    sl_xml_end(page);
}

/* A path as a reference that can be nothing but a path (RFC 3986). */
static void add_reference(struct sl_xml *page, const char *path)
{
    static const char plain[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/";
    struct sl_str text = {0};
    sl_str_add(&text, "./");
    for (const char *at = path; *at != '\0'; at++) {
        if (strchr(plain, *at) != NULL) {
            sl_str_add_bytes(&text, at, 1);
        } else {
            sl_str_addf(&text, "%%%02X", (unsigned)(unsigned char)*at);
        }
    }
    sl_xml_attr(page, "src", sl_str_text(&text));
    sl_str_clear(&text);
}

static void add_sound(struct sl_xml *page, const char *sound)
{
    sl_xml_begin(page, "audio");
    sl_xml_attr(page, "controls", "controls");
    sl_xml_attr(page, "preload", "metadata");
    sl_xml_attr(page, "aria-label", "The recording");
    add_reference(page, sound);
    sl_xml_end(page);
}

static void add_picture(struct sl_xml *page, const struct sl_mark_view *view,
                        const struct sl_envelope *wave)
{
    sl_xml_begin(page, "figure");
    sl_page_box_begin(page, "The picture of the run");
    sl_timeline_add(page, view, wave);
    sl_page_box_end(page);
    sl_xml_element(
        page, "figcaption",
        view->mark->timed
            ? "Pale bars: when each phase may be said; the upright stroke in it: when it "
              "is due. Strong bars: when it was said. Numbers: the faults below. The "
              "table says the same."
            : "Bars: when each phase was said. Numbers: the faults below. The table says "
              "the same.");
    sl_xml_end(page);
}

static void add_row(struct sl_xml *page, const struct sl_mark_view *view, size_t phase)
{
    const struct sl_phase_mark *mark = &view->mark->phases[phase];
    const struct sl_window *window = &view->plan->windows[phase];
    enum sl_tint tint = SL_TINT_NONE;
    char *due = sl_strf("%.1f to %.1f", window->opens_s, window->closes_s);
    char *metres = sl_strf("%.0f to %.0f", fabs(window->opens_m), fabs(window->closes_m));
    char *at = isnan(mark->at_s) ? sl_strdup("-") : sl_strf("%.1f", mark->at_s);
    char *said = sl_mark_said(view, phase);
    char *verdict = sl_mark_verdict(view->mark, phase, &tint);
    const char *title = view->routine->phases[phase].title;
    if (view->mark->timed) {
        const char *texts[] = {title, verdict, at, said, due, metres};
        sl_page_row(page, texts, 6, 1, tint);
    } else {
        const char *texts[] = {title, verdict, at, said};
        sl_page_row(page, texts, 4, 1, tint);
    }
    free(due);
    free(metres);
    free(at);
    free(said);
    free(verdict);
}

static void add_phases(struct sl_xml *page, const struct sl_mark_view *view)
{
    static const char *const timed[] = {"Phase",          "Verdict", "Said (s)",
                                        "What was heard", "Due (s)", "Due (m to the line)"};
    static const char *const untimed[] = {"Phase", "Verdict", "Said (s)", "What was heard"};
    const char *caption = "Each phase: when it was due, when it was said, and the verdict";
    if (view->mark->timed) {
        sl_page_table_begin(page, caption, timed, 6);
    } else {
        sl_page_table_begin(page, "Each phase: when it was said, and the verdict", untimed, 4);
    }
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        add_row(page, view, i);
    }
    sl_page_table_end(page);
}

static void add_fault(struct sl_xml *page, const struct sl_mark_view *view,
                      const struct sl_fault *fault)
{
    sl_xml_begin(page, "li");
    sl_xml_begin(page, "p");
    sl_xml_begin(page, "span");
    sl_xml_attr(page, "class", fault->kind == SL_FAULT_UNCLEAR ? "unsure" : "bad");
    struct sl_str name = {0};
    sl_text_code(&name, sl_fault_word(fault->kind));
    sl_xml_textf(page, "%s, %s:", view->routine->phases[fault->phase].title, sl_str_text(&name));
    sl_str_clear(&name);
    sl_xml_end(page);
    sl_xml_textf(page, " %s", fault->what == NULL ? "" : fault->what);
    sl_xml_end(page);
    sl_xml_begin(page, "p");
    sl_xml_attr(page, "class", "why");
    sl_xml_textf(page, "Why: %s", fault->reason == NULL ? "" : fault->reason);
    sl_xml_end(page);
    sl_xml_end(page);
}

/* The faults, or what is unclear instead; without any, nothing, or that there are none. */
static void add_faults(struct sl_xml *page, const struct sl_mark_view *view, bool unclear)
{
    size_t n = 0;
    for (size_t i = 0; i < view->mark->n_faults; i++) {
        const struct sl_fault *fault = &view->mark->faults[i];
        if ((fault->kind == SL_FAULT_UNCLEAR) != unclear) {
            continue;
        }
        if (n++ == 0) {
            sl_xml_element(page, "h2", unclear ? "Unclear, which is no fault" : "Faults");
            sl_xml_begin(page, "ol");
        }
        add_fault(page, view, fault);
    }
    if (n > 0) {
        sl_xml_end(page);
    } else if (!unclear) {
        sl_xml_element(page, "h2", "Faults");
        sl_xml_element(page, "p", "None.");
    }
}

static void add_corrections(struct sl_xml *page, const struct sl_mark_view *view)
{
    for (size_t i = 0; i < view->mark->n_phases; i++) {
        const struct sl_phase_mark *mark = &view->mark->phases[i];
        char *text = NULL;
        if (mark->corrected) {
            text = sl_mark_correction(view, i);
            sl_page_fact(page, "Corrected", text);
        }
        free(text);
        if (mark->settled != SL_SETTLED_NOT) {
            char *settled = sl_strf("%s %s, by the instructor", view->routine->phases[i].title,
                                    sl_settled_word(mark->settled));
            sl_page_fact(page, "Settled", settled);
            free(settled);
        }
    }
}

static void add_facts(struct sl_xml *page, const struct sl_mark_view *view)
{
    struct sl_str text = {0};
    sl_xml_element(page, "h2", "The run");
    sl_page_facts_begin(page);
    sl_str_addf(&text, "%s (%.1f s)", sl_base_name(view->file), view->levels->duration_s);
    sl_page_fact(page, "Recording", sl_str_text(&text));
    sl_str_clear(&text);
    sl_fact_name(&text, view->junction);
    sl_page_fact(page, "Junction", sl_str_text(&text));
    sl_str_clear(&text);
    sl_fact_kind(&text, view->junction, view->plan);
    sl_page_fact(page, "Kind", sl_str_text(&text));
    sl_str_clear(&text);
    sl_mark_plan(&text, view);
    sl_page_fact(page, "Plan", sl_str_text(&text));
    sl_str_clear(&text);
#define ADD_NOTICE(code, bit, word, what)                                                          \
    if ((view->levels->notices & (unsigned)(code)) != 0) {                                         \
        sl_page_fact(page, "Sound", what);                                                         \
    }
    SL_NOTICE_MAP(ADD_NOTICE)
#undef ADD_NOTICE
    add_corrections(page, view);
    sl_page_facts_end(page);
}

enum sl_status sl_run_page(const struct sl_mark_view *view, const struct sl_envelope *wave,
                           const char *sound, char **html, struct sl_error *error)
{
    struct sl_str title = {0};
    sl_str_addf(&title, "A run at %s",
                view->junction->title != NULL  ? view->junction->title
                : view->junction->name != NULL ? view->junction->name
                                               : "a junction");
    struct sl_xml *page = sl_page_begin(sl_str_text(&title));
    sl_str_clear(&title);
    add_lead(page, view->mark);
    if (sound != NULL) {
        add_sound(page, sound);
    }
    add_picture(page, view, wave);
    sl_xml_element(page, "h2", "Phase by phase");
    add_phases(page, view);
    add_faults(page, view, false);
    add_faults(page, view, true);
    add_facts(page, view);
    return sl_page_finish(page, html, error);
}
