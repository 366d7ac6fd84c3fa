#include "core/commentary.h"

#include "core/number_words.h"
#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Wordings of one setting that are tried, the best first. */
#define WORDINGS 3

/* In the order in which they are said. */
static const unsigned parts[] = {SL_SET_MIRRORS, SL_SET_SIGNAL, SL_SET_POSITION, SL_SET_SPEED,
                                 SL_SET_GEAR,    SL_SET_CLUTCH, SL_SET_DECISION};

/* What one phase has to say. */
struct answer {
    const struct sl_cueing *cueing;
    size_t phase;
    struct sl_wanted wanted; /* with a decision in every case */
    unsigned required;
};

/* A wording around a word or a number. */
struct frame {
    const char *before, *after;
};

static char *framed(const struct frame *frame, const char *word)
{
    return sl_strf("%s%s%s", frame->before, word != NULL ? word : "", frame->after);
}

static char *mirrors_wording(const struct answer *answer, int wording)
{
    static const struct frame frames[WORDINGS] = {{"", " mirror"}, {"", ""}, {"check ", " mirror"}};
    const struct sl_settings *settings = &answer->wanted.settings;
    struct sl_str text = {0};
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        sl_str_addf(&text, "%s%s%s%s", i > 0 ? ", " : "", frames[wording].before,
                    sl_mirror_word(settings->mirrors[i]), frames[wording].after);
    }
    return sl_str_take(&text);
}

static char *signal_wording(const struct answer *answer, int wording)
{
    static const char *const none[WORDINGS] = {"no signal needed", "no signal", "signal none"};
    static const char *const misleads[WORDINGS] = {"no signal, it would mislead", "no signal",
                                                   "signal none"};
    static const struct frame frames[WORDINGS] = {
        {"", " signal"}, {"signal ", ""}, {"indicate ", ""}};
    if (answer->wanted.settings.signal == SL_SIGNAL_NONE) {
        bool misled = answer->cueing->junction->signal_misleads;
        return sl_strdup(misled ? misleads[wording] : none[wording]);
    }
    return framed(&frames[wording], sl_signal_word(answer->wanted.settings.signal));
}

static char *position_wording(const struct answer *answer, int wording)
{
    static const char *const ahead[WORDINGS] = {"normal position", "position straight ahead",
                                                "keep to the middle"};
    static const struct frame frames[WORDINGS] = {
        {"keep to the ", ""}, {"position to the ", ""}, {"position ", ""}};
    if (answer->wanted.settings.position == SL_POSITION_AHEAD) {
        return sl_strdup(ahead[wording]);
    }
    return framed(&frames[wording], sl_position_word(answer->wanted.settings.position));
}

static char *speed_wording(const struct answer *answer, int wording)
{
    static const struct frame frames[WORDINGS] = {
        {"slow down to ", " miles an hour"}, {"", " miles an hour"}, {"speed ", ""}};
    struct sl_str number = {0};
    double speed_mph = sl_mph_from_mps(answer->wanted.settings.speed_mps);
    sl_add_number_words(&number, (unsigned)lround(speed_mph));
    char *text = framed(&frames[wording], sl_str_text(&number));
    sl_str_clear(&number);
    return text;
}

static char *gear_wording(const struct answer *answer, int wording)
{
    static const struct frame frames[WORDINGS] = {{"", " gear"}, {"", ""}, {"into ", ""}};
    return framed(&frames[wording], sl_gear_ordinal(answer->wanted.settings.gear));
}

static char *clutch_wording(const struct answer *answer, int wording)
{
    static const struct frame frames[WORDINGS] = {
        {"clutch is ", ""}, {"clutch ", ""}, {"keep the clutch ", ""}};
    return framed(&frames[wording], sl_clutch_word(answer->wanted.settings.clutch));
}

static char *decision_wording(const struct answer *answer, int wording)
{
    static const char *const go[WORDINGS] = {"it's clear, going", "clear, go", "go"};
    static const char *const green[WORDINGS] = {"lights are green, going", "green, go", "go"};
    static const char *const wait[WORDINGS] = {"someone coming, waiting", "waiting", "wait"};
    static const char *const stop[WORDINGS] = {"stopping", "stop", "waiting"};
    static const char *const red[WORDINGS] = {"lights are red, stopping", "red, stopping", "stop"};
    enum sl_control control = answer->cueing->junction->control;
    bool goes = answer->wanted.settings.decision == SL_DECISION_GO;
    const char *const *wordings = goes ? go : wait;
    if (control == SL_CONTROL_LIGHTS) {
        wordings = goes ? green : red;
    } else if (control == SL_CONTROL_STOP && !goes) {
        wordings = stop;
    }
    return sl_strdup(wordings[wording]);
}

static char *part_wording(const struct answer *answer, unsigned part, int wording)
{
    switch (part) {
    case SL_SET_MIRRORS:
        return mirrors_wording(answer, wording);
    case SL_SET_SIGNAL:
        return signal_wording(answer, wording);
    case SL_SET_POSITION:
        return position_wording(answer, wording);
    case SL_SET_SPEED:
        return speed_wording(answer, wording);
    case SL_SET_DECISION:
        return decision_wording(answer, wording);
    case SL_SET_GEAR:
        return gear_wording(answer, wording);
    default:
        return clutch_wording(answer, wording);
    }
}

static unsigned word_count(const char *text)
{
    unsigned count = 0;
    for (const char *at = text; *at != '\0'; at++) {
        bool starts = *at != ' ' && (at == text || at[-1] == ' ');
        count += starts ? 1 : 0;
    }
    return count;
}

