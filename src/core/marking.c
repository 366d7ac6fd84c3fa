#include "core/marking.h"

#include "core/marking_parts.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

const struct sl_step *sl_marking_step(const struct sl_marking *marking, size_t phase)
{
    size_t step = marking->phases[phase].step;
    return step == SL_STEP_NONE ? NULL : &marking->steps[step];
}

const struct sl_heard *sl_marking_not_understood(const struct sl_marking *marking, size_t phase)
{
    double from_s = -INFINITY;
    double to_s = INFINITY;
    for (size_t other = 0; other < marking->routine->n_phases; other++) {
        const struct sl_step *step = sl_marking_step(marking, other);
        if (step != NULL && !marking->phases[other].moved) {
            from_s = other < phase ? fmax(from_s, step->end_s) : from_s;
            to_s = other > phase ? fmin(to_s, step->start_s) : to_s;
        }
    }
    for (size_t i = 0; i < marking->heard->count; i++) {
        const struct sl_heard *heard = &marking->heard->items[i];
        double at_s = (heard->start_s + heard->end_s) / 2 - marking->options->from_s;
        if (heard->unclear && at_s >= fmax(from_s, 0) && at_s <= to_s) {
            return heard;
        }
    }
    return NULL;
}

bool sl_marking_unclear(const struct sl_marking *marking, size_t phase)
{
    const struct sl_phase_state *state = &marking->phases[phase];
    bool missed = (marking->options->settled_missed & (1U << phase)) != 0;
    return state->step == SL_STEP_NONE && !state->waived && !missed &&
           (state->unclear != NULL || marking->options->hiding != 0 ||
            sl_marking_not_understood(marking, phase) != NULL);
}

unsigned sl_marking_judged(const struct sl_marking *marking, size_t phase)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    unsigned wanted = sl_settings_named(&marking->mark->phases[phase].wanted.settings);
    unsigned asked = marking->routine->phases[phase].required;
    asked |= step == NULL ? 0 : sl_settings_named(&step->said);
    return asked & (wanted | SL_SET_DECISION);
}

void sl_marking_add_step(struct sl_str *text, const struct sl_marking *marking, bool capital,
                         size_t phase)
{
    const char *title = marking->routine->phases[phase].title;
    sl_str_add(text, capital ? "The " : "the ");
    if (title[0] != '\0') {
        int first = (tolower)((unsigned char)title[0]); /* the function, not a macro */
        sl_str_addf(text, "%c%s ", first, title + 1);
    }
    sl_str_add(text, "step");
}

void sl_marking_add_settings(struct sl_str *text, const struct sl_settings *settings)
{
    char *words = sl_settings_words(settings);
    if (words == NULL) {
        text->failed = true;
        return;
    }
    sl_str_add(text, words);
    free(words);
}

void sl_marking_add_due(struct sl_str *text, const struct sl_marking *marking, size_t phase)
{
    const struct sl_window *window = &marking->plan->windows[phase];
    sl_str_addf(text, "it was due at %.1f s, ", window->due_s);
    if (window->due_m > 0) {
        sl_str_addf(text, "%.0f m before the line", window->due_m);
    } else {
        sl_str_add(text, "at the line");
    }
}

/* Adds a sentence and its full stop, unless it brings one. */
static void add_sentence(struct sl_str *text, const char *sentence)
{
    size_t length = strlen(sentence);
    sl_str_add(text, sentence);
    if (length > 0 && strchr(".!?", sentence[length - 1]) == NULL) {
        sl_str_add(text, ".");
    }
}

/* The rule and why; without a rule the phase's reason for this kind of fault, or the routine's. */
static char *reason_for(const struct sl_marking *marking, const struct sl_fault *fault,
                        const struct sl_rule *rule)
{
    struct sl_str text = {0};
    if (rule != NULL) {
        add_sentence(&text, rule->text);
        sl_str_add(&text, " ");
        add_sentence(&text, rule->reason);
    } else {
        const char *why = marking->routine->phases[fault->phase].why[fault->kind];
        why = why != NULL ? why : marking->routine->why[fault->kind];
        add_sentence(&text, why != NULL ? why : "");
    }
    return sl_str_take(&text);
}

enum sl_status sl_marking_fault(struct sl_marking *marking, const struct sl_fault *fault,
                                const struct sl_rule *rule, struct sl_str *what,
                                struct sl_error *error)
{
    struct sl_mark *mark = marking->mark;
    struct sl_fault added = *fault;
    added.due_s = marking->options->timed ? marking->plan->windows[fault->phase].due_s : NAN;
    added.rule = rule != NULL ? rule->id : sl_fault_word(fault->kind);
    added.what = sl_str_take(what);
    added.reason = reason_for(marking, fault, rule);
    struct sl_fault *faults =
        sl_grow(mark->faults, mark->n_faults, &mark->faults_room, sizeof *faults);
    mark->faults = faults != NULL ? faults : mark->faults;
    if (faults == NULL || added.what == NULL || added.reason == NULL) {
        free(added.what);
        free(added.reason);
        return sl_fail_memory(error);
    }
    faults[mark->n_faults++] = added;
    return SL_OK;
}

