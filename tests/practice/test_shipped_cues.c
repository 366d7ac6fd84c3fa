/* Cues and the model commentary of every junction and routine that ships, with the shipped voice's
 * own lengths. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "core/commentary.h"
#include "files/models.h"
#include "practice/cue_voice.h"

typedef void check(const struct sl_cueing *cueing, struct sl_cue_list *list);

static void free_names(char **names, size_t n_names)
{
    for (size_t i = 0; i < n_names; i++) {
        free(names[i]);
    }
    free(names);
}

static void with_junction(const char *name, const struct sl_routine *routine,
                          struct sl_cue_voice *voice, check *test)
{
    struct sl_junction junction = {0};
    struct sl_car car = {0};
    struct sl_plan plan = {0};
    struct sl_cue_list list = {0};
    assert_int_equal(sl_load_junction(name, &junction, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &car, NULL), SL_OK);
    assert_int_equal(sl_plan_make(&junction, routine, &car, &plan, NULL), SL_OK);
    struct sl_cueing cueing = {.junction = &junction,
                               .routine = routine,
                               .plan = &plan,
                               .length_s = sl_cue_voice_length_s,
                               .user = voice};
    test(&cueing, &list);
    sl_cue_list_clear(&list);
    sl_junction_clear(&junction);
    sl_car_clear(&car);
}

static void with_all(check *test)
{
    char **routines = NULL;
    char **junctions = NULL;
    size_t n_routines = 0;
    size_t n_junctions = 0;
    struct sl_cue_voice *voice = NULL;
    struct sl_cue_voice_choice choice = {0};
    assert_int_equal(sl_models_list("routines", &routines, &n_routines, NULL), SL_OK);
    assert_int_equal(sl_models_list("junctions", &junctions, &n_junctions, NULL), SL_OK);
    assert_true(n_routines >= 2 && n_junctions >= 30);
    assert_int_equal(sl_cue_voice_open(&choice, &voice, NULL), SL_OK);
    for (size_t r = 0; r < n_routines; r++) {
        struct sl_routine routine = {0};
        assert_int_equal(sl_load_routine(routines[r], &routine, NULL), SL_OK);
        for (size_t j = 0; j < n_junctions; j++) {
            with_junction(junctions[j], &routine, voice, test);
        }
        sl_routine_clear(&routine);
    }
    sl_cue_voice_close(voice);
    free_names(routines, n_routines);
    free_names(junctions, n_junctions);
}

static void check_apart(const struct sl_cue_list *list)
{
    for (size_t i = 1; i < list->count; i++) {
        assert_true(list->items[i].at_s >= list->items[i - 1].end_s);
    }
}

static void check_cues(const struct sl_cueing *cueing, struct sl_cue_list *list)
{
    for (int level = 0; level < SL_PROMPTING_COUNT; level++) {
        assert_int_equal(sl_cues_make(cueing, (enum sl_prompting)level, list, NULL), SL_OK);
        check_apart(list);
        size_t phases = 0;
        for (size_t i = 0; i < list->count; i++) {
            const struct sl_cue *cue = &list->items[i];
            assert_true(cue->at_s <= cueing->plan->line_s);
            phases += cue->kind == SL_CUE_PHASE ? 1 : 0;
            assert_true(cue->kind != SL_CUE_PHASE ||
                        cue->end_s <= cueing->plan->windows[cue->phase].due_s);
        }
        bool full = level == SL_PROMPTING_FULL;
        assert_int_equal(phases, full ? cueing->routine->n_phases : 0);
    }
}

static void cues_of_shipped_junctions_keep_apart_and_ask_for_every_phase(void **state)
{
    (void)state;
    with_all(check_cues);
}

/* A cue that named a setting would give the answer away; 'Mirrors?' names the phase alone. */
static void check_questions(const struct sl_cueing *cueing, struct sl_cue_list *list)
{
    assert_int_equal(sl_cues_make(cueing, SL_PROMPTING_FULL, list, NULL), SL_OK);
    for (size_t i = 0; i < list->count; i++) {
        struct sl_text_match *matches = NULL;
        size_t n_matches = 0;
        if (list->items[i].kind != SL_CUE_PHASE) {
            continue;
        }
        assert_int_equal(sl_phrasebook_match(&cueing->routine->phrasebook, list->items[i].text,
                                             &matches, &n_matches, NULL),
                         SL_OK);
        for (size_t k = 0; k < n_matches; k++) {
            assert_int_equal(sl_settings_named(&matches[k].settings), 0);
        }
        free(matches);
    }
}

