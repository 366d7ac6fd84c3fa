#include "core/cueing.h"

#include "core/number_words.h"
#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const char *const kind_words[] = {"announce", "phase", "distance", "line", "model", "road"};

const char *sl_cue_kind_word(enum sl_cue_kind kind)
{
    return (size_t)kind < SL_CUE_KIND_COUNT ? kind_words[kind] : NULL;
}

enum sl_status sl_cue_list_add(struct sl_cue_list *list, const struct sl_cue *cue,
                               struct sl_error *error)
{
    char *text = sl_strdup(cue->text);
    struct sl_cue *items = sl_grow(list->items, list->count, &list->room, sizeof *items);
    if (items != NULL) {
        list->items = items;
    }
    if (items == NULL || text == NULL) {
        free(text);
        return sl_fail_memory(error);
    }
    items[list->count] = *cue;
    items[list->count++].text = text;
    return SL_OK;
}

void sl_cue_list_clear(struct sl_cue_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].text);
    }
    free(list->items);
    *list = (struct sl_cue_list){0};
}

/* Adds "Two hundred and forty metres." */
static void add_amount(struct sl_str *out, double amount, const char *unit)
{
    size_t start = out->length;
    sl_add_number_words(out, (unsigned)lround(amount));
    sl_str_capital(out, start);
    sl_str_addf(out, " %s.", unit);
}

static double spoken_distance_m(double distance_m)
{
    double step_m = distance_m >= 100 ? 10 : 5;
    return round(distance_m / step_m) * step_m;
}

char *sl_announcement(const struct sl_junction *junction, const struct sl_plan *plan)
{
    static const char *const kinds[] = {"T-junction.", "Side road.",       "Crossroads.",
                                        "Roundabout.", "Mini-roundabout.", "Traffic lights."};
    static const char *const turns[] = {"Turn left.", "Turn right.", "Straight ahead."};
    static const char *const views[] = {"The view is open.", "The view is closed."};
    static const char *const traffic[] = {"", " The way is clear.", " Traffic is coming."};
    struct sl_str text = {0};
    sl_str_addf(&text, "%s %s %s", kinds[junction->kind], turns[junction->turn], views[plan->view]);
    if (junction->control == SL_CONTROL_STOP) {
        sl_str_add(&text, " Stop line.");
    }
    if (junction->signal_misleads) {
        sl_str_add(&text, " A signal here would mislead.");
    }
    sl_str_add(&text, traffic[junction->traffic]);
    sl_str_add(&text, " ");
    add_amount(&text, sl_mph_from_mps(plan->approach_mps), "miles an hour");
    sl_str_add(&text, " ");
    add_amount(&text, spoken_distance_m(plan->distance_m), "metres");
    return sl_str_take(&text);
}

/* Making the cues: all are placed unsorted, then sorted. */
struct making {
    const struct sl_cueing *cueing;
    struct sl_cue_list *list;
    struct sl_error *error;
    bool every;  /* place them all, at no length */
    bool driven; /* calls stand where the car will be, not where the plan is */
};

/* Fills in where a cue of this text ends when it begins at at_s. */
static enum sl_status measure(const struct making *making, struct sl_cue *cue)
{
    if (cue->text == NULL) {
        return sl_fail_memory(making->error);
    }
    double length_s = making->every ? 0 : making->cueing->length_s(making->cueing->user, cue->text);
    if (!(length_s >= 0)) {
        return sl_fail(making->error, SL_UNSUPPORTED, NULL, "use another voice or cue pack",
                       "the cue '%s' cannot be spoken", cue->text);
    }
    cue->end_s = cue->at_s + length_s;
    return SL_OK;
}

static enum sl_status add(const struct making *making, struct sl_cue *cue)
{
    if (cue->kind != SL_CUE_DISTANCE && cue->kind != SL_CUE_ROAD) {
        cue->distance_m = sl_plan_distance_m(making->cueing->plan, fmax(cue->at_s, 0));
    }
    return sl_cue_list_add(making->list, cue, making->error);
}

