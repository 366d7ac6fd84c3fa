/* Questions in words, answers taken apart, and what they are worth. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "core/recall.h"
#include "support/routine_fixture.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/* A small book of answers; the slots' settings are what a routine would give them. */
static struct sl_phrasebook answer_book(void)
{
    static const struct {
        size_t phase;
        const char *pattern;
        struct sl_settings settings;
    } rows[] = {
        {GEAR, "first gear", {.gear = 1}},
        {GEAR, "second gear", {.gear = 2}},
        {GEAR, "clutch up", {.clutch = SL_CLUTCH_UP}},
        {GEAR, "clutch down", {.clutch = SL_CLUTCH_DOWN}},
        {MIRRORS, "interior mirror", {.mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1}},
        {MIRRORS, "left mirror", {.mirrors = {SL_MIRROR_LEFT}, .n_mirrors = 1}},
        {MIRRORS, "right mirror", {.mirrors = {SL_MIRROR_RIGHT}, .n_mirrors = 1}},
        {SIGNAL, "signal left", {.signal = SL_SIGNAL_LEFT}},
        {SPEED, "ten miles an hour", {.speed_mps = 4.4704}},
        {SL_PHRASE_SETTING, "ten", {.speed_mps = 4.4704}},
        {SL_PHRASE_SETTING, "five", {.speed_mps = 2.2352}},
        {SL_PHRASE_OPEN, "open", {.gear = 0}},
        {SL_PHRASE_CLOSED, "closed", {.gear = 0}},
        {SL_PHRASE_PASS, "pass", {.gear = 0}},
        {SL_PHRASE_FILLER, "so", {.gear = 0}},
        {SL_PHRASE_CORRECTION, "no", {.gear = 0}},
    };
    struct sl_phrasebook book = {.phrases = calloc(COUNT_OF(rows), sizeof *book.phrases)};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        book.phrases[book.n_phrases++] = (struct sl_phrase){.phase = rows[i].phase,
                                                            .pattern = sl_strdup(rows[i].pattern),
                                                            .settings = rows[i].settings};
    }
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    return book;
}

static struct sl_reply reply_to(const char *text)
{
    struct sl_phrasebook book = answer_book();
    struct sl_reply reply = {0};
    assert_int_equal(sl_reply_from_text(&book, text, &reply, NULL), SL_OK);
    sl_phrasebook_clear(&book);
    return reply;
}

static char *in_words(const struct sl_reply *reply)
{
    unsigned parts = (unsigned)SL_SET_ALL | (reply->view_said ? SL_PART_VIEW : 0U);
    return sl_parts_words(parts, reply->view, &reply->said);
}

static void typed_answers_are_taken_apart_in_any_order(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"open second gear clutch up ten", "open, 10 mph, second gear, clutch up"},
        {"TEN, clutch up; 2nd gear. Open!", "open, 10 mph, second gear, clutch up"},
        {"closed 5", "closed, 5 mph"},
        {"10mph", "10 mph"},
        {"10 mph", "10 mph"},
        {"so open, no, closed", "closed"},
        {"interior mirror, left mirror, signal left", "interior and left mirror, signal left"},
        {"interior mirror, left mirror, no, right mirror", "right mirror"},
        {"1st gear no 2nd gear", "second gear"},
        {"123456789 open", "open"},
        {"what?", ""},
        {"", ""},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_reply reply = reply_to(rows[i].text);
        char *words = in_words(&reply);
        assert_string_equal(words, rows[i].words);
        assert_true((reply.n_phrases > 0) == (rows[i].words[0] != '\0'));
        free(words);
    }
}