static void no_question_gives_the_answer_away(void **state)
{
    (void)state;
    with_all(check_questions);
}

/* What the whole text of a phrase means to the phrasebook. */
static struct sl_settings meaning(const struct sl_routine *routine, const struct sl_cue *cue)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    struct sl_settings named = {0};
    assert_int_equal(
        sl_phrasebook_match(&routine->phrasebook, cue->text, &matches, &n_matches, NULL), SL_OK);
    assert_true(n_matches > 0);
    for (size_t i = 0; i < n_matches; i++) {
        assert_int_equal(routine->phrasebook.phrases[matches[i].phrase].phase, cue->phase);
        sl_settings_merge(&named, &matches[i].settings);
    }
    free(matches);
    return named;
}

static void check_model(const struct sl_cueing *cueing, struct sl_cue_list *list)
{
    assert_int_equal(sl_commentary_make(cueing, list, NULL), SL_OK);
    assert_int_equal(list->count, cueing->routine->n_phases);
    check_apart(list);
    for (size_t i = 0; i < list->count; i++) {
        const struct sl_cue *cue = &list->items[i];
        const struct sl_window *window = &cueing->plan->windows[i];
        assert_int_equal(cue->kind, SL_CUE_MODEL);
        assert_int_equal(cue->phase, i);
        assert_true(cue->at_s >= window->opens_s && cue->at_s <= window->closes_s);
        struct sl_wanted wanted =
            sl_routine_wanted(cueing->routine, i, cueing->junction, cueing->plan->view);
        if (sl_settings_named(&wanted.settings) == 0) {
            wanted.settings.decision = SL_DECISION_GO; /* left to the traffic */
        }
        struct sl_settings named = meaning(cueing->routine, cue);
        assert_true(sl_settings_equal(&named, &wanted.settings));
    }
}

static void the_model_is_understood_as_all_that_is_wanted_at_its_time(void **state)
{
    (void)state;
    with_all(check_model);
}

/* Marked as if it had been heard perfectly. */
static void check_model_mark(const struct sl_cueing *cueing, struct sl_cue_list *list)
{
    struct sl_heard_list heard = {0};
    struct sl_mark mark = {0};
    assert_int_equal(sl_commentary_make(cueing, list, NULL), SL_OK);
    for (size_t i = 0; i < list->count; i++) {
        struct sl_heard one = {.phase = i,
                               .text = list->items[i].text,
                               .start_s = list->items[i].at_s,
                               .end_s = list->items[i].end_s,
                               .confidence = 0.9,
                               .settings = meaning(cueing->routine, &list->items[i])};
        assert_int_equal(sl_heard_add(&heard, &one, NULL), SL_OK);
    }
    struct sl_task task = {.routine = cueing->routine,
                           .junction = cueing->junction,
                           .plan = cueing->plan,
                           .options = {.timed = true}};
    assert_int_equal(sl_mark_make(&task, &heard, &mark, NULL), SL_OK);
    assert_int_equal(mark.n_faults, 0);
    assert_true(mark.scores.overall > 99.99);
    sl_mark_clear(&mark);
    sl_heard_clear(&heard);
}

static void the_model_heard_perfectly_scores_full(void **state)
{
    (void)state;
    with_all(check_model_mark);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cues_of_shipped_junctions_keep_apart_and_ask_for_every_phase),
        cmocka_unit_test(no_question_gives_the_answer_away),
        cmocka_unit_test(the_model_is_understood_as_all_that_is_wanted_at_its_time),
        cmocka_unit_test(the_model_heard_perfectly_scores_full),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