static enum sl_status add_announcement(const struct making *making)
{
    struct sl_cue cue = {
        .kind = SL_CUE_ANNOUNCE,
        .text = sl_announcement(making->cueing->junction, making->cueing->plan),
        .phase = SL_CUE_NO_PHASE,
    };
    enum sl_status status = measure(making, &cue);
    if (status == SL_OK) {
        cue.at_s = -cue.end_s;
        cue.end_s = 0;
        status = add(making, &cue);
    }
    free(cue.text);
    return status;
}

/* Where only the driven car knows when it is there, the cue keeps its length alone. */
static void leave_open(const struct making *making, struct sl_cue *cue)
{
    if (making->driven) {
        cue->end_s -= cue->at_s;
        cue->at_s = INFINITY;
    }
}

static enum sl_status add_line(const struct making *making)
{
    static char text[] = "Line.";
    struct sl_cue cue = {.kind = SL_CUE_LINE,
                         .at_s = making->cueing->plan->line_s,
                         .text = text,
                         .phase = SL_CUE_NO_PHASE};
    enum sl_status status = measure(making, &cue);
    leave_open(making, &cue);
    return status == SL_OK ? add(making, &cue) : status;
}

/* The question before a phase, behind *free_s, which it moves on. */
static enum sl_status add_phase(const struct making *making, size_t phase, double *free_s)
{
    double due_s = making->cueing->plan->windows[phase].due_s;
    struct sl_cue cue = {.kind = SL_CUE_PHASE,
                         .text = sl_strf("%s?", making->cueing->routine->phases[phase].title),
                         .phase = phase};
    enum sl_status status = measure(making, &cue);
    if (status == SL_OK) {
        double length_s = cue.end_s;
        cue.at_s = fmax(due_s - SL_CUE_LEAD_S - length_s, *free_s);
        cue.end_s = cue.at_s + length_s;
        double last_s = fmin(due_s, making->cueing->plan->line_s - SL_CUE_GAP_S);
        if (cue.end_s <= last_s || making->every) {
            *free_s = cue.end_s + SL_CUE_GAP_S;
            status = add(making, &cue);
        }
    }
    free(cue.text);
    return status;
}

static enum sl_status add_phases(const struct making *making)
{
    double free_s = SL_CUE_GAP_S; /* the announcement ends at 0 */
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < making->cueing->routine->n_phases && status == SL_OK; i++) {
        status = add_phase(making, i, &free_s);
    }
    return status;
}

static double gap_beside_s(enum sl_cue_kind kind)
{
    switch (kind) {
    case SL_CUE_ANNOUNCE:
        return SL_CUE_SETTLE_S;
    case SL_CUE_DISTANCE:
        return SL_CUE_CALLS_S;
    default:
        return SL_CUE_GAP_S;
    }
}

bool sl_cue_has_room(const struct sl_plan *plan, const struct sl_cue_list *list,
                     const struct sl_cue *call)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct sl_cue *other = &list->items[i];
        double gap_s = gap_beside_s(other->kind);
        if (call->at_s < other->end_s + gap_s && other->at_s < call->end_s + gap_s) {
            return false;
        }
    }
    for (size_t i = 0; i < plan->n_windows; i++) {
        double due_s = plan->windows[i].due_s;
        if (call->at_s < due_s + SL_CUE_TALK_S && call->end_s > due_s - SL_CUE_LEAD_S) {
            return false;
        }
    }
    return true;
}

static enum sl_status add_call(const struct making *making, double distance_m)
{
    struct sl_str text = {0};
    add_amount(&text, distance_m, "metres");
    struct sl_cue cue = {.kind = SL_CUE_DISTANCE,
                         .at_s = sl_plan_time_s(making->cueing->plan, distance_m),
                         .text = sl_str_take(&text),
                         .phase = SL_CUE_NO_PHASE,
                         .distance_m = distance_m};
    enum sl_status status = measure(making, &cue);
    leave_open(making, &cue);
    bool fits = making->every || making->driven ||
                sl_cue_has_room(making->cueing->plan, making->list, &cue);
    if (status == SL_OK && fits) {
        status = add(making, &cue);
    }
    free(cue.text);
    return status;
}

