/* The automaton says what the graph says, no more and no less, and is as small as can be. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/automaton.h"
#include "support/book.h"
#include "support/random.h"
#include "support/texts.h"

static char *with(const char *text, const char *word)
{
    return sl_strf("%s%s%s", text, word != NULL && *text != '\0' ? " " : "",
                   word != NULL ? word : "");
}

static void graph_says(const struct sl_graph *graph, size_t state, const char *text,
                       struct texts *texts)
{
    for (size_t i = 0; i < graph->n_arcs; i++) {
        if (graph->arcs[i].from == state) {
            char *longer = with(text, graph->arcs[i].word);
            if (graph->arcs[i].to == 0) {
                add_text(texts, longer);
            } else {
                graph_says(graph, graph->arcs[i].to, longer, texts);
            }
            free(longer);
        }
    }
}

static void automaton_says(const struct sl_automaton *automaton, const struct sl_graph *graph,
                           size_t state, const char *text, struct texts *texts)
{
    for (size_t i = 0; i < automaton->n_steps; i++) {
        const struct sl_automaton_step *step = &automaton->steps[i];
        if (step->from == state) {
            bool end = step->word == SL_AUTOMATON_END;
            char *longer = with(text, end ? NULL : graph->words[step->word]);
            assert_int_equal(end, step->to == 0);
            if (end) {
                assert_false(has_text(texts, longer)); /* there is one way to say a text */
                add_text(texts, longer);
            } else {
                automaton_says(automaton, graph, step->to, longer, texts);
            }
            free(longer);
        }
    }
}

static void assert_no_word_leads_two_ways(const struct sl_automaton *automaton)
{
    for (size_t i = 0; i < automaton->n_steps; i++) {
        for (size_t k = 0; k < i; k++) {
            assert_true(automaton->steps[i].from != automaton->steps[k].from ||
                        automaton->steps[i].word != automaton->steps[k].word);
        }
    }
}

static bool same_texts(const struct texts *a, const struct texts *b)
{
    bool same = a->count == b->count;
    for (size_t i = 0; i < a->count && same; i++) {
        same = has_text(b, a->items[i]);
    }
    return same;
}

/* Two states after which the same can be said would be one in the smallest automaton (Myhill and
 * Nerode's theorem, as in Hopcroft, Motwani and Ullman, chapter 4; from memory). */
static void assert_smallest(const struct sl_automaton *automaton, const struct sl_graph *graph)
{
    struct texts *after = calloc(automaton->n_states, sizeof *after);
    assert_non_null(after);
    for (size_t state = 1; state < automaton->n_states; state++) {
        automaton_says(automaton, graph, state, "", &after[state]);
        assert_true(after[state].count > 0);
        for (size_t other = 1; other < state; other++) {
            assert_false(same_texts(&after[state], &after[other]));
        }
    }
    for (size_t state = 1; state < automaton->n_states; state++) {
        clear_texts(&after[state]);
    }
    free(after);
}

static size_t word_index(const struct sl_graph *graph, const char *word, size_t length)
{
    size_t i = 0;
    while (i < graph->n_words &&
           (strncmp(graph->words[i], word, length) != 0 || graph->words[i][length] != '\0')) {
        i++;
    }
    assert_true(i < graph->n_words);
    return i;
}

static size_t indices_of(const struct sl_graph *graph, const char *text, size_t words[64])
{
    size_t n = 0;
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, " ");
        assert_true(n < 64);
        words[n++] = word_index(graph, at, length);
        at += length + strspn(at + length, " ");
    }
    return n;
}

/* True when empty arcs lead from one state to another. */
static bool empty_way(const struct sl_graph *graph, size_t from, size_t to)
{
    bool there = from == to;
    for (size_t i = 0; i < graph->n_arcs && !there && from != 0; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        there = arc->from == from && arc->word == NULL && empty_way(graph, arc->to, to);
    }
    return there;
}

/* That the arcs are a way of one phrase that says the words. */
static void assert_way(const struct sl_graph *graph, const size_t *words, size_t n, bool whole,
                       const size_t *arcs)
{
    for (size_t i = 0; i < n; i++) {
        const struct sl_arc *arc = &graph->arcs[arcs[i]];
        assert_string_equal(arc->word, graph->words[words[i]]);
        assert_int_equal(arc->phrase, graph->arcs[arcs[0]].phrase);
        assert_true(i == 0 ? arc->from == 0
                           : empty_way(graph, graph->arcs[arcs[i - 1]].to, arc->from));
    }
    assert_true(!whole || empty_way(graph, graph->arcs[arcs[n - 1]].to, 0));
}

static void assert_traced(const struct sl_graph *graph, const struct texts *texts)
{
    for (size_t i = 0; i < texts->count; i++) {
        size_t words[64];
        size_t arcs[64];
        size_t n = indices_of(graph, texts->items[i], words);
        assert_true(sl_graph_trace(graph, words, n, true, arcs));
        assert_way(graph, words, n, true, arcs);
        for (size_t begun = 1; begun <= n; begun++) {
            assert_true(sl_graph_trace(graph, words, begun, false, arcs));
            assert_way(graph, words, begun, false, arcs);
            char *text = sl_strdup("");
            for (size_t k = 0; k < begun; k++) {
                char *longer = with(text, graph->words[words[k]]);
                free(text);
                text = longer;
            }
            assert_int_equal(sl_graph_trace(graph, words, begun, true, arcs),
                             has_text(texts, text));
            free(text);
        }
    }
}

