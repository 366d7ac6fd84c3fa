#include "report/recall_text.h"

#include "core/units.h"
#include "files/models.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

static const struct sl_style style = {.width = 78};

struct fixture {
    struct sl_routine routine;
    struct sl_question settings, scene;
};

static int set_up(void **state)
{
    struct fixture *fixture = calloc(1, sizeof *fixture);
    struct sl_junction junction = {0};
    struct sl_scene scene = {.id = (char[]){"hedge"},
                             .kind = SL_KIND_COUNT,
                             .turn = SL_TURN_COUNT,
                             .view = SL_VIEW_CLOSED,
                             .see = (char[]){"A hedge runs up to the line."},
                             .why = (char[]){"Nothing is seen until the line."}};
    assert_int_equal(sl_load_routine("decide-last", &fixture->routine, NULL), SL_OK);
    assert_int_equal(sl_load_junction("t-left-open", &junction, NULL), SL_OK);
    assert_int_equal(sl_question_of_junction(&fixture->routine, &junction, SL_VIEW_OPEN,
                                             &fixture->settings, NULL),
                     SL_OK);
    assert_int_equal(sl_question_of_scene(&scene, &fixture->scene, NULL), SL_OK);
    sl_junction_clear(&junction);
    *state = fixture;
    return 0;
}

static int tear_down(void **state)
{
    struct fixture *fixture = *state;
    sl_question_clear(&fixture->settings);
    sl_question_clear(&fixture->scene);
    sl_routine_clear(&fixture->routine);
    free(fixture);
    return 0;
}

/* What is told of an answer that began 1.25 s after the question; the caller frees. */
static char *told_of(const struct sl_question *question, const struct sl_reply *reply,
                     size_t back_after)
{
    struct sl_str out = {0};
    struct sl_recall_told told = {.number = 1,
                                  .count = 5,
                                  .question = question,
                                  .reply = reply,
                                  .verdict = sl_reply_judge(question, reply, 1.25, SL_QUICK_S),
                                  .after_s = 1.25,
                                  .back_after = back_after,
                                  .back_in_s = 86400};
    sl_report_recall(&out, &told, &style);
    return sl_str_take(&out);
}

static void assert_has(const char *text, const char *part)
{
    if (strstr(text, part) == NULL) {
        fail_msg("no \"%s\" in:\n%s", part, text);
    }
}

static void a_question_has_its_number_and_what_is_asked(void **state)
{
    struct fixture *fixture = *state;
    struct sl_str out = {0};
    sl_report_question(&out, &fixture->scene, 3, 10, 78);
    assert_string_equal(sl_str_text(&out),
                        "\nQuestion 3 of 10: A hedge runs up to the line.\nOpen or closed?\n");
    sl_str_clear(&out);
}

static void a_right_answer_has_its_reason_and_its_return(void **state)
{
    struct fixture *fixture = *state;
    struct sl_reply reply = {.view_said = true, .view = SL_VIEW_CLOSED, .n_phrases = 1};
    char *text = told_of(&fixture->scene, &reply, 0);
    assert_has(text, "Right: closed. Nothing is seen until the line.\n");
    assert_has(text, "It comes back in about 1 day.\n");
    assert_null(strstr(text, "Wrong"));
    free(text);
}

static void wrong_unsaid_and_unclear_parts_are_told_apart(void **state)
{
    struct fixture *fixture = *state;
    struct sl_reply reply = {.view_said = true, .view = SL_VIEW_CLOSED, .n_phrases = 3};
    reply.said.gear = 2;
    reply.said.speed_mps = sl_mps_from_mph(5);
    reply.unclear = SL_SET_CLUTCH;
    char *text = told_of(&fixture->settings, &reply, 3);
    assert_has(text, "Right: second gear.\n");
    assert_has(text, "Wrong: view: you said closed; right is open.");
    assert_has(text, "Wrong: speed: you said 5 mph; right is 10 mph (8 to 12 mph");
    assert_has(text, "Not said: signal; right is signal left.");
    assert_has(text, "Unclear: clutch; it counts for nothing, right is clutch up.");
    assert_has(text, "It comes back after 3 other questions.\n");
    free(text);
}

