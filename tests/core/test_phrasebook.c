#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/book.h"
#include "support/random.h"
#include "support/texts.h"

/* ---- what a pattern means ---- */

static void assert_same_texts(const struct texts *a, const struct texts *b, const char *pattern)
{
    for (size_t i = 0; i < a->count; i++) {
        bool found = false;
        for (size_t j = 0; j < b->count; j++) {
            found = found || strcmp(a->items[i], b->items[j]) == 0;
        }
        if (!found) {
            fail_msg("pattern '%s': '%s' is on one side only", pattern, a->items[i]);
        }
    }
    assert_int_equal(a->count, b->count);
}

static void add_paths(const struct sl_graph *graph, size_t state, const char *so_far,
                      struct texts *texts)
{
    for (size_t i = 0; i < graph->n_arcs; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->from != state) {
            continue;
        }
        char *text = sl_strf("%s%s%s", so_far, arc->word != NULL && *so_far != '\0' ? " " : "",
                             arc->word == NULL ? "" : arc->word);
        if (arc->to == 0) {
            add_text(texts, text);
        } else {
            add_paths(graph, arc->to, text, texts);
        }
        free(text);
    }
}

static struct texts paths_of(const char *pattern)
{
    struct sl_phrasebook book = {0};
    struct sl_error error = {0};
    add_slot(&book, "n");
    add_value(&book, "x", none);
    add_value(&book, "y z", none);
    add_phrase(&book, 0, pattern, none);
    if (sl_phrasebook_compile(&book, &error) != SL_OK) {
        fail_msg("pattern '%s': %s", pattern, error.what);
    }
    assert_graph_is_sound(&book);
    struct texts texts = {0};
    add_paths(&book.graph, 0, "", &texts);
    sl_phrasebook_clear(&book);
    return texts;
}

static void patterns_mean_what_the_header_says(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        const char *texts[9];
    } rows[] = {
        {"a", {"a"}},
        {"a b c", {"a b c"}},
        {"[a] b", {"b", "a b"}},
        {"a [b]", {"a", "a b"}},
        {"[a | b] c", {"c", "a c", "b c"}},
        {"(a | b) (c | d)", {"a c", "a d", "b c", "b d"}},
        {"(a|b c|d)", {"a", "b c", "d"}},
        {"[a] [b] c", {"c", "a c", "b c", "a b c"}},
        {"a [b] [c]", {"a", "a b", "a c", "a b c"}},
        {"([a] b | c [d])", {"b", "a b", "c", "c d"}},
        {"a [b [c [d]]]", {"a", "a b", "a b c", "a b c d"}},
        {"a ([b] | c)", {"a", "a b", "a c"}},
        {"<n>", {"x", "y z"}},
        {"[<n>] a", {"a", "x a", "y z a"}},
        {"<n> <n>", {"x x", "x y z", "y z x", "y z y z"}},
        {"i'm rear-view", {"i'm rear-view"}},
        {"[[[[[[[[a]]]]]]]] b", {"b", "a b"}},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct texts wanted = {0};
        for (size_t j = 0; rows[i].texts[j] != NULL; j++) {
            add_text(&wanted, rows[i].texts[j]);
        }
        struct texts found = paths_of(rows[i].pattern);
        assert_same_texts(&wanted, &found, rows[i].pattern);
        clear_texts(&wanted);
        clear_texts(&found);
    }
}

/* Every text of `left` with every text of `right` behind it. */
static struct texts join(const struct texts *left, const struct texts *right)
{
    struct texts joined = {0};
    for (size_t i = 0; i < left->count; i++) {
        for (size_t j = 0; j < right->count; j++) {
            const char *a = left->items[i];
            const char *b = right->items[j];
            char *text = sl_strf("%s%s%s", a, *a != '\0' && *b != '\0' ? " " : "", b);
            add_text(&joined, text);
            free(text);
        }
    }
    return joined;
}

