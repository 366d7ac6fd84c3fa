/*
 * Scores, 0 to 100 each. A phase is heard when a step counts for it, in its place or moved.
 *
 * order         100 x concordant pairs / pairs, over the pairs of phases heard: 50 (1 + tau), tau
 *               Kendall's rank correlation of place in the routine with place in what was said. An
 *               out-of-order fault that no pair of phases shows (mirrors in the wrong order) is one
 *               more discordant pair. With fewer than two phases heard no order was shown: 0,
 *               unless the routine has no second phase.
 * completeness  100 x (phases heard + unclear_share x phases unclear) / phases, less extra_penalty
 *               for each extra, not below 0; 0 when nothing at all was heard, not even unclearly. A
 *               signal that need not be mentioned counts as heard.
 * settings      100 x right / judged, over the settings of phases heard that were named or are
 *               required; 100 when there is nothing to judge. What the junction wants nothing of in
 *               particular is not judged, but for the decision: go and wait are then both right.
 * timing        100 x mean over phases heard of 1 inside the window, less outside / timing_zero_s,
 *               not below 0; outside is also the amount by which a rule of time is broken.
 * overall       the mean weighted by the routine's weights; timing left out of an untimed mark.
 * With no phase heard clearly, order, settings and timing are 0, and completeness is what unclear
 * phases earn.
 */
#include "core/marking_parts.h"
#include "core/statistics.h"

#include <math.h>

static double order_score(const struct sl_marking *marking)
{
    double place[SL_PHASE_MAX] = {0};
    double said[SL_PHASE_MAX] = {0};
    size_t n = 0;
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        if (marking->phases[phase].step != SL_STEP_NONE) {
            place[n] = (double)phase;
            said[n] = (double)marking->phases[phase].step;
            n++;
        }
    }
    struct sl_kendall kendall = sl_kendall(place, said, n);
    size_t wrong = kendall.discordant + marking->n_unpaired_orders;
    if (kendall.concordant + wrong == 0) {
        return n > 0 && marking->routine->n_phases == 1 ? 100 : 0;
    }
    return 100 * (double)kendall.concordant / (double)(kendall.concordant + wrong);
}

static double completeness_score(const struct sl_marking *marking)
{
    const struct sl_scoring *scoring = &marking->routine->scoring;
    double complete = 0;
    bool anything = false;
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        const struct sl_phase_state *state = &marking->phases[phase];
        bool heard = state->step != SL_STEP_NONE;
        complete += heard || state->waived ? 1 : 0;
        complete += sl_marking_unclear(marking, phase) ? scoring->unclear_share : 0;
        anything = anything || heard || (!state->waived && state->unclear != NULL);
    }
    double score = 100 * complete / (double)marking->routine->n_phases -
                   scoring->extra_penalty * (double)marking->n_extra;
    return anything ? fmin(fmax(score, 0), 100) : 0;
}

static size_t bits_in(unsigned set)
{
    size_t n = 0;
    for (; set != 0; set &= set - 1) {
        n++;
    }
    return n;
}

static double settings_score(const struct sl_marking *marking)
{
    size_t judged = 0;
    size_t right = 0;
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        const struct sl_step *step = sl_marking_step(marking, phase);
        if (step != NULL) {
            unsigned asked = sl_marking_judged(marking, phase);
            unsigned wrong = marking->phases[phase].wrong;
            bool settled = step->settled == SL_SETTLED_RIGHT;
            judged += bits_in(asked);
            right += bits_in(asked & ~wrong & (settled ? asked : sl_settings_named(&step->said)));
        }
    }
    return judged == 0 ? 100 : 100 * (double)right / (double)judged;
}

static double timing_score(const struct sl_marking *marking)
{
    double sum = 0;
    size_t n = 0;
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        const struct sl_phase_state *state = &marking->phases[phase];
        if (state->step != SL_STEP_NONE) {
            double zero_s = fmax(marking->routine->scoring.timing_zero_s, 1e-3);
            sum += fmax(1 - state->outside_s / zero_s, 0);
            n++;
        }
    }
    return n == 0 ? 0 : 100 * sum / (double)n;
}

static double overall_score(const struct sl_scores *scores, const struct sl_scoring *scoring)
{
    double sum = scoring->weight_order * scores->order +
                 scoring->weight_completeness * scores->completeness +
                 scoring->weight_settings * scores->settings;
    double weight = scoring->weight_order + scoring->weight_completeness + scoring->weight_settings;
    if (!isnan(scores->timing)) {
        sum += scoring->weight_timing * scores->timing;
        weight += scoring->weight_timing;
    }
    return weight > 0 ? sum / weight : 0;
}

void sl_marking_score(struct sl_marking *marking)
{
    struct sl_scores *scores = &marking->mark->scores;
    *scores = (struct sl_scores){.timing = marking->options->timed ? timing_score(marking) : NAN};
    scores->completeness = completeness_score(marking);
    if (marking->n_steps > 0) {
        scores->order = order_score(marking);
        scores->settings = settings_score(marking);
    }
    scores->overall = overall_score(scores, &marking->routine->scoring);
}
