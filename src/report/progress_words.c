#include "report/progress_words.h"

#include <math.h>
#include <stdlib.h>

char *sl_progress_share(const struct sl_share *share, const struct sl_interval *range)
{
    if (share->of == 0) {
        return sl_strdup("-");
    }
    return range == NULL ? sl_strf("%zu of %zu", share->hits, share->of)
                         : sl_strf("%zu of %zu (%.0f to %.0f %%)", share->hits, share->of,
                                   100 * range->low, 100 * range->high);
}

const char *sl_progress_trend(enum sl_trend trend)
{
    static const char *const texts[] = {"too few to say", "no clear change", "better", "worse"};
    return texts[trend];
}

enum sl_tint sl_progress_trend_tint(enum sl_trend trend)
{
    return trend == SL_TREND_BETTER  ? SL_TINT_GOOD
           : trend == SL_TREND_WORSE ? SL_TINT_BAD
                                     : SL_TINT_NONE;
}

char *sl_progress_rolling(const struct sl_progress_view *view)
{
    const struct sl_spread *lately = &view->progress->rolling_lately;
    const struct sl_spread *before = &view->progress->rolling_before;
    struct sl_str text = {0};
    if (lately->n == 0) {
        return sl_strdup("");
    }
    sl_str_addf(&text,
                "%.1f s were kept for looking and deciding lately (the middle half: %.1f to "
                "%.1f s)",
                lately->median, lately->low, lately->high);
    if (before->n > 0) {
        sl_str_addf(&text, ", %.1f s before", before->median);
    }
    sl_str_addf(&text, "; at least %.0f s are wanted.", view->routine->timing.rolling_s);
    return sl_str_take(&text);
}

static void add_times(struct sl_str *text, size_t times, size_t of)
{
    if (of == 1) {
        sl_str_add(text, "in the last run");
    } else {
        sl_str_addf(text, "in %zu of the last %zu runs", times, of);
    }
}

char *sl_progress_unclear(const struct sl_progress_view *view)
{
    const struct sl_share *lately = &view->progress->faults[SL_FAULT_UNCLEAR].lately;
    if (lately->hits == 0) {
        return sl_strdup("");
    }
    struct sl_str text = {0};
    sl_str_add(&text, "something could not be made out ");
    add_times(&text, lately->hits, lately->of);
    sl_str_add(&text, ". That is no fault; `sayline soundcheck` tells whether the microphone is "
                      "right.");
    return sl_str_take(&text);
}

char *sl_progress_recall(const struct sl_progress_view *view)
{
    const struct sl_course *recall = view->recall;
    if (recall->lately.of == 0) {
        return sl_strdup("");
    }
    char *lately = sl_progress_share(&recall->lately, &recall->range);
    char *text = sl_strf("%s answers right lately; %s.", lately == NULL ? "" : lately,
                         sl_progress_trend(recall->trend));
    free(lately);
    return text;
}

/* To a tenth of a second, and never "-0.0". */
static double tenths(double value_s)
{
    return round(10 * value_s) / 10 + 0.0;
}

char *sl_progress_half(const struct sl_spread *spread)
{
    return spread->n == 0 ? sl_strdup("-")
                          : sl_strf("%+.1f to %+.1f", tenths(spread->low), tenths(spread->high));
}

char *sl_progress_middle(const struct sl_spread *spread)
{
    return spread->n == 0 ? sl_strdup("-") : sl_strf("%+.1f", tenths(spread->median));
}

char *sl_progress_none(const struct sl_progress_view *view)
{
    return sl_strf("No run of %s with the routine %s is in the history yet. Every run of `sayline "
                   "rehearse` and of `sayline drive JUNCTION` goes there by itself; `sayline mark "
                   "--keep` adds a recording.",
                   view->learner, view->routine->name);
}

char *sl_progress_next(const struct sl_progress_view *view)
{
    const struct sl_next *next = &view->progress->next;
    struct sl_str text = {0};
    if (next->why == SL_NEXT_FAULT) {
        const struct sl_phase *phase = &view->routine->phases[next->phase];
        const char *reason = phase->why[next->fault] != NULL ? phase->why[next->fault]
                                                             : view->routine->why[next->fault];
        sl_str_addf(&text, "%s: ", phase->title);
        sl_text_code(&text, sl_fault_word(next->fault));
        sl_str_add(&text, " ");
        add_times(&text, next->times, view->progress->n_lately);
        sl_str_addf(&text, ", the commonest fault. %s", reason == NULL ? "" : reason);
    } else {
        sl_str_addf(&text,
                    "%s, %s view: there was no fault lately, and this kind of junction was "
                    "practised least (runs so far: %zu).",
                    sl_kind_title(next->kind), sl_view_word(next->view), next->times);
    }
    return sl_str_take(&text);
}

char *sl_progress_prompting(const struct sl_progress *progress)
{
    static const char *const levels[] = {"full", "partial", "none"};
    struct sl_str text = {0};
    switch (progress->ready) {
    case SL_READY_NONE:
        return sl_strdup("");
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
    return sl_str_take(&text);
}

char *sl_progress_runs(const struct sl_progress_view *view)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%zu of %s", view->progress->n_runs, view->routine->name);
    if (view->progress->n_driven > 0) {
        sl_str_addf(&text, ", %zu of them driven", view->progress->n_driven);
    }
    sl_str_addf(
        &text,
        ". \"Lately\" is the last %d of them that tell something, \"before\" is all earlier "
        "ones. The figures in brackets say how sure that is: the real share is between them "
        "95 times in 100.",
        SL_PROGRESS_LATELY);
    return sl_str_take(&text);
}
