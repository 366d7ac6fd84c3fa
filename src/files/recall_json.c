#include "files/recall_json.h"

#include "files/json_out.h"

#include <string.h>

/* An answer: the view, then the settings. */
static json_t *answer_json(unsigned parts, enum sl_view view, const struct sl_settings *settings)
{
    struct sl_settings kept = sl_settings_only(settings, parts);
    json_t *named = sl_json_settings(&kept);
    struct sl_json json = sl_json_object();
    if ((parts & SL_PART_VIEW) != 0) {
        sl_json_put(&json, "view", sl_json_text(sl_view_word(view)));
    }
    if (named == NULL || json.failed || json_object_update(json.object, named) != 0) {
        json.failed = true;
    }
    json_decref(named);
    return sl_json_take(&json);
}

static json_t *parts_json(const struct sl_verdict *verdict)
{
    struct sl_json json = sl_json_object();
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        unsigned part = sl_parts[i];
        const char *word = (verdict->right & part) != 0     ? "right"
                           : (verdict->wrong & part) != 0   ? "wrong"
                           : (verdict->unsaid & part) != 0  ? "unsaid"
                           : (verdict->unclear & part) != 0 ? "unclear"
                                                            : NULL;
        if (word != NULL) {
            sl_json_put(&json, sl_part_key(part), sl_json_text(word));
        }
    }
    return sl_json_take(&json);
}

static json_t *cars_json(const struct sl_recall_told *told)
{
    json_t *list = json_array();
    for (size_t i = 0; i < told->n_cars; i++) {
        const struct sl_recall_car *car = &told->cars[i];
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "part", sl_json_text(sl_part_key((unsigned)car->part)));
        sl_json_put(&json, "name", sl_json_text(sl_consequence_word(car->told.kind)));
        sl_json_put(&json, "what", sl_json_text(car->told.what));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_recall_to_json(const struct sl_recall_told *told, const char *heard, char **line,
                                 struct sl_error *error)
{
    const struct sl_question *question = told->question;
    const struct sl_reply *reply = told->reply;
    unsigned said = reply->view_said ? (unsigned)SL_SET_ALL | SL_PART_VIEW : (unsigned)SL_SET_ALL;
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "question", json_integer((json_int_t)told->number));
    sl_json_put(&json, "of", json_integer((json_int_t)told->count));
    sl_json_put(&json, "id", sl_json_text(question->id));
    sl_json_put(&json, "text", sl_json_text(question->text));
    sl_json_put(&json, "ask", sl_json_text(question->ask));
    sl_json_put(&json, "slipped", json_boolean(told->slipped));
    sl_json_put(&json, "heard", sl_json_text(heard));
    sl_json_put(&json, "said", answer_json(said, reply->view, &reply->said));
    sl_json_put(&json, "gave_up", json_boolean(reply->gave_up));
    sl_json_put(&json, "wanted",
                answer_json(question->parts, question->view, &question->wanted.settings));
    sl_json_put(&json, "parts", parts_json(&told->verdict));
    sl_json_put(&json, "recalled", sl_json_text(sl_recalled_word(told->verdict.recalled)));
    sl_json_put(&json, "why", sl_json_text(question->why));
    sl_json_put(&json, "car", cars_json(told));
    sl_json_put(&json, "after_s", sl_json_number(told->after_s));
    sl_json_put(&json, "back_after",
                told->back_after > 0 ? json_integer((json_int_t)told->back_after) : json_null());
    sl_json_put(&json, "back_in_s", sl_json_number(told->back_in_s));
    return sl_json_line(&json, line, error);
}

static json_t *part_sums_json(const struct sl_recall_sum *sum)
{
    struct sl_json json = sl_json_object();
    for (size_t bit = 0; bit < SL_PART_COUNT; bit++) {
        if (sum->part_asked[bit] == 0) {
            continue;
        }
        struct sl_json one = sl_json_object();
        sl_json_put(&one, "right", json_integer((json_int_t)sum->part_right[bit]));
        sl_json_put(&one, "asked", json_integer((json_int_t)sum->part_asked[bit]));
        sl_json_put(&json, sl_part_key(1U << bit), sl_json_take(&one));
    }
    return sl_json_take(&json);
}

enum sl_status sl_recall_sum_to_json(const struct sl_recall_sum *sum, char **line,
                                     struct sl_error *error)
{
    struct sl_json inner = sl_json_object();
    sl_json_put(&inner, "answered", json_integer((json_int_t)sum->asked));
    for (size_t i = 0; i < SL_RECALLED_COUNT; i++) {
        sl_json_put(&inner, sl_recalled_word((enum sl_recalled)i),
                    json_integer((json_int_t)sum->recalled[i]));
    }
    sl_json_put(&inner, "parts", part_sums_json(sum));
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "summary", sl_json_take(&inner));
    return sl_json_line(&json, line, error);
}
