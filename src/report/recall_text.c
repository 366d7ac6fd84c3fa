#include "report/recall_text.h"

#include "core/wanted.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MINUTE_S 60.0
#define HOUR_S 3600.0
#define DAY_S 86400.0

void sl_add_duration(struct sl_str *out, double time_s)
{
    const char *unit = "minute";
    double n = round(time_s / MINUTE_S);
    if (time_s >= DAY_S) {
        unit = "day";
        n = round(time_s / DAY_S);
    } else if (n >= 60.0) {
        unit = "hour";
        n = round(time_s / HOUR_S);
    }
    sl_str_addf(out, "%.0f %s%s", n, unit, n == 1.0 ? "" : "s");
}

void sl_report_question(struct sl_str *out, const struct sl_question *question, size_t number,
                        size_t count, int width)
{
    struct sl_str label = {0};
    sl_str_addf(&label, "Question %zu of %zu: ", number, count);
    sl_str_addf(out, "\n");
    struct sl_str text = {0};
    sl_str_addf(&text, "%s%s", sl_str_text(&label), question->text);
    sl_text_fact(out, "", sl_str_text(&text), width);
    sl_text_fact(out, "", question->ask, width);
    sl_str_clear(&text);
    sl_str_clear(&label);
}

/* A word in its tint, then the sentence, wrapped as one. */
static void add_line(struct sl_str *out, const char *word, enum sl_tint tint, struct sl_str *text,
                     const struct sl_style *style)
{
    struct sl_str plain = {0};
    sl_str_addf(&plain, "%s: %s", word, sl_str_text(text));
    struct sl_str wrapped = {0};
    sl_text_fact(&wrapped, "", sl_str_text(&plain), style->width);
    sl_text_tinted(out, word, tint, style->colour);
    sl_str_add(out, sl_str_text(&wrapped) + strlen(word));
    sl_str_clear(&wrapped);
    sl_str_clear(&plain);
    sl_str_clear(text);
}

static void add_words(struct sl_str *text, unsigned parts, enum sl_view view,
                      const struct sl_settings *settings)
{
    char *words = sl_parts_words(parts, view, settings);
    text->failed = text->failed || words == NULL;
    sl_str_add(text, words == NULL ? "" : words);
    free(words);
}

/* Telling part by part; a reason that was just given is not given again. */
struct telling {
    const struct sl_recall_told *told;
    const struct sl_style *style;
    const char *last_reason;
};

/* "right is 10 mph (8 to 12 mph counts as right). Why." */
static void add_right_answer(struct sl_str *text, struct telling *telling, unsigned part)
{
    const struct sl_question *question = telling->told->question;
    const char *reason = sl_question_reason(question, part);
    sl_str_add(text, "right is ");
    add_words(text, part, question->view, &question->wanted.settings);
    if (part == SL_SET_SPEED) {
        sl_wanted_add_accepted(text, &question->wanted);
    }
    sl_str_add(text, ".");
    if (reason != telling->last_reason) {
        sl_str_addf(text, " %s", reason);
    }
    telling->last_reason = reason;
}

static void add_wrong(struct sl_str *out, struct telling *telling, unsigned part)
{
    const struct sl_reply *reply = telling->told->reply;
    struct sl_str text = {0};
    sl_str_addf(&text, "%s: you said ", sl_part_title(part));
    add_words(&text, part, reply->view, &reply->said);
    sl_str_add(&text, "; ");
    add_right_answer(&text, telling, part);
    add_line(out, "Wrong", SL_TINT_BAD, &text, telling->style);
}

static void add_unsaid(struct sl_str *out, struct telling *telling, unsigned part)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%s; ", sl_part_title(part));
    add_right_answer(&text, telling, part);
    add_line(out, "Not said", SL_TINT_BAD, &text, telling->style);
}

static void add_unclear(struct sl_str *out, struct telling *telling, unsigned part)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "%s; it counts for nothing, ", sl_part_title(part));
    add_right_answer(&text, telling, part);
    add_line(out, "Unclear", SL_TINT_UNSURE, &text, telling->style);
}

/* Who passed is told the whole answer in a line, not each part as a fault. */
static void add_answer(struct sl_str *out, const struct sl_recall_told *told,
                       const struct sl_style *style)
{
    const struct sl_question *question = told->question;
    struct sl_str text = {0};
    add_words(&text, question->parts, question->view, &question->wanted.settings);
    sl_str_addf(&text, ". %s", sl_question_reason(question, SL_PART_VIEW));
    add_line(out, "The answer", SL_TINT_BAD, &text, style);
}