static void who_passes_is_told_the_answer_once(void **state)
{
    struct fixture *fixture = *state;
    struct sl_reply reply = {.gave_up = true, .n_phrases = 1};
    char *text = told_of(&fixture->settings, &reply, 0);
    assert_has(text,
               "The answer: open, interior and left mirror, signal left, 10 mph, second gear,");
    assert_null(strstr(text, "Not said"));
    assert_has(text, "It comes back early in the next session.");
    free(text);
}

static void colour_is_added_to_the_word_and_changes_no_text(void **state)
{
    struct fixture *fixture = *state;
    struct sl_reply reply = {.view_said = true, .view = SL_VIEW_OPEN, .n_phrases = 1};
    struct sl_recall_told told = {.question = &fixture->scene,
                                  .reply = &reply,
                                  .verdict = sl_reply_judge(&fixture->scene, &reply, 1, 3)};
    struct sl_style coloured = {.width = 78, .colour = true};
    struct sl_str out = {0};
    sl_report_recall(&out, &told, &coloured);
    assert_has(sl_str_text(&out), "\033[31mWrong\033[0m: view: you said open");
    sl_str_clear(&out);
}

static void the_sum_counts_answers_and_parts(void **state)
{
    (void)state;
    struct sl_recall_sum sum = {0};
    struct sl_str out = {0};
    struct sl_verdict good = {.right = SL_PART_VIEW | SL_SET_GEAR, .recalled = SL_RECALLED_QUICK};
    struct sl_verdict bad = {
        .right = SL_PART_VIEW, .wrong = SL_SET_GEAR, .recalled = SL_RECALLED_WRONG};
    sl_recall_sum_add(&sum, &good);
    sl_recall_sum_add(&sum, &bad);
    sl_report_recall_sum(&out, &sum, &style);
    assert_string_equal(sl_str_text(&out),
                        "\n2 answered: 1 right at once, 0 right but slow, 1 wrong, 0 unclear.\n"
                        "Right by part: view 2 of 2, gear 1 of 2.\n");
    sl_str_clear(&out);
}

static void durations_are_said_in_the_unit_that_fits(void **state)
{
    (void)state;
    static const struct {
        double time_s;
        const char *words;
    } rows[] = {{900, "15 minutes"}, {60, "1 minute"},         {3590, "1 hour"},
                {3600, "1 hour"},    {21600, "6 hours"},       {86400, "1 day"},
                {129600, "2 days"},  {86400 * 30.0, "30 days"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_str out = {0};
        sl_add_duration(&out, rows[i].time_s);
        assert_string_equal(sl_str_text(&out), rows[i].words);
        sl_str_clear(&out);
    }
}

static void what_the_car_would_have_done_is_told_in_a_sentence(void **state)
{
    const struct fixture *fixture = *state;
    const struct sl_question *question = &fixture->settings;
    const struct sl_reply reply = {.said = {.gear = 5, .speed_mps = sl_mps_from_mph(20)}};
    struct sl_str out = {0};
    const struct sl_recall_told told = {
        .question = question,
        .reply = &reply,
        .verdict = sl_reply_judge(question, &reply, 1, SL_QUICK_S),
        .cars = {{SL_SET_SPEED, {.what = (char[]){"The car was too fast"}}},
                 {SL_SET_GEAR, {.what = (char[]){"The engine stalled"}}}},
        .n_cars = 2};
    sl_report_recall(&out, &told, &style);
    assert_has(sl_str_text(&out), "\nWith 20 mph: The car was too fast.\n");
    assert_has(sl_str_text(&out), "\nWith fifth gear: The engine stalled.\n");
    sl_str_clear(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_question_has_its_number_and_what_is_asked, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_right_answer_has_its_reason_and_its_return, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(wrong_unsaid_and_unclear_parts_are_told_apart, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(who_passes_is_told_the_answer_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(colour_is_added_to_the_word_and_changes_no_text, set_up,
                                        tear_down),
        cmocka_unit_test(the_sum_counts_answers_and_parts),
        cmocka_unit_test(durations_are_said_in_the_unit_that_fits),
        cmocka_unit_test_setup_teardown(what_the_car_would_have_done_is_told_in_a_sentence, set_up,
                                        tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
