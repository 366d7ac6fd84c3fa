/*
 * From phrases to steps.
 *
 * A clear phrase joins the step before it when both are of one phase and no clear phrase of another
 * phase came between. In that step
 *   - a setting named anew with another value replaces the former: a correction in time, with or
 *     without a word of correction between;
 *   - mirrors are joined ("interior mirror, left mirror"); after a word of correction they replace
 *     those named before, except that an interior mirror stays when only a door mirror is named
 *     anew ("interior and left, no, right");
 *   - "wait" and then "go" without a word of correction is no correction: it is waiting first, and
 *     right where either is wanted;
 *   - the same values again are a repeat and change nothing.
 * Once another phase has begun it is too late: what is said is a new step of its phase, which the
 * alignment counts or calls extra, and the first said stays. One exception: in a timed mark, after
 * a word of correction and still inside the phase's window, a step that changes or completes the
 * settings of an earlier step of its phase corrects that step, whose times stay as they were.
 *
 * A word of correction holds for the next phrase of the routine, clear or not. Unclear phrases make
 * no step, correct nothing and part nothing; unclear words of correction count as not said.
 */
#include "core/marking_parts.h"

#include <math.h>

/* What is remembered from phrase to phrase. */
struct reader {
    struct sl_marking *marking;
    size_t current; /* the step spoken into last */
    bool corrects;  /* a word of correction came since the last phrase */
    double from_s;
};

/* The values of `now` that stand against another value in `before`, mirrors left out. */
static unsigned contradicted(const struct sl_settings *before, const struct sl_settings *now)
{
    unsigned both = sl_settings_named(before) & sl_settings_named(now) & ~(unsigned)SL_SET_MIRRORS;
    unsigned contradicted = 0;
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        struct sl_settings a = sl_settings_only(before, both & bit);
        struct sl_settings b = sl_settings_only(now, both & bit);
        contradicted |= sl_settings_equal(&a, &b) ? 0 : bit;
    }
    return contradicted;
}

static bool names_mirror(const struct sl_settings *settings, enum sl_mirror mirror)
{
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (settings->mirrors[i] == mirror) {
            return true;
        }
    }
    return false;
}

/* Takes the mirrors out of `said`, but for the interior one where only door mirrors come anew. */
static void drop_mirrors(struct sl_settings *said, const struct sl_settings *anew)
{
    bool keep = names_mirror(said, SL_MIRROR_INTERIOR) && !names_mirror(anew, SL_MIRROR_INTERIOR);
    said->n_mirrors = 0;
    if (keep) {
        sl_settings_add_mirror(said, SL_MIRROR_INTERIOR);
    }
}

/* Joins what a phrase names to a step. */
static void join(struct sl_step *step, const struct sl_settings *anew, bool corrects)
{
    const struct sl_settings before = step->said;
    unsigned against = contradicted(&before, anew);
    if (!corrects && before.decision == SL_DECISION_WAIT && anew->decision == SL_DECISION_GO) {
        step->waited = true;
        against &= ~(unsigned)SL_SET_DECISION;
    } else if (anew->decision == SL_DECISION_WAIT) {
        step->waited = false;
    }
    bool changed = against != 0;
    bool replaces = corrects && anew->n_mirrors > 0 && before.n_mirrors > 0;
    if (replaces) {
        drop_mirrors(&step->said, anew);
    }
    sl_settings_merge(&step->said, anew);
    if (replaces) {
        struct sl_settings old = sl_settings_only(&before, SL_SET_MIRRORS);
        struct sl_settings now = sl_settings_only(&step->said, SL_SET_MIRRORS);
        changed = changed || !sl_settings_equal(&old, &now);
    }
    if (changed) {
        /* What was first named after the first correction is a first value as well. */
        unsigned first = sl_settings_named(&step->first_said);
        struct sl_settings more = sl_settings_only(&before, SL_SET_ALL & ~first);
        sl_settings_merge(&step->first_said, &more);
        step->corrected = true;
    }
}