static enum sl_status add_calls(const struct making *making)
{
    static const double near_m[] = {30, 20, 10};
    double from_m = making->cueing->plan->distance_m;
    enum sl_status status = SL_OK;
    for (int fifties = (int)floor(from_m / 50); fifties > 0 && status == SL_OK; fifties--) {
        status = add_call(making, 50.0 * fifties);
    }
    for (size_t i = 0; i < sizeof near_m / sizeof *near_m && status == SL_OK; i++) {
        status = near_m[i] < from_m ? add_call(making, near_m[i]) : SL_OK;
    }
    return status;
}

static int compare_times(const void *left, const void *right)
{
    const struct sl_cue *a = left;
    const struct sl_cue *b = right;
    return (a->at_s > b->at_s) - (a->at_s < b->at_s);
}

/* In the order in which a car comes by; what others do goes before a call at the same place. */
static int compare_places(const void *left, const void *right)
{
    const struct sl_cue *a = left;
    const struct sl_cue *b = right;
    int apart = (a->distance_m < b->distance_m) - (a->distance_m > b->distance_m);
    return apart != 0 ? apart : (a->kind != SL_CUE_ROAD) - (b->kind != SL_CUE_ROAD);
}

static enum sl_status add_events(const struct making *making, const struct sl_situation *others)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; others != NULL && i < others->n_events && status == SL_OK; i++) {
        char *text = sl_strdup(others->events[i].text);
        struct sl_cue cue = {.kind = SL_CUE_ROAD,
                             .text = text,
                             .phase = SL_CUE_NO_PHASE,
                             .distance_m = others->events[i].distance_m};
        status = measure(making, &cue);
        leave_open(making, &cue);
        status = status == SL_OK ? add(making, &cue) : status;
        free(text);
    }
    return status;
}

enum sl_status sl_cues_make_driven(const struct sl_cueing *cueing,
                                   const struct sl_situation *others, struct sl_cue_list *list,
                                   struct sl_error *error)
{
    struct making making = {.cueing = cueing, .list = list, .error = error, .driven = true};
    sl_cue_list_clear(list);
    enum sl_status status = add_announcement(&making);
    status = status == SL_OK ? add_events(&making, others) : status;
    status = status == SL_OK ? add_calls(&making) : status;
    status = status == SL_OK ? add_line(&making) : status;
    if (status != SL_OK) {
        sl_cue_list_clear(list);
        return status;
    }
    qsort(list->items + 1, list->count - 1, sizeof *list->items, compare_places);
    return SL_OK;
}

static enum sl_status make(const struct making *making, enum sl_prompting prompting)
{
    struct sl_cue_list *list = making->list;
    sl_cue_list_clear(list);
    enum sl_status status = add_announcement(making);
    if (status == SL_OK && prompting == SL_PROMPTING_FULL) {
        status = add_phases(making);
    }
    if (status == SL_OK && prompting != SL_PROMPTING_NONE) {
        status = add_line(making);
    }
    if (status == SL_OK && prompting != SL_PROMPTING_NONE) {
        status = add_calls(making);
    }
    if (status != SL_OK) {
        sl_cue_list_clear(list);
        return status;
    }
    qsort(list->items, list->count, sizeof *list->items, compare_times);
    return SL_OK;
}

enum sl_status sl_cues_make(const struct sl_cueing *cueing, enum sl_prompting prompting,
                            struct sl_cue_list *list, struct sl_error *error)
{
    struct making making = {.cueing = cueing, .list = list, .error = error};
    return make(&making, prompting);
}

enum sl_status sl_cues_every(const struct sl_cueing *cueing, struct sl_cue_list *list,
                             struct sl_error *error)
{
    struct making making = {.cueing = cueing, .list = list, .error = error, .every = true};
    return make(&making, SL_PROMPTING_FULL);
}

size_t sl_sentence_length(const char *text)
{
    size_t i = 0;
    while (text[i] != '\0') {
        i++;
        if (strchr(".?!", text[i - 1]) != NULL && (text[i] == ' ' || text[i] == '\0')) {
            break;
        }
    }
    return i;
}
