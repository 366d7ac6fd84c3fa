#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/hand_book.h"

#include "core/automaton.h"
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

static void every_pronunciation_of_every_word_has_a_step(void **state)
{
    (void)state;
    const struct sl_graph *graph = &routine.phrasebook.graph;
    struct sl_automaton automaton = {0};
    assert_int_equal(sl_automaton_make(graph, &automaton, NULL), SL_OK);
    for (size_t word = 0; word < graph->n_words; word++) {
        size_t n_said = 0; /* steps of the automaton */
        for (size_t i = 0; i < automaton.n_steps; i++) {
            n_said += automaton.steps[i].word == word ? 1 : 0;
        }
        size_t n_words = 0;
        size_t n_steps = 0;
        for (size_t i = 0; i < made.n_words; i++) {
            n_words += made.words[i].word == word ? 1 : 0;
        }
        for (size_t i = 0; i < made.n_steps; i++) {
            size_t taken = made.steps[i].word;
            n_steps += taken != SL_GRAMMAR_NONE && made.words[taken].word == word ? 1 : 0;
        }
        bool two = strcmp(graph->words[word], "clear") == 0 ||
                   strcmp(graph->words[word], "second") == 0 ||
                   strcmp(graph->words[word], "to") == 0;
        size_t ways = two ? 2 : 1;
        assert_int_equal(n_words, ways);
        assert_true(n_said > 0);
        assert_int_equal(n_steps, n_said * ways);
    }
    sl_automaton_clear(&automaton);
}

/* "signal left" and "signal right" begin with one step, "clear" leads to others than "not clear".
 */
static void beginnings_are_shared(void **state)
{
    (void)state;
    const struct sl_graph *graph = &routine.phrasebook.graph;
    size_t signal = 0;
    size_t clear = 0;
    for (size_t i = 0; i < made.n_steps; i++) {
        size_t taken = made.steps[i].word;
        if (taken == SL_GRAMMAR_NONE || made.words[taken].word == SL_GRAMMAR_NONE) {
            continue;
        }
        const char *word = graph->words[made.words[taken].word];
        signal += strcmp(word, "signal") == 0 ? 1 : 0;
        clear += strcmp(word, "clear") == 0 ? 1 : 0;
    }
    assert_int_equal(signal, 1);
    assert_int_equal(clear, 4); /* two pronunciations */
}

/* So that the decoder's path shows where phrases end. */
static void phrases_end_with_an_empty_step_and_nothing_else_is_one(void **state)
{
    (void)state;
    for (size_t i = 0; i < made.n_steps; i++) {
        const struct sl_grammar_step *step = &made.steps[i];
        bool phone =
            step->word != SL_GRAMMAR_NONE && made.words[step->word].word == SL_GRAMMAR_NONE;
        assert_int_equal(step->to == 0, phone || step->word == SL_GRAMMAR_NONE);
    }
}

static void only_first_words_and_loop_phones_cost(void **state)
{
    (void)state;
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    size_t phones = 0;
    for (size_t i = 0; i < made.n_steps; i++) {
        const struct sl_grammar_step *step = &made.steps[i];
        if (step->word == SL_GRAMMAR_NONE) {
            assert_true(step->weight_log10 == 0);
        } else if (made.words[step->word].word == SL_GRAMMAR_NONE) {
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
    assert_string_equal(error.where, "clear"); /* the first in the alphabet */
    assert_non_null(strstr(error.mend, "clear PHONE"));
    assert_int_equal(grammar.n_words, 0);
    sl_error_clear(&error);
    sl_pronunciations_clear(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_are_unique),
        cmocka_unit_test(every_state_is_on_a_way_from_hub_to_hub),
        cmocka_unit_test(every_pronunciation_of_every_word_has_a_step),
        cmocka_unit_test(beginnings_are_shared),
        cmocka_unit_test(phrases_end_with_an_empty_step_and_nothing_else_is_one),
        cmocka_unit_test(only_first_words_and_loop_phones_cost),
        cmocka_unit_test(a_word_without_pronunciation_is_refused),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