/* Whether all words of `text` are this phase's and name just `expected`. */
static enum sl_status is_understood(const struct answer *answer, const char *text,
                                    const struct sl_settings *expected, bool *understood,
                                    struct sl_error *error)
{
    const struct sl_phrasebook *book = &answer->cueing->routine->phrasebook;
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    enum sl_status status = sl_phrasebook_match(book, text, &matches, &n_matches, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_settings named = {0};
    size_t n_words = 0;
    bool own = true;
    for (size_t i = 0; i < n_matches; i++) {
        own = own && book->phrases[matches[i].phrase].phase == answer->phase;
        n_words += matches[i].n_words;
        sl_settings_merge(&named, &matches[i].settings);
    }
    free(matches);
    *understood = own && n_words == word_count(text) && sl_settings_equal(&named, expected);
    return SL_OK;
}

/* Adds the best wording of a part that is understood; none where it is not required. */
static enum sl_status add_part(const struct answer *answer, unsigned part, struct sl_str *out,
                               struct sl_error *error)
{
    struct sl_settings expected = sl_settings_only(&answer->wanted.settings, part);
    for (int wording = 0; wording < WORDINGS; wording++) {
        char *text = part_wording(answer, part, wording);
        if (text == NULL) {
            return sl_fail_memory(error);
        }
        bool understood = false;
        enum sl_status status = is_understood(answer, text, &expected, &understood, error);
        if (status == SL_OK && understood) {
            sl_str_addf(out, "%s%s", out->length > 0 ? ", " : "", text);
        }
        free(text);
        if (status != SL_OK || understood) {
            return status;
        }
    }
    if ((part & answer->required) == 0) {
        return SL_OK;
    }
    char *words = sl_settings_words(&expected);
    enum sl_status status =
        sl_fail(error, SL_UNSUPPORTED, answer->cueing->routine->phases[answer->phase].id,
                "add a plain phrase for it to the routine", "the routine has no plain words for %s",
                words != NULL ? words : "a setting");
    free(words);
    return status;
}

/* "Second gear, clutch up." */
static enum sl_status answer_text(const struct answer *answer, char **text, struct sl_error *error)
{
    unsigned named = sl_settings_named(&answer->wanted.settings);
    struct sl_str out = {0};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < sizeof parts / sizeof *parts && status == SL_OK; i++) {
        if ((parts[i] & named) != 0) {
            status = add_part(answer, parts[i], &out, error);
        }
    }
    if (status == SL_OK && out.length > 0) {
        sl_str_capital(&out, 0);
        sl_str_add(&out, ".");
    }
    if (status != SL_OK) {
        sl_str_clear(&out);
        return status;
    }
    *text = sl_str_take(&out);
    return *text != NULL ? SL_OK : sl_fail_memory(error);
}

static struct answer answer_of(const struct sl_cueing *cueing, size_t phase)
{
    const struct sl_phase *about = &cueing->routine->phases[phase];
    struct answer answer = {.cueing = cueing, .phase = phase, .required = about->required};
    answer.wanted = sl_routine_wanted(cueing->routine, phase, cueing->junction, cueing->plan->view);
    if ((about->carries & SL_SET_DECISION) != 0 &&
        answer.wanted.settings.decision == SL_DECISION_UNSAID) {
        answer.wanted.settings.decision = SL_DECISION_GO;
    }
    return answer;
}

static enum sl_status add_phase(const struct sl_cueing *cueing, size_t phase,
                                struct sl_cue_list *list, struct sl_error *error)
{
    struct answer answer = answer_of(cueing, phase);
    char *text = NULL;
    enum sl_status status = answer_text(&answer, &text, error);
    if (status != SL_OK || text[0] == '\0') {
        free(text);
        return status;
    }
    double length_s = cueing->length_s(cueing->user, text);
    if (length_s >= 0) {
        struct sl_cue cue = {.kind = SL_CUE_MODEL,
                             .at_s = cueing->plan->windows[phase].due_s,
                             .text = text,
                             .phase = phase};
        cue.end_s = cue.at_s + length_s;
        status = sl_cue_list_add(list, &cue, error);
    } else {
        status = sl_fail(error, SL_UNSUPPORTED, NULL, "use another voice",
                         "the phrase '%s' cannot be spoken", text);
    }
    free(text);
    return status;
}

static void move_to(struct sl_cue *cue, double at_s)
{
    cue->end_s += at_s - cue->at_s;
    cue->at_s = at_s;
}

/* Earlier where a phrase would run into the next, as far as its window allows; then later. */
static void make_room(const struct sl_plan *plan, struct sl_cue_list *list)
{
    for (size_t i = list->count; i-- > 1;) {
        struct sl_cue *cue = &list->items[i - 1];
        double spare_s = list->items[i].at_s - SL_MODEL_GAP_S - cue->end_s;
        if (spare_s < 0) {
            move_to(cue, fmax(cue->at_s + spare_s, plan->windows[cue->phase].opens_s));
        }
    }
    for (size_t i = 1; i < list->count; i++) {
        struct sl_cue *cue = &list->items[i];
        double free_s = list->items[i - 1].end_s + SL_MODEL_GAP_S;
        if (cue->at_s < free_s) {
            move_to(cue, free_s);
        }
    }
    for (size_t i = 0; i < list->count; i++) {
        list->items[i].distance_m = sl_plan_distance_m(plan, list->items[i].at_s);
    }
}

enum sl_status sl_commentary_make(const struct sl_cueing *cueing, struct sl_cue_list *list,
                                  struct sl_error *error)
{
    sl_cue_list_clear(list);
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < cueing->routine->n_phases && status == SL_OK; i++) {
        status = add_phase(cueing, i, list, error);
    }
    if (status != SL_OK) {
        sl_cue_list_clear(list);
        return status;
    }
    make_room(cueing->plan, list);
    return SL_OK;
}
