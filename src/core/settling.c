#include "core/settling.h"

#include "core/wanted.h"

#include <math.h>
#include <string.h>

#define STEP_S 1.0   /* length of a step of which nothing was heard */
#define ABOUT_S 0.05 /* a stored moment is rounded: this near a phrase it is that phrase's */

static const char *const words[] = {NULL, "right", "wrong", "missed"};
#define N_WORDS (sizeof words / sizeof *words)

const char *sl_settled_word(enum sl_settled settled)
{
    return (size_t)settled < N_WORDS ? words[settled] : NULL;
}

enum sl_settled sl_settled_from_word(const char *word)
{
    for (size_t i = 1; i < N_WORDS; i++) {
        if (strcmp(words[i], word) == 0) {
            return (enum sl_settled)i;
        }
    }
    return SL_SETTLED_NOT;
}

static bool is_of_run(const struct sl_task *task, double start_s, double end_s)
{
    return (start_s + end_s) / 2 >= task->options.from_s;
}

const struct sl_heard *sl_settling_clearest(const struct sl_task *task,
                                            const struct sl_heard_list *heard, size_t phase)
{
    const struct sl_heard *clearest = NULL;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->phase == phase && item->unclear && is_of_run(task, item->start_s, item->end_s) &&
            (clearest == NULL || item->confidence > clearest->confidence)) {
            clearest = item;
        }
    }
    return clearest;
}

/* One settling under way. */
struct settling {
    const struct sl_task *task;
    const struct sl_heard_list *heard;
    const struct sl_mark *mark;          /* the machine's own */
    struct sl_heard steps[SL_PHASE_MAX]; /* what takes the place of the unclear phrases */
    enum sl_settled as[SL_PHASE_MAX];
    unsigned missed;
};

/* The unclear phrase that was said at the moment, or NULL. */
static const struct sl_heard *phrase_at(const struct settling *settling, size_t phase, double at_s)
{
    for (size_t i = 0; i < settling->heard->count; i++) {
        const struct sl_heard *item = &settling->heard->items[i];
        if (item->phase == phase && item->unclear && at_s >= item->start_s - ABOUT_S &&
            at_s <= item->end_s) {
            return item;
        }
    }
    return NULL;
}

/* What a right step named: as heard, and as wanted where it was not or was heard wrongly. */
static struct sl_settings right_settings(const struct sl_phase *phase,
                                         const struct sl_wanted *wanted,
                                         const struct sl_settings *heard)
{
    unsigned asked = phase->required | (sl_settings_named(heard) & phase->carries);
    asked &= sl_settings_named(&wanted->settings);
    for (unsigned bit = SL_SET_SIGNAL; bit < SL_SET_ALL;
         bit <<= 1) { /* mirrors have an order too */
        bool right = (asked & bit) != 0 && sl_wanted_is_right((enum sl_setting)bit, heard, wanted);
        asked &= right ? ~bit : SL_SET_ALL;
    }
    struct sl_settings said = sl_settings_only(heard, phase->carries & ~asked);
    struct sl_settings put = sl_settings_only(&wanted->settings, asked);
    sl_settings_merge(&said, &put);
    return said;
}

/* Of what was heard only what is wrong: the rest was not made out, and is not right. */
static struct sl_settings wrong_settings(const struct sl_wanted *wanted,
                                         const struct sl_settings *heard)
{
    unsigned wrong = 0;
    unsigned both = sl_settings_named(heard) & sl_settings_named(&wanted->settings);
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        bool right = sl_wanted_is_right((enum sl_setting)bit, heard, wanted);
        wrong |= (both & bit) != 0 && !right ? bit : 0;
    }
    return sl_settings_only(heard, wrong);
}