/* By phase, then kind, then time; faults without a time are the only ones of their phase. */
static int compare_faults(const void *a, const void *b)
{
    const struct sl_fault *x = a;
    const struct sl_fault *y = b;
    if (x->phase != y->phase) {
        return x->phase < y->phase ? -1 : 1;
    }
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    if (x->at_s != y->at_s) {
        return x->at_s < y->at_s ? -1 : 1;
    }
    return strcmp(x->rule, y->rule);
}

static void prepare(struct sl_marking *marking)
{
    struct sl_mark *mark = marking->mark;
    mark->timed = marking->options->timed;
    mark->rolling_s = NAN;
    mark->n_phases = marking->routine->n_phases;
    for (size_t phase = 0; phase < mark->n_phases; phase++) {
        marking->phases[phase] = (struct sl_phase_state){.step = SL_STEP_NONE};
        mark->phases[phase] = (struct sl_phase_mark){
            .at_s = NAN,
            .end_s = NAN,
            .wanted =
                sl_routine_wanted(marking->routine, phase, marking->junction, marking->plan->view)};
    }
}

static void fill_phases(const struct sl_marking *marking)
{
    for (size_t phase = 0; phase < marking->mark->n_phases; phase++) {
        struct sl_phase_mark *mark = &marking->mark->phases[phase];
        const struct sl_step *step = sl_marking_step(marking, phase);
        if (step != NULL) {
            mark->heard = true;
            mark->at_s = step->start_s;
            mark->end_s = step->end_s;
            mark->said = step->said;
            mark->corrected = step->corrected;
            mark->first_said = step->first_said;
        } else {
            mark->unclear = sl_marking_unclear(marking, phase);
        }
    }
}

/* Marks `heard` as it is. What was made before in *marking is released. */
static enum sl_status mark_once(struct sl_marking *marking, struct sl_error *error)
{
    marking->n_steps = 0;
    marking->n_extra = 0;
    marking->n_unpaired_orders = 0;
    sl_mark_clear(marking->mark);
    prepare(marking);
    enum sl_status status = sl_marking_steps(marking, marking->heard, error);
    status = status == SL_OK ? sl_marking_align(marking, error) : status;
    status = status == SL_OK ? sl_marking_order(marking, error) : status;
    status = status == SL_OK ? sl_marking_settings(marking, error) : status;
    if (status == SL_OK && marking->options->timed) {
        status = sl_marking_timing(marking, error);
    }
    return status;
}

/* Scores and words of a mark whose faults are found. */
static enum sl_status complete(struct sl_marking *marking, struct sl_error *error)
{
    struct sl_mark *mark = marking->mark;
    if (mark->n_faults > 1) {
        qsort(mark->faults, mark->n_faults, sizeof *mark->faults, compare_faults);
    }
    fill_phases(marking);
    sl_marking_score(marking);
    return sl_marking_advise(marking, error);
}

/* The same phrases in items of their own, their words shared. */
static enum sl_status borrow(const struct sl_heard_list *heard, struct sl_heard_list *own,
                             struct sl_error *error)
{
    own->items = malloc((heard->count + 1) * sizeof *own->items);
    if (own->items == NULL) {
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < heard->count; i++) {
        own->items[i] = heard->items[i];
    }
    own->count = heard->count;
    return SL_OK;
}

enum sl_status sl_mark_make(const struct sl_task *task, const struct sl_heard_list *heard,
                            struct sl_mark *mark, struct sl_error *error)
{
    struct sl_heard_list own = {0};
    struct sl_mark made = {0};
    struct sl_marking marking = {.routine = task->routine,
                                 .junction = task->junction,
                                 .plan = task->plan,
                                 .options = &task->options,
                                 .heard = &own,
                                 .mark = &made};
    enum sl_status status = borrow(heard, &own, error);
    do { /* every turn makes a phrase unclear, so there is a last one */
        status = status == SL_OK ? mark_once(&marking, error) : status;
    } while (status == SL_OK && sl_marking_doubt(&marking, &own));
    status = status == SL_OK ? complete(&marking, error) : status;
    if (status == SL_OK) {
        sl_mark_clear(mark);
        *mark = made;
        made = (struct sl_mark){0};
    }
    free(marking.steps);
    free(own.items);
    sl_mark_clear(&made);
    return status;
}

void sl_mark_clear(struct sl_mark *mark)
{
    if (mark == NULL) {
        return;
    }
    for (size_t i = 0; i < mark->n_faults; i++) {
        free(mark->faults[i].what);
        free(mark->faults[i].reason);
    }
    free(mark->faults);
    free(mark->next);
    *mark = (struct sl_mark){0};
}
