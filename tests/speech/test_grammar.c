#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/hand_book.h"

#include "speech/grammar.h"

static struct sl_grammar made;
static struct sl_routine routine;

static int set_up(void **state)
{
    (void)state;
    routine = hand_routine();
    struct sl_pronunciations list = {0};
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    assert_int_equal(sl_pronunciations_parse(hand_pronunciations, "hand", &list, NULL), SL_OK);
    assert_int_equal(sl_grammar_make(&routine.phrasebook.graph, &list, &settings, &made, NULL),
                     SL_OK);
    sl_pronunciations_clear(&list);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    sl_grammar_clear(&made);
    hand_clear(&routine);
    return 0;
}

static void names_are_unique(void **state)
{
    (void)state;
    for (size_t i = 0; i < made.n_words; i++) {
        for (size_t j = 0; j < i; j++) {
            assert_string_not_equal(made.words[i].name, made.words[j].name);
        }
    }
}

/* Which states are reached from the hub (forwards) or reach the hub (backwards). */
static void spread(bool *reached, bool forwards)
{
    reached[0] = true;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < made.n_steps; i++) {
            size_t from = forwards ? made.steps[i].from : made.steps[i].to;
            size_t to = forwards ? made.steps[i].to : made.steps[i].from;
            more = more || (reached[from] && !reached[to]);
            reached[to] = reached[to] || reached[from];
        }
    }
}

static void every_state_is_on_a_way_from_hub_to_hub(void **state)
{
    (void)state;
    bool *there = calloc(made.n_states, sizeof(*there));
    bool *back = calloc(made.n_states, sizeof(*back));
    spread(there, true);
    spread(back, false);
    for (size_t i = 0; i < made.n_states; i++) {
        assert_true(there[i]);
        assert_true(back[i]);
    }
    free(there);
    free(back);
}

static void every_pronunciation_of_every_arc_has_a_step(void **state)
{
    (void)state;
    const struct sl_graph *graph = &routine.phrasebook.graph;
    for (size_t arc = 0; arc < graph->n_arcs; arc++) {
        size_t n = 0;
        for (size_t i = 0; i < made.n_steps; i++) {
            size_t word = made.steps[i].word;
            if (word != SL_GRAMMAR_NONE && made.words[word].arc == arc) {
                assert_int_equal(made.steps[i].from, graph->arcs[arc].from);
                assert_int_equal(made.steps[i].to, graph->arcs[arc].to);
                n++;
            }
        }
        bool two = strcmp(graph->arcs[arc].word, "clear") == 0 ||
                   strcmp(graph->arcs[arc].word, "second") == 0 ||
                   strcmp(graph->arcs[arc].word, "to") == 0;
        assert_int_equal(n, two ? 2 : 1);
    }
}

static void only_first_words_and_loop_phones_cost(void **state)
{
    (void)state;
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    size_t phones = 0;
    for (size_t i = 0; i < made.n_steps; i++) {
        const struct sl_grammar_step *step = &made.steps[i];
        if (made.words[step->word].arc == SL_GRAMMAR_NONE) {
            phones++;
            assert_int_equal(step->from, 0);
            assert_int_equal(step->to, 0);
            assert_true(step->weight_log10 == settings.loop_log10);
        } else {
            double wanted = step->from == 0 ? settings.entry_log10 : 0;
            assert_true(step->weight_log10 == wanted);
        }
    }
    assert_int_equal(phones, 39);
}

static void a_word_without_pronunciation_is_refused(void **state)
{
    (void)state;
    struct sl_pronunciations list = {0};
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_grammar grammar = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_pronunciations_parse("interior IH N T IH R IY ER\n", "hand", &list, NULL),
                     SL_OK);
    assert_int_equal(sl_grammar_make(&routine.phrasebook.graph, &list, &settings, &grammar, &error),
                     SL_INVALID);
    assert_string_equal(error.where, "mirror");
    assert_non_null(strstr(error.mend, "mirror PHONE"));
    assert_int_equal(grammar.n_words, 0);
    sl_error_clear(&error);
    sl_pronunciations_clear(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_are_unique),
        cmocka_unit_test(every_state_is_on_a_way_from_hub_to_hub),
        cmocka_unit_test(every_pronunciation_of_every_arc_has_a_step),
        cmocka_unit_test(only_first_words_and_loop_phones_cost),
        cmocka_unit_test(a_word_without_pronunciation_is_refused),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