/* Fills the phase's step. */
static enum sl_status make_step(struct settling *settling, size_t phase,
                                const struct sl_settlement *settlement, struct sl_error *error)
{
    const struct sl_phase *of = &settling->task->routine->phases[phase];
    const struct sl_wanted *wanted = &settling->mark->phases[phase].wanted;
    const struct sl_heard *phrase =
        isnan(settlement->at_s) ? sl_settling_clearest(settling->task, settling->heard, phase)
                                : phrase_at(settling, phase, settlement->at_s);
    if (phrase == NULL && isnan(settlement->at_s)) {
        return sl_fail(error, SL_INVALID, of->id,
                       "say when it was said, in seconds of the recording",
                       "nothing like this step was heard");
    }
    if (settlement->as == SL_SETTLED_WRONG && sl_settings_named(&wanted->settings) == 0) {
        return sl_fail(error, SL_INVALID, of->id, "settle it as right or missed",
                       "this junction wants nothing in particular there, so nothing is wrong");
    }
    struct sl_heard *step = &settling->steps[phase];
    if (phrase != NULL) {
        *step = *phrase;
    } else {
        static char nothing[] = "";
        *step = (struct sl_heard){.phase = phase,
                                  .text = nothing,
                                  .start_s = settlement->at_s,
                                  .end_s = settlement->at_s + STEP_S};
    }
    if (!is_of_run(settling->task, step->start_s, step->end_s)) {
        return sl_fail(error, SL_INVALID, of->id, "give a moment after the announcement",
                       "%.1f s of the recording is before the junction was announced",
                       step->start_s);
    }
    step->unclear = false;
    step->settled = settlement->as;
    step->settings = settlement->as == SL_SETTLED_RIGHT
                         ? right_settings(of, wanted, &step->settings)
                         : wrong_settings(wanted, &step->settings);
    return SL_OK;
}

static enum sl_status take_decisions(struct settling *settling,
                                     const struct sl_settlements *settlements,
                                     struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t phase = 0; phase < settling->mark->n_phases && status == SL_OK; phase++) {
        const struct sl_settlement *settlement = &settlements->phases[phase];
        if (!settling->mark->phases[phase].unclear || settlement->as == SL_SETTLED_NOT) {
            continue;
        }
        settling->as[phase] = settlement->as;
        if (settlement->as == SL_SETTLED_MISSED) {
            settling->missed |= 1U << phase;
        } else {
            status = make_step(settling, phase, settlement, error);
        }
    }
    return status;
}

/* The steps that begin before the moment, each once. */
static enum sl_status add_steps(struct settling *settling, double before_s,
                                struct sl_heard_list *list, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (;;) {
        struct sl_heard *first = NULL;
        for (size_t phase = 0; phase < settling->mark->n_phases; phase++) {
            struct sl_heard *step = &settling->steps[phase];
            bool open = step->text != NULL && step->start_s < before_s;
            first = open && (first == NULL || step->start_s < first->start_s) ? step : first;
        }
        if (first == NULL || status != SL_OK) {
            return status;
        }
        status = sl_heard_add(list, first, error);
        first->text = NULL;
    }
}

/* What was heard, with the settled steps in place of the unclear phrases of their phases. */
static enum sl_status settled_list(struct settling *settling, struct sl_heard_list *list,
                                   struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < settling->heard->count && status == SL_OK; i++) {
        const struct sl_heard *item = &settling->heard->items[i];
        bool replaced = item->phase < settling->mark->n_phases && item->unclear &&
                        settling->as[item->phase] != SL_SETTLED_NOT;
        status = add_steps(settling, item->start_s, list, error);
        if (status == SL_OK && !replaced) {
            status = sl_heard_add(list, item, error);
        }
    }
    return status == SL_OK ? add_steps(settling, INFINITY, list, error) : status;
}

enum sl_status sl_settle(const struct sl_task *task, const struct sl_heard_list *heard,
                         const struct sl_settlements *settlements, struct sl_mark *mark,
                         struct sl_error *error)
{
    struct settling settling = {.task = task, .heard = heard, .mark = mark};
    struct sl_heard_list list = {0};
    enum sl_status status = take_decisions(&settling, settlements, error);
    if (status == SL_OK) {
        status = settled_list(&settling, &list, error);
    }
    if (status == SL_OK) {
        struct sl_task settled = *task;
        settled.options.settled_missed = settling.missed;
        status = sl_mark_make(&settled, &list, mark, error);
    }
    for (size_t phase = 0; phase < mark->n_phases && status == SL_OK; phase++) {
        mark->phases[phase].settled = settling.as[phase];
    }
    sl_heard_clear(&list);
    return status;
}
