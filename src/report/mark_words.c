#include "report/mark_words.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"

#include <stdlib.h>

char *sl_mark_said(const struct sl_mark_view *view, size_t phase)
{
    const struct sl_phase_mark *mark = &view->mark->phases[phase];
    if (!mark->heard && !mark->unclear) {
        return sl_strdup("(not heard)");
    }
    struct sl_str text = {0};
    for (size_t i = 0; i < view->heard->count; i++) {
        const struct sl_heard *heard = &view->heard->items[i];
        double at_s = heard->start_s - view->from_s;
        bool ours = heard->phase == phase || heard->phase == SL_PHRASE_CORRECTION;
        if (ours && at_s >= mark->at_s - 1e-6 && at_s < mark->end_s) {
            sl_str_addf(&text, "%s%s", text.length > 0 ? " " : "", heard->text);
        }
    }
    if (text.length > 0) {
        return sl_str_take(&text);
    }
    sl_str_clear(&text);
    return sl_settings_words(&mark->said);
}

static enum sl_tint tint_of(enum sl_fault_kind kind)
{
    return kind == SL_FAULT_UNCLEAR ? SL_TINT_UNSURE : SL_TINT_BAD;
}

char *sl_mark_verdict(const struct sl_mark *mark, size_t phase, enum sl_tint *tint)
{
    struct sl_str text = {0};
    *tint = SL_TINT_NONE;
    unsigned named = 0;
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        unsigned bit = 1U << (unsigned)fault->kind;
        if (fault->phase != phase || (named & bit) != 0) {
            continue;
        }
        named |= bit;
        sl_str_add(&text, text.length > 0 ? ", " : "");
        sl_text_code(&text, sl_fault_word(fault->kind));
        *tint = *tint == SL_TINT_BAD ? SL_TINT_BAD : tint_of(fault->kind);
    }
    if (text.length == 0) {
        bool corrected = mark->phases[phase].corrected;
        sl_str_add(&text, corrected ? "right, corrected" : "right");
        *tint = SL_TINT_GOOD;
    }
    if (mark->phases[phase].settled != SL_SETTLED_NOT) {
        sl_str_add(&text, ", settled");
    }
    return sl_str_take(&text);
}

char *sl_mark_correction(const struct sl_mark_view *view, size_t phase)
{
    const struct sl_phase_mark *mark = &view->mark->phases[phase];
    char *before = sl_settings_words(&mark->first_said);
    char *after = sl_settings_words(&mark->said);
    char *text = sl_strf("%s: first \"%s\", put right in time to \"%s\"; that counts.",
                         view->routine->phases[phase].title, before == NULL ? "" : before,
                         after == NULL ? "" : after);
    free(before);
    free(after);
    return text;
}

void sl_mark_plan(struct sl_str *out, const struct sl_mark_view *view)
{
    const struct sl_plan *plan = view->plan;
    sl_str_addf(out, "%.0f mph down to %.0f mph in %s gear", sl_mph_from_mps(plan->approach_mps),
                sl_mph_from_mps(plan->target_mps), sl_gear_ordinal(plan->gear));
    if (view->mark->timed) {
        sl_str_addf(out, "; announced %.0f m before the line, at the line after %.1f s",
                    plan->distance_m, plan->line_s);
    }
}
