/* The shipped scenes and answers, and files that are wrong. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "files/load_recall.h"
#include "files/models.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static bool has_word(const char *text, const char *word)
{
    for (const char *at = text; *at != '\0'; at++) {
        if (strncasecmp(at, word, strlen(word)) == 0) {
            return true;
        }
    }
    return false;
}

static void shipped_scenes_are_many_mixed_and_give_nothing_away(void **state)
{
    (void)state;
    struct sl_scene_list scenes = {0};
    assert_int_equal(sl_load_scenes(NULL, &scenes, NULL), SL_OK);
    size_t n_open = 0;
    for (size_t i = 0; i < scenes.count; i++) {
        const struct sl_scene *scene = &scenes.items[i];
        n_open += scene->view == SL_VIEW_OPEN ? 1 : 0;
        if (has_word(scene->see, "open") || has_word(scene->see, "closed")) {
            fail_msg("%s says which it is", scene->id);
        }
        assert_true(scene->kind < SL_KIND_COUNT && scene->turn < SL_TURN_COUNT);
        assert_true(scene->why[strlen(scene->why) - 1] == '.');
    }
    assert_true(scenes.count >= 40);
    /* Who always says the same is right about half the time. */
    assert_in_range(n_open * 100 / scenes.count, 40, 60);
    sl_scene_list_clear(&scenes);
}

static void shipped_scenes_name_what_hides_a_road(void **state)
{
    (void)state;
    static const char *const words[] = {"hedge",  "wall",       "parked",         "fence",
                                        "bend",   "lorry",      "low brick wall", "railings",
                                        "fields", "half a mile"};
    struct sl_scene_list scenes = {0};
    assert_int_equal(sl_load_scenes(NULL, &scenes, NULL), SL_OK);
    for (size_t j = 0; j < COUNT_OF(words); j++) {
        size_t n = 0;
        for (size_t i = 0; i < scenes.count; i++) {
            n += has_word(scenes.items[i].see, words[j]) ? 1 : 0;
        }
        if (n == 0) {
            fail_msg("no scene has '%s'", words[j]);
        }
    }
    sl_scene_list_clear(&scenes);
}

static void wrong_scenes_are_refused_with_their_place(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text, *where;
    } rows[] = {
        {"no scenes", "a: 1\n", "s.yaml:1"},
        {"empty", "scenes: []\n", "s.yaml:1"},
        {"no view", "scenes:\n  - {id: a, see: b., why: c.}\n", "s.yaml:2"},
        {"no such view", "scenes:\n  - {id: a, see: b., view: half, why: c.}\n", "s.yaml:2"},
        {"no such kind", "scenes:\n  - {id: a, kind: x, see: b., view: open, why: c.}\n",
         "s.yaml:2"},
        {"unknown key", "scenes:\n  - {id: a, sea: b., view: open, why: c.}\n", "s.yaml:2"},
        {"one id twice",
         "scenes:\n  - {id: a, see: b., view: open, why: c.}\n  - {id: a, see: b., view: open, "
         "why: c.}\n",
         "s.yaml:3"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_scene_list scenes = {0};
        struct sl_error error = {0};
        assert_int_not_equal(sl_parse_scenes(rows[i].text, "s.yaml", &scenes, &error), SL_OK);
        if (error.where == NULL ||
            strncmp(error.where, rows[i].where, strlen(rows[i].where)) != 0 || error.mend == NULL) {
            fail_msg("%s: %s: %s", rows[i].name, error.where, error.what);
        }
        sl_error_clear(&error);
    }
}

static void shipped_answers_go_with_every_shipped_routine(void **state)
{
    (void)state;
    static const char *const names[] = {"decide-last", "position-look"};
    struct sl_phrasebook answers = {0};
    assert_int_equal(sl_load_answers(&answers, NULL), SL_OK);
    for (size_t i = 0; i < COUNT_OF(names); i++) {
        struct sl_routine routine = {0};
        struct sl_phrasebook book = {0};
        struct sl_reply reply = {0};
        assert_int_equal(sl_load_routine(names[i], &routine, NULL), SL_OK);
        assert_int_equal(sl_recall_book_make(&routine.phrasebook, &answers, &book, NULL), SL_OK);
        assert_int_equal(sl_reply_from_text(&book,
                                            "open second gear clutch up ten, interior and left "
                                            "mirror, signal left",
                                            &reply, NULL),
                         SL_OK);
        char *words = sl_parts_words((unsigned)SL_SET_ALL | SL_PART_VIEW, reply.view, &reply.said);
        assert_string_equal(
            words, "open, interior and left mirror, signal left, 10 mph, second gear, clutch up");
        free(words);
        static const struct {
            const char *text;
            enum sl_view view;
        } views[] = {{"it's open", SL_VIEW_OPEN},
                     {"The view is closed.", SL_VIEW_CLOSED},
                     {"not open", SL_VIEW_CLOSED},
                     {"not closed", SL_VIEW_OPEN}};
        for (size_t j = 0; j < COUNT_OF(views); j++) {
            assert_int_equal(sl_reply_from_text(&book, views[j].text, &reply, NULL), SL_OK);
            assert_true(reply.view_said && reply.view == views[j].view);
        }
        assert_int_equal(sl_reply_from_text(&book, "I don't know", &reply, NULL), SL_OK);
        assert_true(reply.gave_up);
        sl_phrasebook_clear(&book);
        sl_routine_clear(&routine);
    }
    sl_phrasebook_clear(&answers);
}

static void wrong_answers_are_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "open: [open]\n",
        "open: [open]\nclosed: [closed]\npass: [pass]\nsettings: [ten]\nmore: [x]\n",
        "open: [\"(open\"]\nclosed: [closed]\npass: [pass]\nsettings: [ten]\n",
    };
    for (size_t i = 0; i < COUNT_OF(texts); i++) {
        struct sl_phrasebook answers = {0};
        struct sl_error error = {0};
        assert_int_equal(sl_parse_answers(texts[i], "a.yaml", &answers, &error), SL_INVALID);
        assert_non_null(error.mend);
        sl_error_clear(&error);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_scenes_are_many_mixed_and_give_nothing_away),
        cmocka_unit_test(shipped_scenes_name_what_hides_a_road),
        cmocka_unit_test(wrong_scenes_are_refused_with_their_place),
        cmocka_unit_test(shipped_answers_go_with_every_shipped_routine),
        cmocka_unit_test(wrong_answers_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
