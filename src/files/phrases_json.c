#include "files/phrases_json.h"

#include "files/json_out.h"

/* "gear", "filler", "correction" */
static json_t *phase_text(const struct sl_routine *routine, size_t phase)
{
    return sl_json_text(phase < routine->n_phases       ? routine->phases[phase].id
                        : phase == SL_PHRASE_CORRECTION ? "correction"
                                                        : "filler");
}

static json_t *unspoken_list(const struct sl_routine *routine,
                             const struct sl_unspoken_list *unspoken)
{
    json_t *list = json_array();
    for (size_t i = 0; i < unspoken->count; i++) {
        const struct sl_phrase *phrase = &routine->phrasebook.phrases[unspoken->items[i].phrase];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "word", sl_json_text(unspoken->items[i].word));
        sl_json_put(&json, "phase", phase_text(routine, phrase->phase));
        sl_json_put(&json, "line", json_integer((json_int_t)phrase->line));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *side_object(const struct sl_routine *routine, const struct sl_alike_side *side)
{
    const struct sl_phrase *phrase = &routine->phrasebook.phrases[side->phrase];
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "words", sl_json_text(side->words));
    sl_json_put(&json, "phase", phase_text(routine, phrase->phase));
    sl_json_put(&json, "settings", sl_json_settings(&side->settings));
    sl_json_put(&json, "line", json_integer((json_int_t)phrase->line));
    return sl_json_take(&json);
}

static json_t *alike_list(const struct sl_routine *routine, const struct sl_alikes *alikes,
                          bool both)
{
    json_t *list = json_array();
    for (size_t i = 0; i < alikes->count; i++) {
        const struct sl_alike *alike = &alikes->items[i];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "distance", sl_json_number((double)alike->distance / SL_PHONE_WHOLE));
        if (both) {
            sl_json_put(&json, "one", side_object(routine, &alike->one));
        }
        sl_json_put(&json, both ? "other" : "phrase", side_object(routine, &alike->other));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_phrases_to_json(const struct sl_routine *routine,
                                  const struct sl_unspoken_list *unspoken,
                                  const struct sl_alikes *alikes, char **json,
                                  struct sl_error *error)
{
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-phrases-1"));
    sl_json_put(&top, "routine", sl_json_text(routine->name));
    sl_json_put(&top, "unspoken", unspoken_list(routine, unspoken));
    sl_json_put(&top, "alike", alike_list(routine, alikes, true));
    return sl_json_line(&top, json, error);
}

static json_t *heard_list(const struct sl_routine *routine, const struct sl_heard_list *heard)
{
    json_t *list = json_array();
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "phase", phase_text(routine, item->phase));
        sl_json_put(&json, "text", sl_json_text(item->text));
        sl_json_put(&json, "start_s", sl_json_number(item->start_s));
        sl_json_put(&json, "end_s", sl_json_number(item->end_s));
        sl_json_put(&json, "confidence", sl_json_number(item->confidence));
        sl_json_put(&json, "unclear", json_boolean(item->unclear));
        sl_json_put(&json, "settings", sl_json_settings(&item->settings));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_tried_to_json(const struct sl_routine *routine, const struct sl_tried *tried,
                                char **json, struct sl_error *error)
{
    struct sl_json top = sl_json_object();
    sl_json_put(&top, "schema", json_string("sayline-tried-1"));
    sl_json_put(&top, "text", sl_json_text(tried->text));
    sl_json_put(&top, "heard", heard_list(routine, tried->heard));
    sl_json_put(&top, "nearest",
                tried->nearest == NULL ? json_null() : alike_list(routine, tried->nearest, false));
    return sl_json_line(&top, json, error);
}