static void check_book(struct sl_phrasebook *book)
{
    struct sl_automaton automaton = {0};
    struct texts wanted = {0};
    struct texts found = {0};
    assert_int_equal(sl_phrasebook_compile(book, NULL), SL_OK);
    assert_int_equal(sl_automaton_make(&book->graph, &automaton, NULL), SL_OK);
    graph_says(&book->graph, 0, "", &wanted);
    automaton_says(&automaton, &book->graph, 0, "", &found);
    assert_true(same_texts(&wanted, &found));
    assert_no_word_leads_two_ways(&automaton);
    assert_smallest(&automaton, &book->graph);
    assert_traced(&book->graph, &wanted);
    clear_texts(&wanted);
    clear_texts(&found);
    sl_automaton_clear(&automaton);
}

static void it_says_what_the_phrases_say(void **state)
{
    (void)state;
    static const char *const books[][6] = {
        {"a"},
        {"a", "a"},
        {"a", "a b", "a b c"},
        {"[a] b", "b a", "[b] [a] b"},
        {"a b c", "d b c", "b c"},
        {"(a | b) (a | b)", "a [b] c", "[(a | b)] c"},
        {"i'm rear-view", "rear-view [i'm]"},
    };
    for (size_t i = 0; i < COUNT_OF(books); i++) {
        struct sl_phrasebook book = {0};
        for (size_t k = 0; books[i][k] != NULL; k++) {
            add_phrase(&book, k, books[i][k], none);
        }
        check_book(&book);
        sl_phrasebook_clear(&book);
    }
}

/* A pattern that cannot be said with no word: one word stands outside brackets. */
static char *random_pattern(uint64_t *seed)
{
    struct sl_str pattern = {0};
    size_t n = 1 + random_below(seed, 5);
    size_t firm = random_below(seed, n);
    for (size_t i = 0; i < n; i++) {
        char one = (char)('a' + random_below(seed, 4));
        char other = (char)('a' + random_below(seed, 4));
        sl_str_add(&pattern, i > 0 ? " " : "");
        if (i == firm) {
            sl_str_addf(&pattern, "%c", one);
        } else {
            switch (random_below(seed, 4)) {
            case 0:
                sl_str_addf(&pattern, "[%c]", one);
                break;
            case 1:
                sl_str_addf(&pattern, "[%c | %c]", one, other);
                break;
            case 2:
                sl_str_addf(&pattern, "[%c [%c]]", one, other);
                break;
            default:
                sl_str_addf(&pattern, "(%c | %c)", one, other);
                break;
            }
        }
    }
    return sl_str_take(&pattern);
}

static void so_it_does_for_random_books(void **state)
{
    (void)state;
    uint64_t seed = 7;
    for (size_t i = 0; i < 200; i++) {
        struct sl_phrasebook book = {0};
        size_t n = 1 + random_below(&seed, 4);
        for (size_t k = 0; k < n; k++) {
            char *pattern = random_pattern(&seed);
            add_phrase(&book, k, pattern, none);
            free(pattern);
        }
        check_book(&book);
        sl_phrasebook_clear(&book);
    }
}

static void of_phrases_that_say_the_same_the_first_is_found(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    size_t words[64];
    size_t arcs[64];
    add_phrase(&book, 0, "b a", none);
    add_phrase(&book, 1, "a [b]", none);
    add_phrase(&book, 2, "(a | b) b", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    size_t n = indices_of(&book.graph, "a b", words);
    assert_true(sl_graph_trace(&book.graph, words, n, true, arcs));
    assert_int_equal(book.graph.arcs[arcs[0]].phrase, 1);
    n = indices_of(&book.graph, "b b", words);
    assert_true(sl_graph_trace(&book.graph, words, n, true, arcs));
    assert_int_equal(book.graph.arcs[arcs[0]].phrase, 2);
    n = indices_of(&book.graph, "b b a", words);
    assert_false(sl_graph_trace(&book.graph, words, n, true, arcs));
    assert_false(sl_graph_trace(&book.graph, words, n, false, arcs));
    assert_false(sl_graph_trace(&book.graph, words, 0, false, arcs));
    sl_phrasebook_clear(&book);
}

/* Where an "a" may be any of the last words but one, the last ones have all to be kept in mind:
 * 2^14 states. */
static void a_book_that_would_grow_too_large_is_refused(void **state)
{
    (void)state;
    struct sl_str pattern = {0};
    for (size_t i = 0; i < 14; i++) {
        sl_str_add(&pattern, "[(a | b)] ");
    }
    sl_str_add(&pattern, "a");
    for (size_t i = 0; i < 14; i++) {
        sl_str_add(&pattern, " (a | b)");
    }
    struct sl_phrasebook book = {0};
    struct sl_automaton automaton = {0};
    struct sl_error error = {0};
    add_phrase(&book, 0, sl_str_text(&pattern), none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(sl_automaton_make(&book.graph, &automaton, &error), SL_TOO_LARGE);
    assert_non_null(strstr(error.mend, "optional"));
    assert_int_equal(automaton.n_states, 0);
    sl_error_clear(&error);
    sl_str_clear(&pattern);
    sl_phrasebook_clear(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_says_what_the_phrases_say),
        cmocka_unit_test(so_it_does_for_random_books),
        cmocka_unit_test(of_phrases_that_say_the_same_the_first_is_found),
        cmocka_unit_test(a_book_that_would_grow_too_large_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
