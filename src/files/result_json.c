/* The JSON of a mark: docs/formats.md, "JSON of a mark". */
#include "files/result_json.h"

#include "core/phrasebook.h"
#include "core/str.h"
#include "files/json_out.h"

#include <math.h>

/* Times are rounded when they are written, not when they are computed; this much is no difference.
 */
#define SAME_TIME_S 1e-6

static const char *phase_id(const struct sl_routine *routine, size_t phase)
{
    if (phase == SL_PHRASE_FILLER) {
        return "filler";
    }
    if (phase == SL_PHRASE_CORRECTION) {
        return "correction";
    }
    return phase < routine->n_phases ? routine->phases[phase].id : NULL;
}

static json_t *notice_list(unsigned notices)
{
    static const struct {
        unsigned bit;
        const char *word;
    } words[] = {
#define WORD(code, bit, word, text) {bit, word},
        SL_NOTICE_MAP(WORD)
#undef WORD
    };
    json_t *list = json_array();
    bool fine = list != NULL;
    for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); i++) {
        if ((notices & words[i].bit) != 0) {
            fine = sl_json_append(list, json_string(words[i].word)) && fine;
        }
    }
    if (!fine) {
        json_decref(list);
        return NULL;
    }
    return list;
}

static json_t *sound_object(const struct sl_level_report *levels)
{
    struct sl_json json = sl_json_object();
    if (levels == NULL) {
        json_decref(sl_json_take(&json));
        return json_null();
    }
    sl_json_put(&json, "duration_s", sl_json_number(levels->duration_s));
    sl_json_put(&json, "peak_db", sl_json_number(levels->peak_db));
    sl_json_put(&json, "speech_db", sl_json_number(levels->speech_db));
    sl_json_put(&json, "noise_db", sl_json_number(levels->noise_db));
    sl_json_put(&json, "snr_db", sl_json_number(levels->snr_db));
    sl_json_put(&json, "clipped_share", sl_json_number(levels->clipped_share));
    sl_json_put(&json, "notices", notice_list(levels->notices));
    return sl_json_take(&json);
}

static json_t *heard_object(const struct sl_routine *routine, const struct sl_heard *heard)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "phase", sl_json_text(phase_id(routine, heard->phase)));
    sl_json_put(&json, "text", sl_json_text(heard->text));
    sl_json_put(&json, "start_s", sl_json_number(heard->start_s));
    sl_json_put(&json, "end_s", sl_json_number(heard->end_s));
    sl_json_put(&json, "confidence", sl_json_number(heard->confidence));
    sl_json_put(&json, "unclear", json_boolean(heard->unclear));
    sl_json_put(&json, "settings", sl_json_settings(&heard->settings));
    return sl_json_take(&json);
}