/* Every way to type a number says the same; those that fit nothing say nothing. */
static void numbers_may_be_figures_or_words_with_a_unit_or_without(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"4 mph", "4 mph"},
        {"4mph", "4 mph"},
        {"four mph", "4 mph"},
        {"Four miles an hour", "4 mph"},
        {"4 miles per hour", "4 mph"},
        {"four m.p.h.", "4 mph"},
        {"about 4 MPH, open", "open, 4 mph"},
        {"4", "4 mph"},
        {"four", "4 mph"},
        {"speed 3", "3 mph"},
        {"3 mph", "3 mph"},
        {"twenty-five mph", "25 mph"},
        {"twenty five", "25 mph"},
        {"16.09 km/h", "10 mph"},
        {"1st", "first gear"},
        {"first", "first gear"},
        {"1", "first gear"},
        {"gear 1", "first gear"},
        {"gear: one", "first gear"},
        {"one gear", "first gear"},
        {"4th", "fourth gear"},
        {"gear four", "fourth gear"},
        {"Fourth gear", "fourth gear"},
        {"5 1 clutch down closed", "closed, 5 mph, first gear, clutch down"},
        {"5 gear 1", "5 mph, first gear"},
        {"5 second gear", "5 mph, second gear"},
        {"10, 2nd, clutch up", "10 mph, second gear, clutch up"},
        {"4 mph no 5 mph", "5 mph"},
        {"no one", ""},
        {"two cars", ""},
        {"5 seconds", ""},
        {"20 m", ""},
        {"0 mph", ""},
        {"gear 9", ""},
        {"1000 mph", ""},
        {"a1 b2", ""},
        {"seconds", ""},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_reply reply = reply_to(rows[i].text);
        char *words = in_words(&reply);
        if (strcmp(words, rows[i].words) != 0) {
            fail_msg("'%s': '%s', not '%s'", rows[i].text, words, rows[i].words);
        }
        free(words);
    }
}

static void pass_counts_only_when_nothing_else_is_said(void **state)
{
    (void)state;
    assert_true(reply_to("pass").gave_up);
    assert_false(reply_to("pass, no, open").gave_up);
    assert_false(reply_to("hm").gave_up);
    assert_int_equal(reply_to("pass").n_phrases, 1);
}

static struct sl_question question_at(const struct sl_routine *routine,
                                      const struct sl_junction *junction)
{
    struct sl_question question = {0};
    assert_int_equal(sl_question_of_junction(routine, junction, junction->view, &question, NULL),
                     SL_OK);
    return question;
}

static struct sl_junction left_at_a_t(enum sl_view view)
{
    struct sl_junction junction = fixture_junction();
    junction.name = "corner";
    junction.view = view;
    return junction;
}

static void a_question_does_not_give_the_view_away(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    for (int kind = 0; kind < SL_KIND_COUNT; kind++) {
        for (int view = 0; view < SL_VIEW_COUNT; view++) {
            struct sl_junction junction = left_at_a_t((enum sl_view)view);
            junction.kind = (enum sl_kind)kind;
            struct sl_question question = question_at(&routine, &junction);
            assert_null(strstr(question.text, "open"));
            assert_null(strstr(question.text, "closed"));
            assert_non_null(strstr(question.text, sl_kind_title(junction.kind)));
            assert_non_null(strstr(question.text, "You turn left."));
            sl_question_clear(&question);
        }
    }
    sl_routine_clear(&routine);
}

static void a_question_asks_for_what_the_routine_carries(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    struct sl_junction junction = left_at_a_t(SL_VIEW_OPEN);
    struct sl_question question = question_at(&routine, &junction);
    assert_string_equal(question.ask, "Open or closed? Speed, gear, clutch, mirrors, signal?");
    assert_string_equal(question.id, "fixture/corner");
    sl_question_clear(&question);
    junction.control = SL_CONTROL_STOP;
    junction.signal_misleads = true;
    question = question_at(&routine, &junction);
    assert_non_null(strstr(question.ask, "decision"));
    assert_non_null(strstr(question.text, "stop line"));
    assert_non_null(strstr(question.text, "would mislead"));
    assert_int_equal(question.wanted.settings.signal, SL_SIGNAL_NONE);
    sl_question_clear(&question);
    sl_routine_clear(&routine);
}

/* Open: 10 mph, second gear, clutch up; closed: under 5 mph, first gear, clutch down. Common
 * practice for learners, no source; here the figures of the fixture. */