/* Writes a random sequence to `pattern` and returns all that it can say. */
static struct texts random_sequence(uint64_t *random, int depth, struct sl_str *pattern);

static struct texts random_item(uint64_t *random, int depth, struct sl_str *pattern)
{
    struct texts texts = {0};
    size_t kind = random_below(random, depth > 0 ? 6 : 4);
    if (kind == 3) {
        sl_str_add(pattern, "<n>");
        add_text(&texts, "x");
        add_text(&texts, "y z");
    } else if (kind < 3) {
        const char word[] = {(char)('a' + random_below(random, 4)), '\0'};
        sl_str_add(pattern, word);
        add_text(&texts, word);
    } else {
        sl_str_add(pattern, kind == 4 ? "[" : "(");
        size_t n = 1 + random_below(random, 3);
        for (size_t i = 0; i < n; i++) {
            sl_str_add(pattern, i == 0 ? "" : "|");
            struct texts more = random_sequence(random, depth - 1, pattern);
            for (size_t j = 0; j < more.count; j++) {
                add_text(&texts, more.items[j]);
            }
            clear_texts(&more);
        }
        sl_str_add(pattern, kind == 4 ? "]" : ")");
        if (kind == 4) {
            add_text(&texts, "");
        }
    }
    return texts;
}

static struct texts random_sequence(uint64_t *random, int depth, struct sl_str *pattern)
{
    struct texts texts = {0};
    add_text(&texts, "");
    size_t n = 1 + random_below(random, 3);
    for (size_t i = 0; i < n; i++) {
        sl_str_add(pattern, i == 0 ? "" : " ");
        struct texts item = random_item(random, depth, pattern);
        struct texts joined = join(&texts, &item);
        clear_texts(&texts);
        clear_texts(&item);
        texts = joined;
    }
    return texts;
}

static void random_patterns_say_all_that_they_can_and_no_more(void **state)
{
    (void)state;
    uint64_t random = 7;
    size_t silent = 0;
    for (int i = 0; i < 1500; i++) {
        struct sl_str pattern = {0};
        struct texts wanted = random_sequence(&random, 2, &pattern);
        bool can_be_silent = false;
        for (size_t j = 0; j < wanted.count; j++) {
            can_be_silent = can_be_silent || *wanted.items[j] == '\0';
        }
        struct sl_phrasebook book = {0};
        add_slot(&book, "n");
        add_value(&book, "x", none);
        if (can_be_silent) {
            silent++;
            assert_int_equal(sl_phrasebook_check_pattern(&book, sl_str_text(&pattern), NULL, NULL),
                             SL_INVALID);
        } else if (wanted.count < 300) {
            struct texts found = paths_of(sl_str_text(&pattern));
            assert_same_texts(&wanted, &found, sl_str_text(&pattern));
            clear_texts(&found);
        }
        sl_phrasebook_clear(&book);
        clear_texts(&wanted);
        sl_str_clear(&pattern);
    }
    assert_true(silent > 20 && silent < 700);
}

static void an_error_leaves_the_earlier_graph(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    size_t n_arcs = book.graph.n_arcs;
    add_phrase(&book, 0, "a <nowhere>", none);
    struct sl_error error = {0};
    assert_int_equal(sl_phrasebook_compile(&book, &error), SL_INVALID);
    assert_string_equal(error.where, "pattern 'a <nowhere>', column 3");
    assert_int_equal(book.graph.n_arcs, n_arcs);
    sl_error_clear(&error);
    sl_phrasebook_clear(&book);
}

