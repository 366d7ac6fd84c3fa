/* Answers: taken apart and judged. */
#include "core/recall.h"

#include "core/str.h"
#include "core/typed_number.h"
#include "core/wanted.h"

#include <stdlib.h>
#include <string.h>

static bool copy_phrases(const struct sl_phrasebook *from, struct sl_phrasebook *to, bool settings)
{
    for (size_t i = 0; i < from->n_phrases; i++) {
        if (!settings && from->phrases[i].phase == SL_PHRASE_SETTING) {
            continue;
        }
        struct sl_phrase *phrase = &to->phrases[to->n_phrases];
        *phrase = from->phrases[i];
        phrase->pattern = sl_strdup(from->phrases[i].pattern);
        to->n_phrases++;
        if (phrase->pattern == NULL) {
            return false;
        }
    }
    return true;
}

static bool copy_slot(const struct sl_slot *from, struct sl_slot *to)
{
    *to = (struct sl_slot){.name = sl_strdup(from->name),
                           .values = calloc(from->n_values + 1, sizeof *to->values)};
    if (to->name == NULL || to->values == NULL) {
        return false;
    }
    for (size_t i = 0; i < from->n_values; i++) {
        to->values[i] = from->values[i];
        to->values[i].words = sl_strdup(from->values[i].words);
        to->n_values++;
        if (to->values[i].words == NULL) {
            return false;
        }
    }
    return true;
}

static bool copy_slots(const struct sl_phrasebook *from, struct sl_phrasebook *to)
{
    for (size_t i = 0; i < from->n_slots; i++) {
        if (!copy_slot(&from->slots[i], &to->slots[to->n_slots++])) {
            return false;
        }
    }
    return true;
}

enum sl_status sl_recall_book_make(const struct sl_phrasebook *routine,
                                   const struct sl_phrasebook *answers, struct sl_phrasebook *book,
                                   struct sl_error *error)
{
    const struct sl_phrasebook none = {0};
    const struct sl_phrasebook *first = routine == NULL ? &none : routine;
    size_t n_phrases = first->n_phrases + answers->n_phrases;
    size_t n_slots = first->n_slots + answers->n_slots;
    struct sl_phrasebook made = {.phrases = calloc(n_phrases + 1, sizeof *made.phrases),
                                 .slots = calloc(n_slots + 1, sizeof *made.slots)};
    bool whole = made.phrases != NULL && made.slots != NULL && copy_phrases(first, &made, true) &&
                 copy_phrases(answers, &made, routine != NULL) && copy_slots(first, &made) &&
                 copy_slots(answers, &made);
    enum sl_status status = whole ? sl_phrasebook_compile(&made, error) : sl_fail_memory(error);
    if (status != SL_OK) {
        sl_phrasebook_clear(&made);
        return status;
    }
    *book = made;
    return SL_OK;
}

/* Taking phrases in, one after the other. */
struct taking {
    struct sl_reply reply;
    bool passed;
    bool corrects; /* the phrase before was a correction */
};

static bool names_view(size_t phase)
{
    return phase == SL_PHRASE_OPEN || phase == SL_PHRASE_CLOSED;
}

static void take(struct taking *taking, size_t phase, const struct sl_settings *settings)
{
    struct sl_reply *reply = &taking->reply;
    if (phase == SL_PHRASE_FILLER || phase == SL_PHRASE_CORRECTION) {
        taking->corrects = taking->corrects || phase == SL_PHRASE_CORRECTION;
        return;
    }
    reply->n_phrases++;
    if (names_view(phase)) {
        reply->view_said = true;
        reply->view = phase == SL_PHRASE_OPEN ? SL_VIEW_OPEN : SL_VIEW_CLOSED;
    }
    taking->passed = taking->passed || phase == SL_PHRASE_PASS;
    if (taking->corrects && settings->n_mirrors > 0) {
        reply->said.n_mirrors = 0;
    }
    sl_settings_merge(&reply->said, settings);
    taking->corrects = false;
}

unsigned sl_reply_parts(const struct sl_reply *reply)
{
    return sl_settings_named(&reply->said) | (reply->view_said ? SL_PART_VIEW : 0U);
}

static struct sl_reply taken(const struct taking *taking)
{
    struct sl_reply reply = taking->reply;
    reply.unclear &= ~sl_reply_parts(&reply);
    reply.gave_up = taking->passed && sl_reply_parts(&reply) == 0;
    return reply;
}

/* Takes in the phrases of a part of the text. */
static enum sl_status take_text(struct taking *taking, const struct sl_phrasebook *book,
                                const char *text, size_t length, struct sl_error *error)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    char *part = sl_strf("%.*s", (int)length, text);
    enum sl_status status = part == NULL
                                ? sl_fail_memory(error)
                                : sl_phrasebook_match(book, part, &matches, &n_matches, error);
    free(part);
    for (size_t i = 0; i < n_matches && status == SL_OK; i++) {
        take(taking, book->phrases[matches[i].phrase].phase, &matches[i].settings);
    }
    free(matches);
    return status;
}

