/* What was said wrong on the way to a junction is asked again in the recall drill. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "files/recall_state.h"
#include "practice/recall_slips.h"
#include "store/history_scene.h"

#define DAY_S 86400.0
#define RUN_AT_S 1750000000.0 /* of every run of the scene */

#define WRONG_GEAR                                                                                 \
    "mirrors interior left @4; signal left @8; speed 10 @12; gear 3 up @16; decide go @24"
#define WRONG_SIGNAL                                                                               \
    "mirrors interior left @4; signal right @8; speed 10 @12; gear 2 up @16; decide go @24"
#define LATE_GEAR                                                                                  \
    "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22; decide go @25"

static void load_stock(struct sl_recall_stock *stock)
{
    static const char *const junctions[] = {"t-left-open", "t-right-closed"};
    const struct sl_recall_wish wish = {.routine = "decide-last",
                                        .car = "small-petrol",
                                        .settings = true,
                                        .scenes = true,
                                        .junctions = junctions,
                                        .n_junctions = 2};
    *stock = (struct sl_recall_stock){0};
    assert_int_equal(sl_recall_stock_load(stock, &wish, NULL), SL_OK);
}

static double *slips_of(struct scene *scene, const struct sl_recall_stock *stock,
                        const char *learner)
{
    const struct sl_history_of of = {learner, "decide-last", &stock->routine};
    double *slipped_s = NULL;
    assert_int_equal(sl_recall_slips(scene->history, &of, stock, &slipped_s, NULL), SL_OK);
    return slipped_s;
}