/* The step that a phrase of this phase goes on with, or SL_STEP_NONE. */
static size_t neighbour(const struct reader *reader, size_t phase)
{
    const struct sl_marking *marking = reader->marking;
    if (marking->n_steps == 0) {
        return SL_STEP_NONE;
    }
    if (marking->steps[reader->current].phase == phase) {
        return reader->current;
    }
    /* After a late correction of an earlier step the last step may still go on. */
    size_t last = marking->n_steps - 1;
    return marking->steps[last].phase == phase ? last : SL_STEP_NONE;
}

/* The last step of a phase, or SL_STEP_NONE. */
static size_t last_step(const struct sl_marking *marking, size_t phase)
{
    for (size_t i = marking->n_steps; i-- > 0;) {
        if (marking->steps[i].phase == phase) {
            return i;
        }
    }
    return SL_STEP_NONE;
}

/* The late correction described above; true when it was one. */
static bool correct_late(struct reader *reader, size_t phase, const struct sl_settings *anew,
                         double at_s)
{
    struct sl_marking *marking = reader->marking;
    const struct sl_window *window = &marking->plan->windows[phase];
    size_t earlier = last_step(marking, phase);
    if (earlier == SL_STEP_NONE || !reader->corrects || !marking->options->timed ||
        at_s < window->opens_s || at_s > window->closes_s) {
        return false;
    }
    struct sl_step *step = &marking->steps[earlier];
    struct sl_step corrected = *step;
    join(&corrected, anew, true);
    if (sl_settings_equal(&corrected.said, &step->said)) {
        return false;
    }
    if (!corrected.corrected) { /* completed, not contradicted */
        corrected.corrected = true;
        corrected.first_said = step->said;
    }
    if (corrected.said.decision != step->said.decision) {
        corrected.decision_s = at_s;
    }
    *step = corrected;
    reader->current = earlier;
    return true;
}

static enum sl_status take_clear(struct reader *reader, const struct sl_heard *heard,
                                 struct sl_error *error)
{
    struct sl_marking *marking = reader->marking;
    double start_s = heard->start_s - reader->from_s;
    double end_s = heard->end_s - reader->from_s;
    struct sl_settings anew =
        sl_settings_only(&heard->settings, marking->routine->phases[heard->phase].carries);
    size_t near = neighbour(reader, heard->phase);
    if (near != SL_STEP_NONE) {
        struct sl_step *step = &marking->steps[near];
        const struct sl_settings before = step->said;
        join(step, &anew, reader->corrects);
        if (!sl_settings_equal(&before, &step->said)) {
            step->done_s = end_s;
        }
        step->decision_s = step->said.decision != before.decision ? start_s : step->decision_s;
        step->end_s = near + 1 == marking->n_steps ? fmax(step->end_s, end_s) : step->end_s;
        reader->current = near;
        return SL_OK;
    }
    if (correct_late(reader, heard->phase, &anew, start_s)) {
        return SL_OK;
    }
    struct sl_step *steps =
        sl_grow(marking->steps, marking->n_steps, &marking->steps_room, sizeof *steps);
    if (steps == NULL) {
        return sl_fail_memory(error);
    }
    marking->steps = steps;
    reader->current = marking->n_steps++;
    steps[reader->current] = (struct sl_step){.phase = heard->phase,
                                              .start_s = start_s,
                                              .end_s = end_s,
                                              .done_s = end_s,
                                              .decision_s = start_s,
                                              .said = anew,
                                              .settled = heard->settled};
    return SL_OK;
}

enum sl_status sl_marking_steps(struct sl_marking *marking, const struct sl_heard_list *heard,
                                struct sl_error *error)
{
    struct reader reader = {.marking = marking, .from_s = marking->options->from_s};
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if ((item->start_s + item->end_s) / 2 < reader.from_s) {
            continue;
        }
        if (item->phase == SL_PHRASE_CORRECTION) {
            reader.corrects = reader.corrects || !item->unclear;
        }
        if (item->phase >= marking->routine->n_phases) {
            continue;
        }
        const struct sl_heard **unclear = &marking->phases[item->phase].unclear;
        enum sl_status status = SL_OK;
        if (!item->unclear) {
            status = take_clear(&reader, item, error);
        } else if (*unclear == NULL || item->confidence > (*unclear)->confidence) {
            *unclear = item;
        }
        if (status != SL_OK) {
            return status;
        }
        reader.corrects = false;
    }
    return SL_OK;
}