static void answers_are_judged_part_by_part(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text;
        enum sl_view view;
        unsigned wrong, unsaid;
        enum sl_recalled recalled;
    } rows[] = {
        {"all right", "open ten second gear clutch up interior mirror left mirror signal left",
         SL_VIEW_OPEN, 0, 0, SL_RECALLED_QUICK},
        {"closed taken for open",
         "open ten second gear clutch up interior mirror left mirror signal left", SL_VIEW_CLOSED,
         SL_PART_VIEW | SL_SET_SPEED | SL_SET_GEAR | SL_SET_CLUTCH, 0, SL_RECALLED_WRONG},
        {"mirrors in the wrong order",
         "open ten second gear clutch up left mirror interior mirror signal left", SL_VIEW_OPEN,
         SL_SET_MIRRORS, 0, SL_RECALLED_WRONG},
        {"five is right at a closed one, first gear left out",
         "closed five clutch down interior mirror left mirror signal left", SL_VIEW_CLOSED, 0,
         SL_SET_GEAR, SL_RECALLED_WRONG},
        {"passed", "pass", SL_VIEW_OPEN, 0,
         SL_PART_VIEW | SL_SET_SPEED | SL_SET_GEAR | SL_SET_CLUTCH | SL_SET_MIRRORS | SL_SET_SIGNAL,
         SL_RECALLED_WRONG},
    };
    struct sl_routine routine = fixture_routine();
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_junction junction = left_at_a_t(rows[i].view);
        struct sl_question question = question_at(&routine, &junction);
        struct sl_reply reply = reply_to(rows[i].text);
        struct sl_verdict verdict = sl_reply_judge(&question, &reply, 1.0, 3.0);
        if (verdict.wrong != rows[i].wrong || verdict.unsaid != rows[i].unsaid ||
            verdict.recalled != rows[i].recalled) {
            fail_msg("%s: wrong %x, unsaid %x, %s", rows[i].name, verdict.wrong, verdict.unsaid,
                     sl_recalled_word(verdict.recalled));
        }
        assert_int_equal(verdict.right | verdict.wrong | verdict.unsaid, question.parts);
        sl_question_clear(&question);
    }
    sl_routine_clear(&routine);
}

static struct sl_question scene_question(enum sl_view view)
{
    static char id[] = "wall";
    static char see[] = "A wall stands at the line.";
    static char why[] = "The wall hides the road.";
    struct sl_scene scene = {.id = id,
                             .kind = SL_KIND_COUNT,
                             .turn = SL_TURN_COUNT,
                             .view = view,
                             .see = see,
                             .why = why};
    struct sl_question question = {0};
    assert_int_equal(sl_question_of_scene(&scene, &question, NULL), SL_OK);
    return question;
}

static void scenes_ask_for_the_view_alone(void **state)
{
    (void)state;
    struct sl_question question = scene_question(SL_VIEW_CLOSED);
    assert_string_equal(question.id, "scene/wall");
    assert_string_equal(question.text, "A wall stands at the line.");
    assert_string_equal(question.ask, "Open or closed?");
    struct sl_reply reply = reply_to("closed, first gear");
    assert_int_equal(sl_reply_judge(&question, &reply, 0, 3).right, SL_PART_VIEW);
    reply = reply_to("open");
    assert_int_equal(sl_reply_judge(&question, &reply, 0, 3).wrong, SL_PART_VIEW);
    sl_question_clear(&question);
}

static void slow_is_what_begins_after_the_limit(void **state)
{
    (void)state;
    struct sl_question question = scene_question(SL_VIEW_OPEN);
    struct sl_reply reply = reply_to("open");
    assert_int_equal(sl_reply_judge(&question, &reply, 3.0, 3.0).recalled, SL_RECALLED_QUICK);
    assert_int_equal(sl_reply_judge(&question, &reply, 3.1, 3.0).recalled, SL_RECALLED_SLOW);
    sl_question_clear(&question);
}

static void add_heard(struct sl_heard_list *list, size_t phase, bool unclear,
                      const struct sl_settings *settings)
{
    static char text[] = "words";
    struct sl_heard heard = {
        .phase = phase, .text = text, .unclear = unclear, .settings = *settings};
    assert_int_equal(sl_heard_add(list, &heard, NULL), SL_OK);
}