static void add_right(struct sl_str *out, const struct sl_recall_told *told,
                      const struct sl_style *style)
{
    struct sl_str text = {0};
    unsigned right = told->verdict.right;
    add_words(&text, right, told->question->view, &told->question->wanted.settings);
    sl_str_add(&text, ".");
    if ((right & SL_PART_VIEW) != 0) {
        sl_str_addf(&text, " %s", sl_question_reason(told->question, SL_PART_VIEW));
    }
    add_line(out, "Right", SL_TINT_GOOD, &text, style);
}

/* What the car would have done with what was said. */
static void add_cars(struct sl_str *out, const struct sl_recall_told *told,
                     const struct sl_style *style)
{
    const struct sl_question *question = told->question;
    for (size_t i = 0; i < told->n_cars; i++) {
        const struct sl_recall_car *car = &told->cars[i];
        struct sl_str label = {0};
        struct sl_str text = {0};
        sl_str_add(&label, "With ");
        add_words(&label, (unsigned)car->part, question->view, &told->reply->said);
        sl_str_addf(&text, "%s.", car->told.what);
        out->failed = out->failed || label.failed;
        add_line(out, sl_str_text(&label), SL_TINT_NONE, &text, style);
        sl_str_clear(&label);
    }
}

static void add_return(struct sl_str *out, const struct sl_recall_told *told,
                       const struct sl_style *style)
{
    struct sl_str text = {0};
    enum sl_recalled recalled = told->verdict.recalled;
    sl_str_addf(&text, "Answered after %.1f s%s. ", told->after_s,
                recalled == SL_RECALLED_SLOW ? ", which is slow" : "");
    if (told->back_after > 0) {
        sl_str_addf(&text, "It comes back after %zu other questions.", told->back_after);
    } else if (recalled == SL_RECALLED_WRONG || recalled == SL_RECALLED_UNCLEAR) {
        sl_str_add(&text, "It comes back early in the next session.");
    } else {
        sl_str_add(&text, "It comes back in about ");
        sl_add_duration(&text, told->back_in_s);
        sl_str_add(&text, ".");
    }
    sl_text_fact(out, "", sl_str_text(&text), style->width);
    sl_str_clear(&text);
}

static void add_missed(struct sl_str *out, const struct sl_recall_told *told,
                       const struct sl_style *style)
{
    const struct sl_verdict *verdict = &told->verdict;
    struct telling telling = {.told = told, .style = style};
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        unsigned part = sl_parts[i];
        if ((verdict->wrong & part) != 0) {
            add_wrong(out, &telling, part);
        } else if ((verdict->unsaid & part) != 0) {
            add_unsaid(out, &telling, part);
        } else if ((verdict->unclear & part) != 0) {
            add_unclear(out, &telling, part);
        }
    }
}

void sl_report_recall(struct sl_str *out, const struct sl_recall_told *told,
                      const struct sl_style *style)
{
    if (told->verdict.right != 0) {
        add_right(out, told, style);
    }
    if (told->reply->gave_up) {
        add_answer(out, told, style);
    } else {
        add_missed(out, told, style);
    }
    add_cars(out, told, style);
    add_return(out, told, style);
}

void sl_report_recall_sum(struct sl_str *out, const struct sl_recall_sum *sum,
                          const struct sl_style *style)
{
    struct sl_str text = {0};
    const size_t *recalled = sum->recalled;
    sl_str_addf(&text,
                "%zu answered: %zu right at once, %zu right but slow, %zu wrong, %zu "
                "unclear.",
                sum->asked, recalled[SL_RECALLED_QUICK], recalled[SL_RECALLED_SLOW],
                recalled[SL_RECALLED_WRONG], recalled[SL_RECALLED_UNCLEAR]);
    sl_str_add(out, "\n");
    sl_text_fact(out, "", sl_str_text(&text), style->width);
    sl_str_clear(&text);
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        size_t bit = 0;
        while (1U << bit != sl_parts[i]) {
            bit++;
        }
        if (sum->part_asked[bit] > 0) {
            sl_str_addf(&text, "%s%s %zu of %zu",
                        text.length > 0 ? ", " : "Right by part: ", sl_part_title(sl_parts[i]),
                        sum->part_right[bit], sum->part_asked[bit]);
        }
    }
    if (text.length > 0) {
        sl_str_add(&text, ".");
        sl_text_fact(out, "", sl_str_text(&text), style->width);
    }
    sl_str_clear(&text);
}