static json_t *heard_list(const struct sl_result *result)
{
    json_t *list = json_array();
    for (size_t i = 0; i < result->heard->count; i++) {
        const struct sl_heard *heard = &result->heard->items[i];
        if (heard->phase == SL_PHRASE_FILLER) {
            continue;
        }
        if (!sl_json_append(list, heard_object(result->routine, heard))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

/* The words that a fault is about: those of its phase from its moment on, as far as the phase's
 * step lasted when the fault is about that step. */
static json_t *fault_words(const struct sl_result *result, const struct sl_fault *fault)
{
    const struct sl_phase_mark *mark = &result->mark->phases[fault->phase];
    if (isnan(fault->at_s)) {
        return json_null();
    }
    bool whole_step = fabs(mark->at_s - fault->at_s) < SAME_TIME_S && mark->end_s >= mark->at_s;
    double last_s = (whole_step ? mark->end_s : fault->at_s) + SAME_TIME_S;
    struct sl_str words = {0};
    for (size_t i = 0; i < result->heard->count; i++) {
        const struct sl_heard *heard = &result->heard->items[i];
        double at_s = heard->start_s - result->from_s;
        if (heard->phase == fault->phase && at_s >= fault->at_s - SAME_TIME_S && at_s <= last_s) {
            sl_str_addf(&words, "%s%s", words.length == 0 ? "" : ", ", heard->text);
        }
    }
    json_t *value = words.failed        ? NULL
                    : words.length == 0 ? json_null()
                                        : sl_json_text(sl_str_text(&words));
    sl_str_clear(&words);
    return value;
}

static json_t *fault_object(const struct sl_result *result, const struct sl_fault *fault)
{
    const struct sl_phase_mark *mark = &result->mark->phases[fault->phase];
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "kind", sl_json_text(sl_fault_word(fault->kind)));
    sl_json_put(&json, "phase", sl_json_text(phase_id(result->routine, fault->phase)));
    sl_json_put(&json, "at_s", sl_json_number(fault->at_s));
    sl_json_put(&json, "due_s", sl_json_number(fault->due_s));
    sl_json_put(&json, "heard", fault_words(result, fault));
    sl_json_put(&json, "said", sl_json_settings(&mark->said));
    sl_json_put(&json, "wanted", sl_json_settings(&mark->wanted.settings));
    sl_json_put(&json, "rule", sl_json_text(fault->rule));
    sl_json_put(&json, "what", sl_json_text(fault->what));
    sl_json_put(&json, "reason", sl_json_text(fault->reason));
    return sl_json_take(&json);
}

/* What is unclear is no fault: it has a list of its own, without what only a fault has. */
static json_t *unclear_object(const struct sl_result *result, const struct sl_fault *unclear)
{
    const struct sl_phase_mark *mark = &result->mark->phases[unclear->phase];
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "phase", sl_json_text(phase_id(result->routine, unclear->phase)));
    sl_json_put(&json, "at_s", sl_json_number(unclear->at_s));
    sl_json_put(&json, "due_s", sl_json_number(unclear->due_s));
    sl_json_put(&json, "heard", fault_words(result, unclear));
    sl_json_put(&json, "wanted", sl_json_settings(&mark->wanted.settings));
    sl_json_put(&json, "what", sl_json_text(unclear->what));
    sl_json_put(&json, "reason", sl_json_text(unclear->reason));
    return sl_json_take(&json);
}

/* The faults, or what is unclear instead. */
static json_t *fault_list(const struct sl_result *result, bool unclear)
{
    json_t *list = json_array();
    for (size_t i = 0; i < result->mark->n_faults; i++) {
        const struct sl_fault *fault = &result->mark->faults[i];
        if ((fault->kind == SL_FAULT_UNCLEAR) != unclear) {
            continue;
        }
        if (!sl_json_append(list, unclear ? unclear_object(result, fault)
                                          : fault_object(result, fault))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *phase_object(const struct sl_result *result, size_t phase)
{
    const struct sl_phase_mark *mark = &result->mark->phases[phase];
    const struct sl_window *window = &result->plan->windows[phase];
    bool timed = result->mark->timed;
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "phase", sl_json_text(phase_id(result->routine, phase)));
    sl_json_put(&json, "heard", json_boolean(mark->heard));
    sl_json_put(&json, "unclear", json_boolean(mark->unclear));
    sl_json_put(&json, "settled", sl_json_text(sl_settled_word(mark->settled)));
    sl_json_put(&json, "at_s", sl_json_number(mark->at_s));
    sl_json_put(&json, "end_s", sl_json_number(mark->end_s));
    sl_json_put(&json, "opens_s", sl_json_number(timed ? window->opens_s : NAN));
    sl_json_put(&json, "due_s", sl_json_number(timed ? window->due_s : NAN));
    sl_json_put(&json, "closes_s", sl_json_number(timed ? window->closes_s : NAN));
    sl_json_put(&json, "said", sl_json_settings(&mark->said));
    sl_json_put(&json, "wanted", sl_json_settings(&mark->wanted.settings));
    sl_json_put(&json, "corrected", json_boolean(mark->corrected));
    sl_json_put(&json, "first_said",
                mark->corrected ? sl_json_settings(&mark->first_said) : json_null());
    return sl_json_take(&json);
}

static json_t *phase_list(const struct sl_result *result)
{
    json_t *list = json_array();
    for (size_t i = 0; i < result->mark->n_phases; i++) {
        if (!sl_json_append(list, phase_object(result, i))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *settled_object(const struct sl_settled_file *settled)
{
    bool any = false;
    for (size_t i = 0; settled != NULL && i < SL_PHASE_MAX; i++) {
        any = any || settled->settlements.phases[i].as != SL_SETTLED_NOT;
    }
    if (!any) {
        return json_null();
    }
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "by", sl_json_text(settled->by));
    sl_json_put(&json, "on", sl_json_text(settled->on));
    return sl_json_take(&json);
}

static json_t *score_object(const struct sl_scores *scores)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "order", sl_json_number(scores->order));
    sl_json_put(&json, "completeness", sl_json_number(scores->completeness));
    sl_json_put(&json, "settings", sl_json_number(scores->settings));
    sl_json_put(&json, "timing", sl_json_number(scores->timing));
    sl_json_put(&json, "overall", sl_json_number(scores->overall));
    return sl_json_take(&json);
}

enum sl_status sl_result_to_json(const struct sl_result *result, char **json,
                                 struct sl_error *error)
{
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-mark-2"));
    sl_json_put(&top, "file", sl_json_text(result->file));
    sl_json_put(&top, "junction", sl_json_text(result->junction->name));
    sl_json_put(&top, "routine", sl_json_text(result->routine->name));
    sl_json_put(&top, "view", sl_json_text(sl_view_word(result->plan->view)));
    sl_json_put(&top, "timed", json_boolean(result->mark->timed));
    sl_json_put(&top, "from_s", sl_json_number(result->from_s));
    sl_json_put(&top, "sound", sound_object(result->levels));
    sl_json_put(&top, "heard", heard_list(result));
    sl_json_put(&top, "faults", fault_list(result, false));
    sl_json_put(&top, "unclear", fault_list(result, true));
    sl_json_put(&top, "settled", settled_object(result->settled));
    sl_json_put(&top, "phases", phase_list(result));
    sl_json_put(&top, "scores", score_object(&result->mark->scores));
    sl_json_put(&top, "next", sl_json_text(result->mark->next));
    if (result->drive != NULL) {
        sl_json_put(&top, "drive", sl_json_came_of(sl_drive_came_of(result->drive)));
    }
    return sl_json_line(&top, json, error);
}

enum sl_status sl_error_to_json(const char *file, const struct sl_error *failure, char **json,
                                struct sl_error *error)
{
    struct sl_json top = sl_json_object();
    struct sl_json body = sl_json_object();
    const char *what = failure->what;
    if (what == NULL && failure->status == SL_NO_MEMORY) {
        what = "memory ran out"; /* sl_fail_memory has no text */
    }
    sl_json_put(&body, "status", sl_json_text(sl_status_name(failure->status)));
    sl_json_put(&body, "what", sl_json_text(what));
    sl_json_put(&body, "where", sl_json_text(failure->where));
    sl_json_put(&body, "mend", sl_json_text(failure->mend));
    sl_json_put(&top, "schema", json_string("sayline-error-1"));
    sl_json_put(&top, "file", sl_json_text(file));
    sl_json_put(&top, "error", sl_json_take(&body));
    return sl_json_line(&top, json, error);
}