/* Whether numbers answer anything: not in the book of scenes. */
static bool knows_settings(const struct sl_phrasebook *book)
{
    for (size_t i = 0; i < book->n_phrases; i++) {
        if (book->phrases[i].phase == SL_PHRASE_SETTING) {
            return true;
        }
    }
    return false;
}

enum sl_status sl_reply_from_text(const struct sl_phrasebook *book, const char *text,
                                  struct sl_reply *reply, struct sl_error *error)
{
    struct taking taking = {0};
    enum sl_status status = SL_OK;
    bool numbers = knows_settings(book);
    const char *from = text; /* what is between numbers */
    const char *at = text;
    while (*at != '\0' && status == SL_OK) {
        struct sl_settings settings = {0};
        size_t length = numbers ? sl_typed_number(text, at, &settings) : 0;
        if (length == 0) {
            at++;
            continue;
        }
        status = take_text(&taking, book, from, (size_t)(at - from), error);
        take(&taking, SL_PHRASE_SETTING, &settings);
        at += length;
        from = at;
    }
    if (status == SL_OK) {
        status = take_text(&taking, book, from, (size_t)(at - from), error);
    }
    if (status == SL_OK) {
        *reply = taken(&taking);
    }
    return status;
}

struct sl_reply sl_reply_from_heard(const struct sl_heard_list *heard)
{
    struct taking taking = {0};
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->unclear) {
            taking.reply.unclear |= sl_settings_named(&item->settings);
            taking.reply.unclear |= names_view(item->phase) ? SL_PART_VIEW : 0U;
        } else {
            take(&taking, item->phase, &item->settings);
        }
    }
    return taken(&taking);
}

static bool part_is_right(const struct sl_question *question, const struct sl_reply *reply,
                          unsigned part)
{
    if (part == SL_PART_VIEW) {
        return reply->view == question->view;
    }
    return sl_wanted_is_right((enum sl_setting)part, &reply->said, &question->wanted) &&
           (part != SL_SET_MIRRORS || !question->mirrors_in_order ||
            sl_wanted_in_order(&reply->said, &question->wanted.settings));
}

struct sl_verdict sl_reply_judge(const struct sl_question *question, const struct sl_reply *reply,
                                 double after_s, double quick_s)
{
    struct sl_verdict verdict = {.unclear = question->parts & reply->unclear};
    unsigned said = sl_reply_parts(reply);
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        unsigned part = sl_parts[i] & question->parts & ~verdict.unclear;
        if (part == 0) {
            continue;
        }
        if ((said & part) == 0) {
            verdict.unsaid |= part;
        } else if (part_is_right(question, reply, part)) {
            verdict.right |= part;
        } else {
            verdict.wrong |= part;
        }
    }
    verdict.recalled = after_s > quick_s ? SL_RECALLED_SLOW : SL_RECALLED_QUICK;
    if ((verdict.wrong | verdict.unsaid) != 0) {
        verdict.recalled = SL_RECALLED_WRONG;
    } else if (verdict.unclear != 0) {
        verdict.recalled = SL_RECALLED_UNCLEAR;
    }
    return verdict;
}

enum sl_status sl_recall_drive(const struct sl_driving *driving, struct sl_recall_told *told,
                               struct sl_error *error)
{
    static const enum sl_setting parts[SL_RECALL_CARS_MAX] = {SL_SET_SPEED, SL_SET_GEAR,
                                                              SL_SET_CLUTCH};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < SL_RECALL_CARS_MAX && status == SL_OK; i++) {
        struct sl_recall_car *car = &told->cars[told->n_cars];
        if ((told->verdict.wrong & (unsigned)parts[i]) != 0) {
            car->part = parts[i];
            status =
                sl_drive_with_setting(driving, parts[i], &told->reply->said, &car->told, error);
            told->n_cars += status == SL_OK && car->told.what != NULL ? 1 : 0;
        }
    }
    return status;
}

void sl_recall_cars_clear(struct sl_recall_told *told)
{
    for (size_t i = 0; i < told->n_cars; i++) {
        free(told->cars[i].told.what);
        free(told->cars[i].told.reason);
    }
    told->n_cars = 0;
}

char *sl_parts_words(unsigned parts, enum sl_view view, const struct sl_settings *settings)
{
    struct sl_settings kept = sl_settings_only(settings, parts);
    struct sl_str text = {0};
    char *words = sl_settings_words(&kept);
    if (words == NULL) {
        return NULL;
    }
    if ((parts & SL_PART_VIEW) != 0) {
        sl_str_addf(&text, "%s%s", sl_view_word(view), words[0] != '\0' ? ", " : "");
    }
    sl_str_add(&text, words);
    free(words);
    return sl_str_take(&text);
}

void sl_recall_sum_add(struct sl_recall_sum *sum, const struct sl_verdict *verdict)
{
    sum->asked++;
    sum->recalled[verdict->recalled]++;
    for (size_t bit = 0; bit < SL_PART_COUNT; bit++) {
        unsigned part = 1U << bit;
        bool judged = ((verdict->right | verdict->wrong | verdict->unsaid) & part) != 0;
        sum->part_asked[bit] += judged ? 1 : 0;
        sum->part_right[bit] += (verdict->right & part) != 0 ? 1 : 0;
    }
}