static void a_book_beyond_measure_is_too_large(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    char word[4] = "aaa";
    for (int i = 0; i < 2000; i++) {
        word[0] = (char)('a' + i % 26);
        word[1] = (char)('a' + i / 26 % 26);
        word[2] = (char)('a' + i / 676);
        add_value(&book, word, none);
    }
    add_phrase(&book, 0, "<n> <n> <n> <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 8000);
    assert_int_equal(book.graph.n_words, 2000);
    add_phrase(&book, 0, "b <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_TOO_LARGE);
    sl_phrasebook_clear(&book);
}

static void the_graph_is_small_and_always_the_same(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    struct sl_phrasebook again = sample_book();
    assert_graph_is_sound(&book);
    assert_int_equal(book.graph.n_arcs, again.graph.n_arcs);
    for (size_t i = 0; i < book.graph.n_arcs; i++) {
        const struct sl_arc *a = &book.graph.arcs[i];
        const struct sl_arc *b = &again.graph.arcs[i];
        assert_true(a->from == b->from && a->to == b->to && a->phrase == b->phrase);
        assert_true((a->word == NULL) == (b->word == NULL));
        assert_true(a->word == NULL || strcmp(a->word, b->word) == 0);
    }
    print_message("sample book: %zu phrases, %zu states, %zu arcs, %zu words\n", book.n_phrases,
                  book.graph.n_states, book.graph.n_arcs, book.graph.n_words);
    assert_true(book.graph.n_arcs < 250);
    sl_phrasebook_clear(&again);
    sl_phrasebook_clear(&book);
}

static void plain_words_and_options_take_no_needless_arcs(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        size_t n_states, n_arcs;
    } rows[] = {
        {"a b c", 3, 3},           {"a [b] c", 3, 4}, /* a, b, c and one empty arc */
        {"(a|b) c", 2, 3},                            /* alternatives share both ends */
        {"a (b c d|e c d)", 4, 5},                    /* a shared ending */
        {"a (b c|b d)", 3, 4},                        /* a shared beginning */
        {"[a] b", 2, 3},                              /* no empty arc out of the hub */
        {"a [b]", 2, 3},           {"(a|a)", 1, 1},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_phrasebook book = {0};
        add_phrase(&book, 0, rows[i].pattern, none);
        assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
        if (book.graph.n_states != rows[i].n_states || book.graph.n_arcs != rows[i].n_arcs) {
            fail_msg("'%s': %zu states, %zu arcs", rows[i].pattern, book.graph.n_states,
                     book.graph.n_arcs);
        }
        sl_phrasebook_clear(&book);
    }
}

static void an_empty_book_has_the_hub_alone(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_text_match *matches = NULL;
    size_t n_matches = 9;
    assert_int_equal(sl_phrasebook_match(&book, "mirrors", &matches, &n_matches, NULL), SL_OK);
    assert_int_equal(n_matches, 0);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_states, 1);
    assert_int_equal(book.graph.n_arcs, 0);
    assert_int_equal(sl_phrasebook_match(&book, "mirrors", &matches, &n_matches, NULL), SL_OK);
    assert_int_equal(n_matches, 0);
    assert_null(matches);
    sl_phrasebook_clear(&book);
}

static void settings_sit_on_the_first_word_of_a_value(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "walking pace please", speed(3));
    add_phrase(&book, 0, "to <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 4);
    for (size_t i = 0; i < 4; i++) {
        bool first = strcmp(book.graph.arcs[i].word, "walking") == 0;
        assert_int_equal(sl_settings_named(&book.graph.arcs[i].settings), first ? SL_SET_SPEED : 0);
    }
    sl_phrasebook_clear(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(patterns_mean_what_the_header_says),
        cmocka_unit_test(random_patterns_say_all_that_they_can_and_no_more),
        cmocka_unit_test(an_error_leaves_the_earlier_graph),
        cmocka_unit_test(a_book_beyond_measure_is_too_large),
        cmocka_unit_test(the_graph_is_small_and_always_the_same),
        cmocka_unit_test(plain_words_and_options_take_no_needless_arcs),
        cmocka_unit_test(an_empty_book_has_the_hub_alone),
        cmocka_unit_test(settings_sit_on_the_first_word_of_a_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