static void what_is_unclear_is_neither_right_nor_wrong(void **state)
{
    (void)state;
    struct sl_heard_list list = {0};
    const struct sl_settings none = {0};
    add_heard(&list, SL_PHRASE_CLOSED, true, &none);
    struct sl_question question = scene_question(SL_VIEW_OPEN);
    struct sl_reply reply = sl_reply_from_heard(&list);
    struct sl_verdict verdict = sl_reply_judge(&question, &reply, 1, 3);
    assert_int_equal(verdict.unclear, SL_PART_VIEW);
    assert_int_equal(verdict.recalled, SL_RECALLED_UNCLEAR);
    add_heard(&list, SL_PHRASE_OPEN, false, &none);
    reply = sl_reply_from_heard(&list);
    assert_int_equal(sl_reply_judge(&question, &reply, 1, 3).right, SL_PART_VIEW);
    sl_heard_clear(&list);
    sl_question_clear(&question);
}

static void the_sum_counts_parts_that_were_judged(void **state)
{
    (void)state;
    struct sl_recall_sum sum = {0};
    struct sl_verdict first = {.right = SL_SET_GEAR,
                               .wrong = SL_PART_VIEW,
                               .unclear = SL_SET_SPEED,
                               .recalled = SL_RECALLED_WRONG};
    sl_recall_sum_add(&sum, &first);
    sl_recall_sum_add(&sum,
                      &(struct sl_verdict){.right = SL_PART_VIEW, .recalled = SL_RECALLED_SLOW});
    assert_int_equal(sum.asked, 2);
    assert_int_equal(sum.recalled[SL_RECALLED_WRONG], 1);
    assert_int_equal(sum.recalled[SL_RECALLED_SLOW], 1);
    assert_int_equal(sum.part_asked[7], 2);
    assert_int_equal(sum.part_right[7], 1);
    assert_int_equal(sum.part_asked[2], 0); /* speed: unclear */
    assert_int_equal(sum.part_right[3], 1); /* gear */
}

static void the_scenes_book_knows_no_settings(void **state)
{
    (void)state;
    struct sl_phrasebook answers = answer_book();
    struct sl_phrasebook routine = answer_book();
    struct sl_phrasebook both = {0};
    struct sl_phrasebook scene = {0};
    assert_int_equal(sl_recall_book_make(&routine, &answers, &both, NULL), SL_OK);
    assert_int_equal(sl_recall_book_make(NULL, &answers, &scene, NULL), SL_OK);
    assert_int_equal(both.n_phrases, 2 * answers.n_phrases);
    struct sl_reply reply = {0};
    assert_int_equal(sl_reply_from_text(&scene, "ten", &reply, NULL), SL_OK);
    assert_int_equal(reply.n_phrases, 0);
    assert_int_equal(sl_reply_from_text(&scene, "closed", &reply, NULL), SL_OK);
    assert_true(reply.view_said && reply.view == SL_VIEW_CLOSED);
    sl_phrasebook_clear(&answers);
    sl_phrasebook_clear(&routine);
    sl_phrasebook_clear(&both);
    sl_phrasebook_clear(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(typed_answers_are_taken_apart_in_any_order),
        cmocka_unit_test(numbers_may_be_figures_or_words_with_a_unit_or_without),
        cmocka_unit_test(pass_counts_only_when_nothing_else_is_said),
        cmocka_unit_test(a_question_does_not_give_the_view_away),
        cmocka_unit_test(a_question_asks_for_what_the_routine_carries),
        cmocka_unit_test(answers_are_judged_part_by_part),
        cmocka_unit_test(scenes_ask_for_the_view_alone),
        cmocka_unit_test(slow_is_what_begins_after_the_limit),
        cmocka_unit_test(what_is_unclear_is_neither_right_nor_wrong),
        cmocka_unit_test(the_sum_counts_parts_that_were_judged),
        cmocka_unit_test(the_scenes_book_knows_no_settings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