static void a_setting_said_wrong_is_a_slip_at_its_junction(void **state)
{
    (void)state;
    static const struct {
        const char *name, *script;
        unsigned seed; /* not 0: driven */
        enum where where;
        bool slip;
    } rows[] = {
        {"all right", CLEAN, 0, T_LEFT, false},
        {"late is no wrong setting", LATE_GEAR, 0, T_LEFT, false},
        {"rehearsed", WRONG_GEAR, 0, T_LEFT, true},
        {"driven", WRONG_GEAR, 7, T_LEFT, true},
        {"the signal, rehearsed", WRONG_SIGNAL, 0, T_LEFT, true},
        {"the signal, driven: others may mislead", CLEAN, 7, LEFT_MISLEADS, false},
        {"the decision, driven: others may come", CLEAN, 7, BUSY, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct scene scene;
        struct sl_recall_stock stock;
        load_stock(&stock);
        stock.questions[0].parts |= SL_SET_DECISION; /* as at a stop line */
        scene_begin(&scene);
        add(&scene, (struct told){.learner = "Ada",
                                  .script = rows[i].script,
                                  .seed = rows[i].seed,
                                  .where = rows[i].where});
        double *ada = slips_of(&scene, &stock, "Ada");
        double *ben = slips_of(&scene, &stock, "Ben");
        if (ada[0] != (rows[i].slip ? RUN_AT_S : 0.0)) {
            fail_msg("%s: %f", rows[i].name, ada[0]);
        }
        for (size_t k = 0; k < stock.n_questions; k++) {
            assert_true(k == 0 || ada[k] == 0.0); /* elsewhere, and scenes */
            assert_true(ben[k] == 0.0);
        }
        free(ada);
        free(ben);
        scene_end(&scene);
        sl_recall_stock_clear(&stock);
    }
}

/* Answers the first question rightly, or with fifth gear, and ends. */
struct asked {
    bool wrong_gear;
    const char *id;
    bool slipped;
    char car[80]; /* what the car would have done */
};

static enum sl_status ask(void *user, const struct sl_recall_turn *turn,
                          struct sl_recall_answer *answer, struct sl_error *error)
{
    struct asked *asked = user;
    (void)error;
    answer->ended = turn->number > 1;
    asked->slipped = turn->number > 1 ? asked->slipped : turn->slipped;
    asked->id = turn->number > 1 ? asked->id : turn->question->id;
    answer->quick_s = SL_QUICK_S;
    answer->reply = (struct sl_reply){.view_said = true,
                                      .view = turn->question->view,
                                      .said = turn->question->wanted.settings,
                                      .n_phrases = 1};
    answer->reply.said.gear = asked->wrong_gear ? 5 : answer->reply.said.gear;
    return SL_OK;
}

static bool told(void *user, const struct sl_recall_told *what)
{
    struct asked *asked = user;
    assert_in_range(what->n_cars, 0, 1);
    if (what->n_cars == 1) {
        assert_int_equal(what->cars[0].part, SL_SET_GEAR);
        strncpy(asked->car, sl_consequence_word(what->cars[0].told.kind), sizeof asked->car - 1);
    }
    return true;
}

static double now_s(void *user)
{
    (void)user;
    return RUN_AT_S + DAY_S;
}

static void run_one(const struct sl_recall_stock *stock, const char *path, const double *slipped_s,
                    struct asked *asked)
{
    /* Known well and asked the day before the run; the other half forgotten. */
    const struct sl_memory well = {30 * DAY_S, RUN_AT_S - DAY_S, 5, 5};
    const struct sl_memory half = {DAY_S, RUN_AT_S, 2, 1};
    for (size_t i = 0; i < stock->n_questions; i++) {
        const struct sl_memory *memory = i == 1 ? &half : &well;
        assert_int_equal(sl_recall_state_put(path, stock->questions[i].id, memory, NULL), SL_OK);
    }
    const struct sl_recall_options options = {
        .count = 2, .seed = 1, .state = path, .slipped_s = slipped_s};
    const struct sl_recall_asker asker = {.ask = ask, .told = told, .now_s = now_s, .user = asked};
    struct sl_recall_sum sum = {0};
    assert_int_equal(sl_recall_run(stock, &options, &asker, &sum, NULL), SL_OK);
}

static void a_slip_in_a_drive_is_due_before_what_is_half_forgotten(void **state)
{
    (void)state;
    struct scene scene;
    struct sl_recall_stock stock;
    char path[TEMP_PATH_MAX];
    struct asked before = {0};
    struct asked after = {0};
    load_stock(&stock);
    scene_begin(&scene);
    temp_folder_name(&scene.folder, "recall.json", path);
    add(&scene, (struct told){.learner = "Ada", .script = WRONG_GEAR, .seed = 7});
    double *slipped_s = slips_of(&scene, &stock, "Ada");
    run_one(&stock, path, NULL, &before);
    run_one(&stock, path, slipped_s, &after);
    assert_string_equal(before.id, "decide-last/t-right-closed");
    assert_string_equal(after.id, "decide-last/t-left-open");
    assert_true(after.slipped && !before.slipped);
    free(slipped_s);
    scene_end(&scene);
    sl_recall_stock_clear(&stock);
}

static void a_wrong_gear_is_driven_and_a_right_one_is_not(void **state)
{
    (void)state;
    struct scene scene;
    struct sl_recall_stock stock;
    char path[TEMP_PATH_MAX];
    struct asked right = {0};
    struct asked wrong = {.wrong_gear = true};
    const double slipped_s[64] = {[0] = RUN_AT_S + 1};
    load_stock(&stock);
    assert_true(stock.n_questions <= 64);
    scene_begin(&scene);
    temp_folder_name(&scene.folder, "recall.json", path);
    run_one(&stock, path, slipped_s, &right);
    run_one(&stock, path, slipped_s, &wrong);
    assert_string_equal(right.car, "");
    assert_string_equal(wrong.id, "decide-last/t-left-open");
    assert_string_equal(wrong.car, "stall");
    scene_end(&scene);
    sl_recall_stock_clear(&stock);
}

/* Answers everything wrongly, so that it comes back, and counts. */
struct noted {
    const char *id; /* of the question with the slip */
    size_t asked, slipped;
};

static enum sl_status note(void *user, const struct sl_recall_turn *turn,
                           struct sl_recall_answer *answer, struct sl_error *error)
{
    struct noted *noted = user;
    bool is_it = strcmp(turn->question->id, noted->id) == 0;
    (void)error;
    noted->asked += is_it ? 1 : 0;
    noted->slipped += is_it && turn->slipped ? 1 : 0;
    assert_true(is_it || !turn->slipped); /* never asked, and no slip */
    answer->quick_s = SL_QUICK_S;
    answer->reply = (struct sl_reply){.said = {.gear = 5}, .n_phrases = 1};
    return SL_OK;
}

static bool pass_over(void *user, const struct sl_recall_told *what)
{
    (void)user;
    (void)what;
    return true;
}

static void a_slip_is_told_until_the_question_is_answered(void **state)
{
    (void)state;
    struct scene scene;
    struct sl_recall_stock stock;
    char path[TEMP_PATH_MAX];
    const double slipped_s[64] = {[0] = RUN_AT_S};
    load_stock(&stock);
    assert_true(stock.n_questions <= 64);
    scene_begin(&scene);
    temp_folder_name(&scene.folder, "recall.json", path);
    struct noted noted = {.id = stock.questions[0].id};
    const struct sl_recall_options options = {
        .count = 12, .seed = 1, .state = path, .slipped_s = slipped_s};
    const struct sl_recall_asker asker = {
        .ask = note, .told = pass_over, .now_s = now_s, .user = &noted};
    const struct sl_memory known = {30 * DAY_S, RUN_AT_S - DAY_S, 5, 5};
    struct sl_recall_sum sum = {0};
    assert_int_equal(sl_recall_state_put(path, noted.id, &known, NULL), SL_OK);
    assert_int_equal(sl_recall_run(&stock, &options, &asker, &sum, NULL), SL_OK);
    assert_true(noted.asked >= 2);
    assert_int_equal(noted.slipped, 1);
    scene_end(&scene);
    sl_recall_stock_clear(&stock);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_setting_said_wrong_is_a_slip_at_its_junction),
        cmocka_unit_test(a_slip_in_a_drive_is_due_before_what_is_half_forgotten),
        cmocka_unit_test(a_slip_is_told_until_the_question_is_answered),
        cmocka_unit_test(a_wrong_gear_is_driven_and_a_right_one_is_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
